package stockroom_test

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/house"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/store"
	"lotpaper/internal/testkit/books"
)

// failing is how a test fails.
type failing interface {
	Fatal(args ...any)
	Fatalf(format string, args ...any)
}

// dealer plays random commands on a book and on the naive ledger.
type dealer struct {
	failing
	ctx     context.Context
	draw    func(name string, low, high int64) int64
	index   func(name string, n int) int
	write   desk.Write
	house   *house.House
	store   store.Store
	naive   *naive
	lots    []string            // in the order in which they came
	memos   map[string][]string // open memos -> lots
	tickets map[string][]string
	offices
	jewels
	orders
	undone  map[string]func() // entry -> what its reversal changes beside the ledger
	entries []string          // that can be taken back
	codes   int
	quiet   bool // buys only when it is told to
	refused map[string]int
	played  map[string]int // act -> how often it wrote something
}

// TestRandomCommands plays legal and illegal commands and holds the book against
// the naive ledger after each one: pieces, carats and cost of every lot at every
// place and boundary. A refused command leaves the head of the book as it was. At
// the end the book agrees with itself, papers included.
func TestRandomCommands(t *testing.T) {
	steps, refused, played := 0, map[string]int{}, map[string]int{}
	var last *dealer
	rapid.Check(t, func(rt *rapid.T) {
		a, s := books.Interrupted(t)
		d := newDealer(t, a, s.Store, refused)
		d.failing, d.played, last = rt, played, d
		d.draw = func(name string, low, high int64) int64 { return rapid.Int64Range(low, high).Draw(rt, name) }
		d.index = func(name string, n int) int {
			at := 0
			for of := 1; of < 4*n; of *= 2 { // all of them about as often, which a range does not
				if at *= 2; rapid.Bool().Draw(rt, name) {
					at++
				}
			}
			return at % n
		}
		if d.draw("offices", 0, 1) == 1 {
			d.openOffices()
		}
		d.setRates()
		d.buy()
		for range 50 {
			d.step()
			d.compare()
			steps++
		}
		d.papers()
		d.loans()
		books.Sound(t, a)
	})
	total := 0
	for _, n := range refused {
		total += n
	}
	t.Logf("%d commands, %d refused: %v", steps, total, refused)
	if steps > 200 && (total*4 > steps*3 || total*20 < steps) {
		t.Errorf("%d of %d commands were refused: the test should try both", total, steps)
	}
	if steps >= 5000 { // all of them: no shorter run was asked for
		last.everyAct(t, 1)
	}
}

func newDealer(t *testing.T, a *house.House, s store.Store, refused map[string]int) *dealer {
	return &dealer{ctx: t.Context(), write: books.Who, house: a, store: s, naive: newNaive(),
		memos:   map[string][]string{},
		tickets: map[string][]string{},
		offices: offices{map[string][]string{}, map[string]string{}},
		jewels:  jewels{parties: map[string]string{}, outWith: map[string]string{}, charges: map[string]charged{}},
		orders:  orders{orders: map[string]*order{}, sent: map[string][]string{}}, undone: map[string]func(){},
		refused: refused, played: map[string]int{}}
}

// pick draws one of several.
func pick[E any](d *dealer, name string, from []E) E {
	return from[d.index(name, len(from))]
}

// compare holds the book against the naive ledger.
func (d *dealer) compare() {
	for _, wrong := range []string{d.naive.pieces(), d.naive.wrong} {
		if wrong != "" {
			d.Fatal(wrong)
		}
	}
	if diff := cmp.Diff(d.naive.String(), d.book()); diff != "" {
		d.Fatalf("the naive ledger (-) and the book (+): %s", diff)
	}
}

func (d *dealer) head() store.Head {
	var head store.Head
	err := d.store.View(d.ctx, func(tx store.ReadTx) (err error) {
		head, err = tx.Head(d.ctx)
		return err
	})
	if err != nil {
		d.Fatal(err)
	}
	return head
}

