package storetest

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// testHistories posts 100 histories of 100 random steps to the store, to the
// pure ledger and to a naive model. All three take and refuse the same entries,
// and agree on every balance at the end. The model knows no
// reversal: its state is the sum over the entries that stand. Each history ends
// in a rollback, so that the next one begins with an empty book. A short run
// posts 20 histories.
func testHistories(t *testing.T, e Engine) {
	f := newFixture(t, e)
	steps, taken := 0, map[string]int{}
	rapid.Check(t, func(rt *rapid.T) {
		err := f.store.Update(t.Context(), func(tx store.Tx) error {
			m := &model{T: rt, tx: tx, pure: ledger.NewBalances(), day: 1}
			for range 100 {
				kind := m.step()
				taken[kind]++
				steps++
			}
			m.compare(tx)
			if err := tx.Check(t.Context(), func(d store.Difference) { rt.Errorf("check: %+v", d) }); err != nil {
				return err
			}
			return store.ErrRollback
		})
		if err != nil {
			rt.Fatal(err)
		}
	})
	least := 10_000
	if testing.Short() {
		least = 2_000
	}
	if steps < least && !t.Failed() {
		t.Errorf("only %d steps", steps)
	}
	t.Logf("%d steps: %v", steps, taken)
}

// amount is a balance of the model, in whole units.
type amount struct{ pieces, carats, cents int64 }

func (a amount) plus(b amount) amount {
	return amount{a.pieces + b.pieces, a.carats + b.carats, a.cents + b.cents}
}

type at struct {
	lot   string
	place book.Place
}

// posted is an entry as the model keeps it.
type posted struct {
	entry    ledger.Entry
	reversal bool
	stands   bool
	// cancelled: it was reversed on its own day, or reverses an entry of its day.
	cancelled bool
}

type model struct {
	*rapid.T
	tx      store.Tx
	pure    *ledger.Balances
	history []posted
	lots    int
	day     int
}

// state adds up the entries that are not reversed.
func (m *model) state() map[at]amount {
	out := map[at]amount{}
	for _, h := range m.history {
		if h.stands && !h.reversal {
			for _, p := range h.entry.Postings {
				k := at{p.Lot, p.Place}
				out[k] = out[k].plus(amount{p.Pieces, int64(p.Carats), p.Cost.Minor(num.HalfUp)})
			}
		}
	}
	return out
}

// list is the balances that are not zero, ordered by lot and place.
func (m *model) list() []ledger.Balance {
	var out []ledger.Balance
	for k, x := range m.state() {
		if x != (amount{}) {
			out = append(out, ledger.Balance{Lot: k.lot, Place: k.place, Pieces: x.pieces, Carats: num.Carat(x.carats),
				Cost: num.FromMinor(x.cents, "EUR")})
		}
	}
	slices.SortFunc(out, func(x, y ledger.Balance) int {
		return cmp.Or(cmp.Compare(x.Lot, y.Lot),
			cmp.Compare(x.Place, y.Place))
	})
	return out
}

// lawful says in the plainest way whether the postings may follow the state.
func (m *model) lawful(e ledger.Entry) bool {
	sum, after := amount{}, m.state()
	for _, p := range e.Postings {
		x := amount{p.Pieces, int64(p.Carats), p.Cost.Minor(num.HalfUp)}
		sum = sum.plus(x)
		k := at{p.Lot, p.Place}
		after[k] = after[k].plus(x)
		if p.Place == "made/cutting" && (x.carats != 0 || x.cents != 0) {
			return false
		}
	}
	if sum != (amount{}) || len(e.Postings) == 0 {
		return false
	}
	for k, x := range after {
		switch k.place {
		case "safe", "cutter/Okoro", "setter/Ito", "memo/Ruiz":
			if x.pieces < 0 || x.carats < 0 || x.cents < 0 || x.pieces == 0 && x != (amount{}) {
				return false
			}
		}
	}
	return true
}

// inTime: no lot that the entry touches was touched on a later day. What was
// reversed on its own day touched nothing.
func (m *model) inTime(e ledger.Entry) bool {
	for _, h := range m.history {
		if h.cancelled {
			continue
		}
		for _, p := range h.entry.Postings {
			for _, q := range e.Postings {
				if p.Lot == q.Lot && h.entry.PostedOn > e.PostedOn {
					return false
				}
			}
		}
	}
	return true
}

