package stockroom_test

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// What the naive ledger knows of money: what is owed, what lowered it, and what a
// bookkeeper writes beside the stones. All amounts are cents, of their currency.

// accounts are what is owed and what a bookkeeper writes.
type accounts struct {
	dates   map[string]string // entries -> their day
	void    map[string]bool   // entries that were taken back
	items   []*item
	sales   []*sold
	written []posted
	claims  int
}

// item is what one party owes another.
type item struct {
	number, party, entry, account, currency string

	rate         int64 // millionths of a cent for a minor unit of another currency
	out          bool  // the dealer owes it
	amount, book int64
	changes      []change
}

// change lowers an item; a refund raises it.
type change struct {
	entry        string
	amount, book int64
	payment      bool
	tax          int64 // recoverable, of a rebate
}

// sold is a sale; selling is what is asked for a line of it.
type sold struct {
	number, party, entry, on string

	lines []soldLine
}

type soldLine struct {
	lot      string
	rest     sum // cents: what it cost
	money    amounts
	home     string // the safe that it left
	parts    []soldPart
	credited []credited
}

// amounts are those of a sale's line: with tax, and tax, in the invoice's currency;
// revenue and tax in the book's.
type amounts struct{ gross, tax, sold, taxBook int64 }

func (a amounts) minus(b amounts) amounts {
	return amounts{a.gross - b.gross, a.tax - b.tax, a.sold - b.sold, a.taxBook - b.taxBook}
}

type soldPart struct {
	lot, from string
	sum
}

// credited is what came back of a line, or what was allowed off its price.
type credited struct {
	entry, on string
	sum
	money amounts
}

// selling is a line as it is asked for; bill is what they share.
type selling struct {
	lot, from      string
	pieces, carats int64
	basis          string // per_carat, per_piece, total; empty: it shares the bill's price
	price          int64
}

type bill struct {
	price    int64
	currency string
	rate     int64 // hundredths of a euro for a dollar
	tax      int64 // percent
	in       bool  // prices include it
	percent  int64 // of the net price to a broker
}

// posted is a line that a bookkeeper writes beside the stones.
type posted struct {
	on, entry, account string
	cents              int64
}

// over is a whole number divided, rounded half up.
func over(n, by int64) int64 { return (2*n + by) / (2 * by) }

func (b bill) euros(cents int64) int64 {
	if b.currency == "EUR" {
		return cents
	}
	return over(cents*b.rate, 100)
}

// owe adds what is owed from now on.
func (n *naive) owe(it *item) { n.items = append(n.items, it) }

// claim is owed by a party from now on: a claim for each lot that lost its cost; that
// of a finished piece holds what its stones cost.
func (n *naive) claim(entry, party string, lost []dated) {
	inside, claims := map[string]string{}, map[string]*item{}
	for _, d := range lost {
		if piece, in := strings.CutPrefix(d.place, "piece/"); in && d.pieces < 0 {
			inside[d.lot] = piece
		}
		if d.place == "charge/claim" && d.cents > 0 {
			of := cmp.Or(inside[d.lot], d.lot)
			delete(inside, d.lot)
			if claims[of] == nil {
				n.claims++
				claims[of] = &item{number: fmt.Sprintf("K%d", n.claims), party: party, entry: entry, account: "claims",
					currency: "EUR"}
				n.owe(claims[of])
			}
			claims[of].amount, claims[of].book = claims[of].amount+d.cents, claims[of].book+d.cents
		}
	}
}

// write notes a line of the bookkeeper's.
func (n *naive) write(entry, account string, cents int64) {
	n.written = append(n.written, posted{n.on, entry, account, cents})
}

// unwrite takes back what was written of an entry.
func (n *naive) unwrite(entry, by string) {
	n.void[entry] = true
	for _, p := range n.written {
		if p.entry == entry {
			n.write(by, p.account, -p.cents)
		}
	}
}

// item is what a number names.
func (n *naive) item(number string) *item {
	for _, it := range n.items {
		if it.number == number {
			return it
		}
	}
	return nil
}

// open is what is left of an item that stands.
func (n *naive) open(it *item) (amount, book int64) {
	if n.void[it.entry] {
		return 0, 0
	}
	amount, book = it.amount, it.book
	for _, c := range it.changes {
		if !n.void[c.entry] {
			amount, book = amount-c.amount, book-c.book
		}
	}
	return amount, book
}