// book is what the book says lies anywhere, as the naive ledger prints it.
func (d *dealer) book() string {
	var lines []string
	err := d.store.View(d.ctx, func(tx store.ReadTx) error {
		all, err := tx.Balances(d.ctx, store.BalanceFilter{})
		for _, b := range all {
			lines = append(lines, fmt.Sprintf("%s %s %d %d %d", b.Lot, b.Place, b.Pieces, int64(b.Carats),
				b.Cost.Micros()/10000))
		}
		return err
	})
	if err != nil {
		d.Fatal(err)
	}
	slices.Sort(lines)
	return strings.Join(lines, "\n")
}

func (d *dealer) moving() stockroom.Movement {
	m := stockroom.Movement{Write: d.write}
	if d.draw("accept", 0, 3) == 0 {
		m.Accept = "looked at"
	}
	if d.naive.whom = ""; len(d.naive.holds) > 0 && d.draw("for", 0, 3) == 0 {
		d.naive.whom = pick(d, "whom", customers)
		m.For = d.naive.whom
	}
	return m
}

// lot draws a lot, mostly one that lies in the safe.
func (d *dealer) lot() string {
	var here []string
	for _, lot := range d.lots {
		if len(d.naive.safesOf(lot)) > 0 {
			here = append(here, lot)
		}
	}
	if len(here) > 0 && d.draw("here", 0, 9) > 0 {
		return pick(d, "lot", here)
	}
	return pick(d, "lot", d.lots)
}

func (d *dealer) buy() {
	if err := d.buyMore(); err != nil {
		d.Fatal(err)
	}
}

// some draws a part of what a lot has at a place: mostly what may be, sometimes not.
func (d *dealer) some(lot, place string) stockroom.Moving {
	here := d.naive.at[lot][place]
	m := stockroom.Moving{Lot: lot, Pieces: d.draw("pieces", 1, max(1, here.pieces+1))}
	if here.pieces > 0 && here.carats == 0 { // a finished piece
		return m
	}
	if m.Pieces > 4 && d.draw("few", 0, 4) > 0 {
		m.Pieces = 1 + m.Pieces%3
	}
	m = d.weighed(m, place)
	if d.draw("wrong", 0, 9) == 0 {
		m.Carats += num.Carat(d.draw("by", -500, 500))
	}
	m.Carats = max(1, m.Carats)
	return m
}

// weighed gives a part of what a lot has at a place its weight.
func (d *dealer) weighed(m stockroom.Moving, place string) stockroom.Moving {
	here := d.naive.at[m.Lot][place]
	switch {
	case here.pieces > 0 && here.carats == 0: // a finished piece
		m.Carats = 0
	case m.Pieces == here.pieces:
		m.Carats = num.Carat(here.carats)
	default:
		m.Carats = num.Carat(max(1, here.carats*m.Pieces/max(1, here.pieces)+d.draw("off", -20, 20)))
	}
	return m
}

func (d *dealer) child(code, of string) {
	d.lots = append(d.lots, code)
	d.naive.parcel[code], d.naive.mine[code] = d.naive.parcel[of], d.naive.mine[of]
}

func (d *dealer) split() error {
	m, at, place := d.fromSafe()
	done, err := d.house.Stockroom.LotSplit(d.ctx, stockroom.LotSplit{Movement: d.moving(), Lot: m.Lot, Place: place,
		Pieces: m.Pieces, Carats: m.Carats})
	if err != nil {
		return err
	}
	d.naive.change(done.Entry, func() {
		d.become(at, m.Lot, done.Lots[0], m.Pieces, int64(m.Carats))
		d.naive.holdOn(done.Lots[0])
	})
	d.child(done.Lots[0], m.Lot)
	d.entries = append(d.entries, done.Entry)
	return nil
}