// on adds up all entries that are dated until a day, reversed or not.
func (m *model) on(day book.Date, more ...ledger.Entry) map[at]amount {
	out := map[at]amount{}
	add := func(e ledger.Entry) {
		for _, p := range e.Postings {
			k := at{p.Lot, p.Place}
			if out[k] = out[k].plus(amount{p.Pieces, int64(p.Carats), p.Cost.Minor(num.HalfUp)}); out[k] == (amount{}) {
				delete(out, k)
			}
		}
	}
	for _, h := range m.history {
		if h.entry.PostedOn <= day {
			add(h.entry)
		}
	}
	for _, e := range more {
		if e.PostedOn <= day {
			add(e)
		}
	}
	return out
}

// lawfulOn: no real place has less than nothing, or weight or cost without pieces.
func lawfulOn(state map[at]amount) bool {
	for k, x := range state {
		if real(k.place) && (x.pieces < 0 || x.carats < 0 || x.cents < 0 || x.pieces == 0) {
			return false
		}
	}
	return true
}

// mayDate: the reversal is not dated before the entry that it reverses, and
// leaves every day since then lawful.
func (m *model) mayDate(reversal, target ledger.Entry) bool {
	if reversal.PostedOn < target.PostedOn {
		return false
	}
	for day := 1; day <= m.day; day++ {
		if on := dateOf(day); on >= reversal.PostedOn && !lawfulOn(m.on(on, reversal)) {
			return false
		}
	}
	return true
}

// step makes one entry and posts it everywhere; it returns what was tried.
func (m *model) step() string {
	if rapid.IntRange(0, 3).Draw(m.T, "next day") == 0 {
		m.day++
	}
	kinds := []string{"buy", "buy", "memo in", "sort", "sort", "split", "merge", "issue", "issue", "return", "return",
		"cut", "lose", "charge", "sell", "reverse", "reverse", "nonsense", "late"}
	kind := rapid.SampledFrom(kinds).Draw(m.T, "step")
	if kind == "reverse" {
		return m.reverse()
	}
	e := m.entry(kind)
	if e == nil {
		return kind + " (nothing there)"
	}
	lawful, inTime := m.lawful(*e), m.inTime(*e)
	_, pureErr := m.post(e, lawful && inTime)
	if pureErr == lawful {
		m.Fatalf("%s: the pure ledger and the model do not agree (lawful %v): %+v", kind, lawful, e.Postings)
	}
	if !lawful || !inTime {
		return kind + " (refused)"
	}
	m.history = append(m.history, posted{entry: *e, stands: true})
	return kind
}

// post posts e to the pure ledger (a copy when it is to be refused) and to the
// store, which must take or refuse it as wanted.
func (m *model) post(e *ledger.Entry, want bool) (code string, pureRefuses bool) {
	pureRefuses = m.pureApply(*e, want)
	err := m.tx.Post(context.Background(), e)
	if _, isFault := fault.From(err); err != nil && !isFault {
		m.Fatalf("post %s: %v", e.Kind, err)
	}
	if (err == nil) != want {
		m.Fatalf("post %s %+v: store says %v, the model wants it taken: %v", e.Kind, e.Postings, err, want)
	}
	return e.Code, pureRefuses
}

func (m *model) pureApply(e ledger.Entry, keep bool) bool {
	state := m.pure
	if !keep {
		state = ledger.NewBalances()
		for _, b := range m.list() {
			state.Put(b)
		}
	}
	return state.Apply(e, "EUR").Blocks()
}

// reverse tries to take back any entry of the history.
func (m *model) reverse() string {
	if len(m.history) == 0 {
		return "reverse (nothing there)"
	}
	i := rapid.IntRange(0, len(m.history)-1).Draw(m.T, "which")
	if rapid.Bool().Draw(m.T, "recent") {
		i = max(0, len(m.history)-1-i%4)
	}
	if under := m.under(); len(under) > 0 && rapid.Bool().Draw(m.T, "under") {
		i = rapid.SampledFrom(under).Draw(m.T, "which of them")
	}
	target := m.history[i]
	on := target.entry.PostedOn
	switch rapid.IntRange(0, 3).Draw(m.T, "dated") {
	case 0:
		on = m.date()
	case 1:
		on = dateOf(rapid.IntRange(1, m.day).Draw(m.T, "on"))
	}
	e := target.entry.Reversed(on, "mistake", "")
	may := target.stands && !target.reversal && !m.builtOn(i)
	allowed := may && m.mayDate(e, target.entry)
	m.post(&e, allowed)
	switch {
	case may && !allowed && on >= target.entry.PostedOn:
		return "reverse (too early)"
	case !allowed:
		return "reverse (refused)"
	}
	cancelled := on == target.entry.PostedOn
	m.history[i].stands, m.history[i].cancelled = false, cancelled
	m.history = append(m.history, posted{entry: e, reversal: true, stands: true, cancelled: cancelled})
	return "reverse"
}