// follows says what stands of an entry that someone takes back: a credit, a rebate
// or a payment of its sale or charge.
func (n *naive) follows(entry string) string {
	for _, it := range n.items {
		if it.entry == entry {
			for _, c := range it.changes {
				if !n.void[c.entry] {
					return c.entry + " of " + it.number
				}
			}
		}
	}
	return ""
}

// sell moves what is sold to its customer and books what he owes: the tax of the
// whole invoice and its amount in the book's currency are each worked out once, and
// shared over the lines by their agreed prices.
func (n *naive) sell(entry, number, party string, lines []selling, b bill) {
	s := &sold{number: number, party: party, entry: entry, on: n.on}
	to := "customer/" + party
	for _, l := range lines {
		line := soldLine{lot: l.lot, rest: sum{l.pieces, l.carats, 0}, home: l.from}
		if paper, on := strings.CutPrefix(l.from, "paper/"); on {
			line.home = n.home(l.lot, paper)
		}
		if strings.HasPrefix(l.lot, "J") {
			line.parts = n.away(l.lot, l.from, to)
			for _, p := range line.parts {
				line.rest.cents += p.cents
			}
		} else {
			before := n.at[l.lot][to].cents
			n.leave(l.lot, l.from, part{l.pieces, l.carats, false, to})
			line.rest.cents = n.at[l.lot][to].cents - before
		}
		s.lines = append(s.lines, line)
	}
	agreed := agree(s.lines, lines, b.price)
	var total int64
	for _, a := range agreed {
		total += a
	}
	tax, gross := over(total*b.tax, 100), total
	if b.in {
		tax = over(total*b.tax, 100+b.tax)
	} else {
		gross += tax
	}
	taxes, owed := largest(tax, agreed), largest(b.euros(gross), agreed)
	taxBook := largest(b.euros(tax), agreed)
	it := &item{number: number, party: party, entry: entry, account: "receivables", currency: b.currency}
	for i := range s.lines {
		m := amounts{agreed[i], taxes[i], owed[i] - taxBook[i], taxBook[i]}
		if !b.in {
			m.gross += taxes[i]
		}
		s.lines[i].money = m
		it.amount += m.gross
		n.write(entry, "revenue", -m.sold)
		n.write(entry, "tax payable", -m.taxBook)
	}
	it.book = b.euros(gross)
	n.write(entry, "receivables", it.book)
	if b.percent > 0 {
		fee := b.euros(over((gross-tax)*b.percent, 100))
		n.write(entry, "commissions", fee)
		n.write(entry, "payables", -fee)
	}
	n.owe(it)
	n.sales = append(n.sales, s)
}

// agree is the price of each line; those without one share the rest's by cost, and by
// count when they cost nothing.
func agree(sold []soldLine, lines []selling, price int64) []int64 {
	out, weights := make([]int64, len(lines)), make([]int64, len(lines))
	var cost int64
	for i, l := range lines {
		switch l.basis {
		case "per_carat":
			out[i] = over(l.price*l.carats, 1000)
		case "per_piece":
			out[i] = l.price * l.pieces
		case "total":
			out[i] = l.price
		default:
			weights[i] = sold[i].rest.cents
			cost += weights[i]
		}
	}
	for i, l := range lines {
		if cost == 0 && l.basis == "" {
			weights[i] = l.pieces
		}
	}
	if price > 0 {
		for i, c := range largest(price, weights) {
			out[i] += c
		}
	}
	return out
}

// remains is a line less what was credited of it.
func (n *naive) remains(l *soldLine) (sum, amounts) {
	rest, money := l.rest, l.money
	for _, c := range l.credited {
		if !n.void[c.entry] {
			rest, money = rest.plus(c.minus()), money.minus(c.money)
		}
	}
	return rest, money
}

// takeBack brings pieces of a line back into a lot in the safe that they left, at the very cost that
// left with them.
func (n *naive) takeBack(entry string, s *sold, l *soldLine, pieces, carats int64, into string) {
	rest, money := n.remains(l)
	off, weights := carats, []int64{carats, rest.carats - carats}
	if pieces == rest.pieces {
		off, weights = rest.carats, []int64{1, 0}
	}
	back := func(cents int64) int64 { return largest(cents, weights)[0] }
	c := credited{entry, n.on, sum{pieces, off, back(rest.cents)}, amounts{back(money.gross), back(money.tax),
		back(money.sold+money.taxBook) - back(money.taxBook), back(money.taxBook)}}
	from := "customer/" + s.party
	for _, p := range l.parts {
		to := l.home
		if strings.HasPrefix(p.from, "piece/") {
			to = p.from
		}
		n.add(p.lot, from, p.minus())
		n.add(p.lot, to, p.sum)
	}
	if len(l.parts) == 0 {
		n.add(l.lot, from, c.minus())
		n.add(into, l.home, sum{pieces, carats, c.cents})
		n.add(l.lot, "loss/weighing", sum{0, off - carats, 0})
	}
	n.credit(entry, s, l, c)
}