// become moves a part of one lot in a safe into another lot there.
func (d *dealer) become(at, lot, into string, pieces, carats int64) {
	d.naive.lend(lot, carats, []string{into}, nil)
	d.naive.leave(lot, at, part{pieces, carats, false, "into"})
	moved := d.naive.at[lot]["into"]
	d.naive.add(lot, "into", moved.minus())
	d.naive.add(into, at, moved)
}

func (d *dealer) sort() error {
	lot := d.lot()
	at, place := d.safe(lot)
	here := d.naive.at[lot][at]
	if here.pieces < 2 {
		return nil
	}
	first := d.draw("first", 1, here.pieces-1)
	w := here.carats * first / here.pieces
	rest := here.carats - w - d.draw("scale", -60, 60)
	done, err := d.house.Stockroom.LotSort(d.ctx, stockroom.LotSort{Movement: d.moving(), Lot: lot,
		Place: place, Key: book.ByCarats, Parts: []stockroom.SortPart{{Pieces: first, Carats: num.Carat(w)},
			{Pieces: here.pieces - first, Carats: num.Carat(rest)}}})
	if err != nil {
		return err
	}
	d.naive.change(done.Entry, func() {
		d.naive.takeHeld(lot, at, here.pieces)
		d.naive.lend(lot, here.carats, done.Lots, []int64{w, rest})
		d.naive.weigh(lot, at, here.carats-w-rest)
		cents := largest(here.cents, []int64{w, rest})
		d.naive.add(lot, at, sum{here.pieces, w + rest, here.cents}.minus())
		d.naive.add(done.Lots[0], at, sum{first, w, cents[0]})
		d.naive.add(done.Lots[1], at, sum{here.pieces - first, rest, cents[1]})
	})
	d.child(done.Lots[0], lot)
	d.child(done.Lots[1], lot)
	d.entries = append(d.entries, done.Entry)
	return nil
}

func (d *dealer) merge() error {
	a, b := d.lot(), d.lot()
	at, place := d.safe(a)
	var like []string
	for _, lot := range d.lots {
		if lot != a && d.naive.parcel[lot] == d.naive.parcel[a] && d.naive.at[lot][at].pieces > 0 {
			like = append(like, lot)
		}
	}
	if len(like) > 0 && d.draw("alike", 0, 3) > 0 {
		b = pick(d, "like", like)
	}
	done, err := d.house.Stockroom.LotMerge(d.ctx, stockroom.LotMerge{Movement: d.moving(), Place: place,
		Lots: []string{a, b}})
	if err != nil {
		return err
	}
	d.naive.change(done.Entry, func() {
		for _, lot := range []string{a, b} {
			here := d.naive.at[lot][at]
			d.naive.takeHeld(lot, at, here.pieces)
			d.naive.holdOn(done.Lots[0])
			d.naive.lend(lot, here.carats, done.Lots, nil)
			d.naive.add(lot, at, here.minus())
			d.naive.add(done.Lots[0], at, here)
		}
	})
	d.child(done.Lots[0], a)
	d.entries = append(d.entries, done.Entry)
	return nil
}

func (d *dealer) party() string { return pick(d, "party", []string{"K", "Öz"}) }

func (d *dealer) memoOut() error {
	m, at, place := d.fromSafe()
	done, err := d.house.Stockroom.MemoOut(d.ctx, stockroom.MemoOut{Movement: d.moving(), Party: d.party(), From: place,
		Lines: stockroom.Together(m)})
	if err != nil {
		return err
	}
	paper := done.Memo.Number
	d.naive.change(done.Entry, func() {
		d.naive.send(m.Lot, at, paper, m.Pieces, int64(m.Carats))
	})
	d.memos[paper] = []string{m.Lot}
	d.entries = append(d.entries, done.Entry)
	return nil
}