// under are the entries that stand under one that was reversed on a later day than
// its own: until then, that one stood on them.
func (m *model) under() (out []int) {
	for i, h := range m.history {
		for _, later := range m.history[i+1:] {
			if h.stands && !h.reversal && !later.stands && !later.cancelled &&
				h.entry.Postings[0].Lot == later.entry.Postings[0].Lot {
				out = append(out, i)
				break
			}
		}
	}
	return out
}

// builtOn: a later entry that stands touches the same lot at the same place, or
// takes from a lot whose whole stock the entry changed.
func (m *model) builtOn(i int) bool {
	whole := map[string]amount{}
	for _, p := range m.history[i].entry.Postings {
		if real(p.Place) {
			whole[p.Lot] = whole[p.Lot].plus(amount{p.Pieces, int64(p.Carats), p.Cost.Micros()})
		}
	}
	for _, h := range m.history[i+1:] {
		if !h.stands || h.reversal {
			continue
		}
		for _, q := range h.entry.Postings {
			for _, p := range m.history[i].entry.Postings {
				if p.Lot == q.Lot && p.Place == q.Place {
					return true
				}
			}
			if real(q.Place) && (q.Pieces < 0 || q.Carats < 0 || q.Cost.Sign() < 0) && whole[q.Lot] != (amount{}) {
				return true
			}
		}
	}
	return false
}

var away = []book.Place{"cutter/Okoro", "setter/Ito", "memo/Ruiz"}

func real(p book.Place) bool { return p == "safe" || slices.Contains(away, p) }

func (m *model) date() book.Date { return dateOf(m.day) }

func dateOf(day int) book.Date { return book.DateOf(time.Date(2026, 1, day, 0, 0, 0, 0, time.UTC)) }

// newLot is a record of a lot that the book does not have.
func (m *model) newLot(owner book.Owner) book.Lot {
	m.lots++
	return book.Lot{Code: fmt.Sprintf("P1-%d", m.lots), Parcel: "P1", Owner: owner, Species: "topaz"}
}

// pick draws a balance at a real place with at least n pieces.
func (m *model) pick(n int64, places ...book.Place) (ledger.Balance, bool) {
	var list []ledger.Balance
	for _, b := range m.list() {
		if b.Place.IsReal() && b.Pieces >= n && (len(places) == 0 || slices.Contains(places, b.Place)) {
			list = append(list, b)
		}
	}
	if len(list) == 0 {
		return ledger.Balance{}, false
	}
	return rapid.SampledFrom(list).Draw(m.T, "from"), true
}

// part draws part of a balance and what cost leaves with it.
func (m *model) part(b ledger.Balance) (int64, num.Carat, num.Money) {
	pieces := rapid.Int64Range(1, b.Pieces).Draw(m.T, "pieces")
	carats := b.Carats
	if pieces < b.Pieces {
		carats = num.Carat(rapid.Int64Range(0, int64(b.Carats)).Draw(m.T, "carats"))
	}
	var of []ledger.Balance
	for _, x := range m.list() {
		if x.Lot == b.Lot {
			of = append(of, x)
		}
	}
	cost, f := ledger.Take(of, b.Place, pieces, carats)
	if f != nil {
		m.Fatalf("take %d pieces %s ct of %+v: %v", pieces, carats, b, f)
	}
	return pieces, carats, cost
}