// allow gives an amount with tax back, of which nothing comes back in stones: each
// line takes the part that it has in what is left of the invoice.
func (n *naive) allow(entry string, s *sold, cents int64) {
	weights := make([]int64, len(s.lines))
	for i := range s.lines {
		_, money := n.remains(&s.lines[i])
		weights[i] = money.gross
	}
	for i, c := range largest(cents, weights) {
		l := &s.lines[i]
		_, money := n.remains(l)
		of := func(cents int64) int64 { return largest(cents, []int64{c, money.gross - c})[0] }
		n.credit(entry, s, l, credited{entry, n.on, sum{}, amounts{c, of(money.tax),
			of(money.sold+money.taxBook) - of(money.taxBook), of(money.taxBook)}})
	}
}

// credit takes a credit off a line and off what its customer owes.
func (n *naive) credit(entry string, s *sold, l *soldLine, c credited) {
	l.credited = append(l.credited, c)
	it := n.item(s.number)
	it.changes = append(it.changes, change{entry: entry, amount: c.money.gross, book: c.money.sold + c.money.taxBook})
	n.write(entry, "sales returns", c.money.sold)
	n.write(entry, "tax payable", c.money.taxBook)
	n.write(entry, "receivables", -c.money.sold-c.money.taxBook)
}

// pay notes money for an item: what it settles of it goes at the part that it stood
// at, and the difference is one line.
func (n *naive) pay(entry string, it *item, settled, euros int64) {
	amount, book := n.open(it)
	sign := int64(1)
	if amount < 0 {
		sign, amount, book = -1, -amount, -book
	}
	carrying := largest(book, []int64{settled, amount - settled})[0]
	it.changes = append(it.changes, change{entry: entry, amount: sign * settled, book: sign * carrying, payment: true})
	if it.out {
		sign = -sign
	}
	n.write(entry, "bank", sign*euros)
	n.write(entry, it.account, -sign*carrying)
	n.write(entry, "exchange", sign*(carrying-euros))
}

// owed is what each party owes in each currency, and what that stands at.
func (n *naive) owed() []string {
	sums := map[[2]string]*item{}
	for _, it := range n.items {
		amount, book := n.open(it)
		if it.out || amount == 0 && book == 0 {
			continue
		}
		key := [2]string{it.party, it.currency}
		if sums[key] == nil {
			sums[key] = &item{}
		}
		sums[key].amount += amount
		sums[key].book += book
	}
	var out []string
	for key, s := range sums {
		out = append(out, fmt.Sprintf("%s %s %d %d", key[0], key[1], s.amount, s.book))
	}
	slices.Sort(out)
	return out
}

// accountOf is the account of a place.
func accountOf(place string) string {
	kind, name, _ := strings.Cut(place, "/")
	switch {
	case isReal(place) || kind == "made":
		return "inventory"
	case kind == "customer":
		return "cost of sales"
	case kind == "loss":
		return "losses"
	case kind == "charge" && name == "variance":
		return "charge variance"
	case kind == "charge" && name == "write-down":
		return "write downs"
	case kind == "charge" && name == "claim":
		return "claims"
	}
	return "payables" // to a vendor, or to whoever bills a charge
}

// sums are the sums of each account from one day to another.
func (n *naive) sums(from, to string) map[string]int64 {
	out := map[string]int64{}
	for _, d := range n.all {
		if d.on >= from && d.on <= to {
			out[accountOf(d.place)] += d.cents
		}
	}
	for _, p := range n.written {
		if p.on >= from && p.on <= to {
			out[p.account] += p.cents
		}
	}
	return out
}

// soldIn are the pieces, revenue and cost of what was sold in a month and stands,
// less what came back in it.
func (n *naive) soldIn(month string) (out sum, revenue int64) {
	for _, s := range n.sales {
		if n.void[s.entry] {
			continue
		}
		for _, l := range s.lines {
			if s.on[:7] == month {
				out, revenue = out.plus(l.rest), revenue+l.money.sold
			}
			for _, c := range l.credited {
				if c.on[:7] == month && !n.void[c.entry] {
					out, revenue = out.plus(c.minus()), revenue-c.money.sold
				}
			}
		}
	}
	return out, revenue
}