// paper draws a paper and a lot on it; false when there is none.
func (d *dealer) paper(of map[string][]string) (number, lot string, ok bool) {
	var numbers, open []string
	for n, lots := range of {
		numbers = append(numbers, n)
		lies := func(lot string) bool { return d.naive.at[lot]["paper/"+n].pieces > 0 }
		if slices.ContainsFunc(lots, lies) {
			open = append(open, n)
		}
	}
	if d.draw("open", 0, 9) > 0 {
		numbers = open
	}
	if slices.Sort(numbers); len(numbers) == 0 {
		return "", "", false
	}
	number = pick(d, "paper", numbers)
	return number, pick(d, "on it", of[number]), true
}

func (d *dealer) memoBack() error {
	paper, lot, ok := d.paper(d.memos)
	if !ok {
		return nil
	}
	from := "paper/" + paper
	here := d.naive.at[lot][from]
	m := d.some(lot, from)
	if m.Pieces == here.pieces && here.carats > 0 {
		m.Carats += num.Carat(d.draw("scale", -50, 50))
	}
	done, err := d.house.Stockroom.MemoBack(d.ctx, stockroom.MemoBack{Movement: d.moving(), Number: paper,
		Lots: []stockroom.Moving{m}})
	if err != nil {
		return err
	}
	d.naive.change(done.Entry, func() {
		if m.Pieces == here.pieces && int64(m.Carats) != here.carats {
			d.naive.weigh(lot, from, here.carats-int64(m.Carats))
		}
		d.naive.leave(lot, from, part{m.Pieces, int64(m.Carats), false, d.naive.home(lot, paper)})
	})
	d.entries = append(d.entries, done.Entry)
	return nil
}

func (d *dealer) workOut() error {
	m, at, place := d.fromSafe()
	done, err := d.house.Stockroom.WorkOut(d.ctx, stockroom.WorkOut{Movement: d.moving(), Party: d.party(), From: place,
		Lots: []stockroom.Moving{m}})
	if err != nil {
		return err
	}
	paper := done.Ticket.Number
	d.naive.change(done.Entry, func() {
		d.naive.send(m.Lot, at, paper, m.Pieces, int64(m.Carats))
	})
	d.tickets[paper] = []string{m.Lot}
	d.entries = append(d.entries, done.Entry)
	return nil
}

// workBack brings stones back, or some broken and the rest of the ticket back.
func (d *dealer) workBack() error {
	paper, lot, ok := d.paper(d.tickets)
	if !ok {
		return nil
	}
	from := "paper/" + paper
	here := d.naive.at[lot][from]
	m := d.some(lot, from)
	broken := int64(0)
	// all is accounted for: what is missing in weight is the broken ones'
	if d.draw("break", 0, 1) == 1 && here.pieces > 0 {
		broken = d.draw("broken", 1, here.pieces)
		m.Pieces = here.pieces - broken
		m.Carats = num.Carat(here.carats * m.Pieces / here.pieces)
		if m.Pieces == 0 {
			m.Carats = 0
		}
	}
	done, err := d.house.Stockroom.WorkBack(d.ctx, stockroom.WorkBack{Movement: d.moving(), Ticket: paper,
		Lines: []stockroom.WorkLine{{Moving: m, Rest: m.Pieces == 0 && broken == 0,
			Broken: book.Weighed{Pieces: broken}}}})
	if err != nil {
		return err
	}
	d.naive.change(done.Entry, func() {
		parts := []part{}
		if broken > 0 {
			parts = append(parts, part{broken, here.carats - int64(m.Carats), true, "loss/breakage"})
		} else if m.Pieces == here.pieces && int64(m.Carats) != here.carats {
			d.naive.weigh(lot, from, here.carats-int64(m.Carats))
		}
		if m.Pieces > 0 {
			parts = append(parts, part{m.Pieces, int64(m.Carats), false, d.naive.home(lot, paper)})
		}
		d.naive.leave(lot, from, parts...)
	})
	d.entries = append(d.entries, done.Entry)
	return nil
}