// entry makes an entry of the kind; nil when there is nothing to do it with.
func (m *model) entry(kind string) *ledger.Entry {
	e := &ledger.Entry{PostedOn: m.date(), Reason: kind}
	move := func(k ledger.Kind, to book.Place, from ...book.Place) *ledger.Entry {
		b, ok := m.pick(1, from...)
		if !ok {
			return nil
		}
		pieces, carats, cost := m.part(b)
		e.Kind, e.Postings = k, ledger.Move(b.Lot, b.Place, to, pieces, carats, cost)
		return e
	}
	switch kind {
	case "buy", "memo in":
		pieces := rapid.Int64Range(1, 40).Draw(m.T, "pieces")
		carats := num.Carat(rapid.Int64Range(1, 50_000).Draw(m.T, "carats"))
		l, cost := m.newLot(book.Own), num.FromMinor(rapid.Int64Range(0, 1_000_000).Draw(m.T, "cents"), "EUR")
		e.Kind = ledger.Buy
		if kind == "memo in" {
			l.Owner, cost, e.Kind = "memo-in/Silva", num.Zero("EUR"), ledger.MemoIn
		}
		e.Records = []book.Record{l}
		e.Postings = ledger.Move(l.Code, "vendor/Silva", "safe", pieces, carats, cost)
		return e
	case "sort":
		return m.sort(e)
	case "split":
		b, ok := m.pick(2, "safe")
		if !ok {
			return nil
		}
		pieces, carats, cost := m.part(b)
		l := m.newLot(book.Own)
		e.Kind, e.Records = ledger.Split, []book.Record{l}
		e.Postings = []ledger.Posting{{Lot: b.Lot, Place: b.Place, Pieces: -pieces, Carats: -carats, Cost: cost.Neg()},
			{Lot: l.Code, Place: b.Place, Pieces: pieces, Carats: carats, Cost: cost}}
		return e
	case "merge":
		a, ok := m.pick(1, "safe")
		b, _ := m.pick(1, "safe")
		if !ok || a.Lot == b.Lot {
			return nil
		}
		e.Kind = ledger.Merge
		e.Postings = []ledger.Posting{{Lot: a.Lot, Place: "safe", Pieces: -a.Pieces, Carats: -a.Carats,
			Cost: a.Cost.Neg()}, {Lot: b.Lot, Place: "safe", Pieces: a.Pieces, Carats: a.Carats, Cost: a.Cost}}
		return e
	case "issue":
		return move(ledger.Issue, rapid.SampledFrom(away).Draw(m.T, "to"), "safe")
	case "return":
		return move(ledger.Return, "safe", away...)
	case "lose":
		return move(ledger.Lose, rapid.SampledFrom([]book.Place{"loss/count", "loss/breakage"}).Draw(m.T, "to"))
	case "sell":
		return move(ledger.Sell, "customer/Lind", "safe", "memo/Ruiz")
	case "late":
		x := move(ledger.Issue, "setter/Ito", "safe")
		if x != nil && m.day > 1 {
			x.PostedOn = dateOf(rapid.IntRange(1, m.day-1).Draw(m.T, "late"))
		}
		return x
	case "cut":
		b, ok := m.pick(1, "cutter/Okoro")
		if !ok {
			return nil
		}
		more := rapid.Int64Range(0, 3).Draw(m.T, "more pieces")
		lost := num.Carat(rapid.Int64Range(0, int64(b.Carats)).Draw(m.T, "lost"))
		e.Kind = ledger.Cut
		e.Postings = []ledger.Posting{
			{Lot: b.Lot, Place: b.Place, Pieces: more, Carats: -lost},
			{Lot: b.Lot, Place: book.MadeCutting, Pieces: -more},
			{Lot: b.Lot, Place: book.LossCutting, Carats: lost},
		}
		return e
	case "charge":
		b, ok := m.pick(1)
		if !ok {
			return nil
		}
		e.Kind = ledger.Charge
		e.Postings = ledger.Move(b.Lot, "charge/freight", b.Place, 0, 0, num.FromMinor(rapid.Int64Range(1, 9999).
			Draw(m.T, "cents"), "EUR"))
		return e
	}
	return m.nonsense(e)
}

// sort divides all that a lot has in the safe.
func (m *model) sort(e *ledger.Entry) *ledger.Entry {
	b, ok := m.pick(2, "safe")
	if !ok || b.Carats < 10 {
		return nil
	}
	n := min(b.Pieces, int64(rapid.IntRange(2, 4).Draw(m.T, "parts")))
	left, weight := b.Pieces, b.Carats+num.Carat(rapid.Int64Range(-2, 2).Draw(m.T, "scale"))
	var parts []ledger.Part
	for i := range n {
		pieces, carats := left-(n-1-i), weight-num.Carat(n-1-i)
		if i < n-1 {
			pieces = rapid.Int64Range(1, pieces).Draw(m.T, "pieces")
			carats = num.Carat(rapid.Int64Range(1, int64(carats)).Draw(m.T, "carats"))
		}
		left, weight = left-pieces, weight-carats
		l := m.newLot(book.Own)
		e.Records = append(e.Records, l)
		parts = append(parts, ledger.Part{Lot: l.Code, Pieces: pieces, Carats: carats,
			Weight: num.Int(rapid.Int64Range(0, 9).Draw(m.T, "value"))})
	}
	postings, faults := ledger.Divide(b, parts, 5)
	if faults.Blocks() {
		m.Fatalf("divide %+v into %+v: %v", b, parts, faults)
	}
	e.Kind, e.Postings = ledger.Sort, postings
	return e
}

// nonsense is any postings for a known lot: mostly unlawful, at times not.
func (m *model) nonsense(e *ledger.Entry) *ledger.Entry {
	if m.lots == 0 || len(m.list()) == 0 {
		return nil
	}
	list := m.list()
	places := append([]book.Place{"safe", "loss/count", "loss/weighing", "made/cutting", "customer/Lind"}, away...)
	e.Kind = ledger.Adjust
	sum := amount{}
	for range rapid.IntRange(1, 3).Draw(m.T, "postings") {
		x := amount{rapid.Int64Range(-3, 3).Draw(m.T, "pieces"), rapid.Int64Range(-300, 300).Draw(m.T, "carats"),
			rapid.Int64Range(-300, 300).Draw(m.T, "cents")}
		sum = sum.plus(x)
		e.Postings = append(e.Postings, ledger.Posting{
			Lot: rapid.SampledFrom(list).Draw(m.T, "lot").Lot, Place: rapid.SampledFrom(places).Draw(m.T, "place"),
			Pieces: x.pieces, Carats: num.Carat(x.carats), Cost: num.FromMinor(x.cents, "EUR"),
		})
	}
	if rapid.Bool().Draw(m.T, "balanced") {
		e.Postings = append(e.Postings, ledger.Posting{Lot: list[0].Lot, Place: "loss/count", Pieces: -sum.pieces,
			Carats: num.Carat(-sum.carats), Cost: num.FromMinor(-sum.cents, "EUR")})
	}
	return e
}

// compare: model, pure ledger and store have the same balances.
func (m *model) compare(tx store.ReadTx) {
	state := m.state()
	for k, x := range state {
		if x == (amount{}) {
			delete(state, k)
		}
	}
	stored, err := tx.Balances(context.Background(), store.BalanceFilter{})
	if err != nil {
		m.Fatal(err)
	}
	if len(stored) != len(state) {
		m.Errorf("the store has %d balances, the model %d", len(stored), len(state))
	}
	for _, b := range stored {
		if got := (amount{b.Pieces, int64(b.Carats), b.Cost.Minor(num.HalfUp)}); got != state[at{b.Lot, b.Place}] {
			m.Errorf("%s at %s is %+v, the model says %+v", b.Lot, b.Place, got, state[at{b.Lot, b.Place}])
		}
	}
	for day := 1; day <= m.day; day++ {
		then := m.on(dateOf(day))
		if !lawfulOn(then) {
			m.Errorf("the state of %s is not lawful: %+v", dateOf(day), then)
		}
		past, err := tx.Balances(context.Background(), store.BalanceFilter{On: dateOf(day)})
		if err != nil || len(past) != len(then) {
			m.Fatalf("the store has %d balances on %s, the model %d (%v)", len(past), dateOf(day), len(then), err)
		}
		for _, b := range past {
			if got := (amount{b.Pieces, int64(b.Carats), b.Cost.Minor(num.HalfUp)}); got != then[at{b.Lot, b.Place}] {
				m.Errorf("%s at %s was %+v on %s, the model says %+v", b.Lot, b.Place, got, dateOf(day),
					then[at{b.Lot, b.Place}])
			}
		}
	}
	if len(m.pure.Held) != len(state) {
		m.Errorf("the pure ledger has %d balances, the model %d", len(m.pure.Held), len(state))
	}
	for k, x := range m.pure.Held {
		if got := (amount{x.Pieces, int64(x.Carats), x.Cost.Minor(num.HalfUp)}); got != state[at{k.Lot, k.Place}] {
			m.Errorf("the pure ledger has %+v of %s at %s, the model %+v", got, k.Lot, k.Place,
				state[at{k.Lot, k.Place}])
		}
	}
	if _, err := tx.Entry(context.Background(), ledger.Code(int64(len(m.history)+1))); !errors.Is(err,
		store.ErrNotFound) {
		m.Errorf("the store has more than the %d entries of the model (%v)", len(m.history), err)
	}
}