// adjust loses stones as broken or missing, or finds one.
func (d *dealer) adjust() error {
	m, at, place := d.fromSafe()
	r := stockroom.LotAdjust{Movement: d.moving(), Lot: m.Lot, Place: place, Pieces: -m.Pieces, Carats: -m.Carats,
		To: pick(d, "loss", []book.Place{book.LossBreakage, book.LossCount})}
	find := d.draw("find", 0, 2) == 0
	if find {
		r.Pieces, r.Carats, r.To = m.Pieces, m.Carats, book.LossCount
	}
	done, err := d.house.Stockroom.LotAdjust(d.ctx, r)
	if err != nil {
		return err
	}
	d.naive.change(done.Entry, func() {
		if find {
			found := sum{m.Pieces, int64(m.Carats), 0}
			d.naive.add(m.Lot, at, found)
			d.naive.add(m.Lot, "loss/count", found.minus())
			return
		}
		d.naive.leave(m.Lot, at, part{m.Pieces, int64(m.Carats), r.To == book.LossBreakage, string(r.To)})
	})
	d.entries = append(d.entries, done.Entry)
	return nil
}

func (d *dealer) writeDown() error {
	lot := d.lot()
	to := d.draw("to", 0, 60_000)
	done, err := d.house.Stockroom.LotWriteDown(d.ctx, stockroom.LotWriteDown{Write: d.write, Lot: lot,
		To: num.FromMinor(to, "EUR")})
	if err != nil {
		return err
	}
	d.naive.change(done.Entry, func() {
		var places []string
		var weights []int64
		for place, s := range d.naive.at[lot] {
			if isReal(place) && s.pieces > 0 {
				places = append(places, place)
			}
		}
		slices.Sort(places)
		for _, p := range places {
			weights = append(weights, d.naive.at[lot][p].cents)
		}
		down := d.naive.whole(lot).cents - to
		sign := int64(1)
		if down < 0 {
			sign, down = -1, -down
		}
		for i, c := range largest(down, weights) {
			d.naive.add(lot, places[i], sum{0, 0, -sign * c})
			d.naive.add(lot, "charge/write-down", sum{0, 0, sign * c})
		}
	})
	d.entries = append(d.entries, done.Entry)
	return nil
}

func (d *dealer) reverse() error {
	if len(d.entries) == 0 {
		return nil
	}
	last := d.entries[max(0, len(d.entries)-5):]
	entry := pick(d, "entry", last)
	w := d.write
	w.On = "" // as its entry, while the month is open
	done, err := d.house.Stockroom.LedgerReverse(d.ctx, stockroom.LedgerReverse{Write: w, Entry: entry})
	if err != nil {
		return err
	}
	if follows := d.naive.follows(entry); follows != "" {
		d.Fatalf("%s was taken back, and %s stands", entry, follows)
	}
	d.naive.reverse(entry, done.Entry)
	if f := d.undone[entry]; f != nil {
		f()
	}
	d.entries = slices.DeleteFunc(d.entries, func(e string) bool { return e == entry })
	return nil
}

// A memo that came back a hundredth of a carat lighter is closed, and its batch took
// off all that went out: once the check found 0.010 ct on it for ever.
func TestMemoBack_ScaleDifference(t *testing.T) {
	a := books.New(t)
	books.Buy(t, a, books.OneLot)
	out, err := a.Stockroom.MemoOut(t.Context(), stockroom.MemoOut{Movement: books.Moving, Party: "K",
		Lines: stockroom.Together(stockroom.Moving{Lot: "A", Pieces: 4, Carats: 8000})})
	if err != nil {
		t.Fatal(err)
	}
	back, err := a.Stockroom.MemoBack(t.Context(), stockroom.MemoBack{Movement: books.Moving, Number: out.Memo.Number,
		Lots: []stockroom.Moving{{Lot: "A", Pieces: 4, Carats: 7990}}})
	if err != nil || back.Memo.State != "closed" {
		t.Fatalf("memo %+v, %v", back.Memo, err)
	}
	books.Sound(t, a)
}
