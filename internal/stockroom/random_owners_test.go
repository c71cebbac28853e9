package stockroom_test

import (
	"fmt"
	"slices"
	"strings"

	"github.com/google/go-cmp/cmp"

	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/testkit/books"
)

// loan is the price that was agreed for a lot of a lender, in its currency's minor
// units.
type loan struct {
	lender   string
	currency num.Currency
	minor    int64
}

// own reports whether a lot carries cost.
func (n *naive) own(lot string) bool {
	_, lent := n.lent[lot]
	return n.mine[lot] && !lent
}

// convert is an amount in cents of the book, at the rate of the day, half up.
func (n *naive) convert(m num.Money) int64 {
	return atRate(m.Minor(num.HalfUp), n.rates[string(m.Currency())])
}

// atRate is an amount in cents of the book; without a rate it is in them already.
func atRate(minor, rate int64) int64 {
	if rate == 0 {
		return minor
	}
	return over(minor*rate, 1e6)
}

// perUnit is how many millionths of a unit a minor unit of a currency is.
func perUnit(currency string) int64 {
	if currency == "JPY" {
		return 1e6
	}
	return 1e4
}

// lend gives lots that are made of a part of a lender's lot their part of its agreed
// price, shared by weights; without weights there is one of them.
func (n *naive) lend(lot string, carats int64, into []string, weights []int64) {
	was, lent := n.lent[lot]
	if !lent {
		return
	}
	split := largest(was.minor, []int64{carats, n.whole(lot).carats - carats})
	n.lent[lot] = loan{was.lender, was.currency, split[1]}
	if weights == nil {
		weights = []int64{1}
	}
	for i, c := range largest(split[0], weights) {
		n.lent[into[i]] = loan{was.lender, was.currency, n.lent[into[i]].minor + c}
	}
}

// lendCut gives what was cut of a lender's lot its part of the agreed price, as cost
// goes: by the weight that it was cut from, against what stays of the lot. Rough that is
// left over is lent for nothing.
func (n *naive) lendCut(lot string, into []string, parts []part, cut func(i int) bool, uncut int64) {
	was, lent := n.lent[lot]
	if !lent {
		return
	}
	stays := n.whole(lot).carats + uncut
	var weights []int64
	for i, p := range parts {
		stays -= p.carats
		if cut(i) {
			weights = append(weights, p.carats)
		}
	}
	for i := range into {
		n.lent[into[i]] = loan{was.lender, was.currency, 0}
	}
	if len(weights) == 0 {
		return
	}
	shares := largest(was.minor, append(weights, stays))
	for i, c := range shares[:len(weights)] {
		n.lent[into[i]] = loan{was.lender, was.currency, c}
	}
	n.lent[lot] = loan{was.lender, was.currency, shares[len(weights)]}
}

// goneLent takes what is given back, lost or broken off a lender's agreed price; what
// is left is owed for itself alone.
func (n *naive) goneLent(lot string, pieces, carats int64) {
	was, lent := n.lent[lot]
	if whole := n.whole(lot); lent && pieces > 0 && pieces < whole.pieces {
		rest := largest(was.minor, []int64{carats, whole.carats - carats})[1]
		n.lent[lot] = loan{was.lender, was.currency, rest}
	}
}

// unlend takes back what an entry changed of lots of lenders.
func (n *naive) unlend(entry string) {
	change, changed := n.relent[entry]
	if !changed {
		return
	}
	for lot, before := range change[0] {
		after, still := change[1][lot]
		now := n.lent[lot]
		if after == before {
			continue
		}
		if !still {
			now, after.minor = before, before.minor
		}
		now.minor += before.minor - after.minor
		n.lent[lot] = now
	}
	for lot, after := range change[1] {
		if _, was := change[0][lot]; !was {
			now := n.lent[lot]
			now.minor -= after.minor
			n.lent[lot] = now
		}
	}
}

// bought turns a part of a lender's lot at a place into the dealer's own lot, or all
// of it wherever it lies; it costs its part of the agreed price at the rate of the day.
func (n *naive) bought(lot, at, own string, pieces, carats int64) {
	was, whole := n.lent[lot], n.whole(lot)
	price := largest(was.minor, []int64{carats, whole.carats - carats})
	cents := n.convert(num.FromMinor(price[0], was.currency))
	n.add(own, "vendor/"+was.lender, sum{0, 0, -cents})
	if own != lot {
		if !strings.HasPrefix(at, "piece/") {
			n.takeHeld(lot, at, pieces)
			n.holdOn(own)
		}
		n.lent[lot] = loan{was.lender, was.currency, price[1]}
		n.add(lot, at, sum{-pieces, -carats, 0})
		n.add(own, at, sum{pieces, carats, cents})
		return
	}
	delete(n.lent, lot)
	var places []string
	var weights []int64
	for place := range n.at[lot] {
		if isReal(place) && n.at[lot][place].pieces > 0 {
			places = append(places, place)
		}
	}
	slices.Sort(places)
	for _, p := range places {
		weights = append(weights, n.at[lot][p].carats)
	}
	for i, c := range largest(cents, weights) {
		n.add(lot, places[i], sum{0, 0, c})
	}
}

// ownerActs are what is done with goods of lenders and with other currencies.
func (d *dealer) ownerActs() []act {
	return []act{
		{"rates", 1, d.changeRates},
		{"return lent", 1, d.returnLent},
		{"buy lent", 2, d.buyLent},
		{"close memo", 1, d.closeMemo},
	}
}

// setRates imports rates of the day for dollars and yen.
func (d *dealer) setRates() {
	if err := d.changeRates(); err != nil {
		d.Fatal(err)
	}
}

func (d *dealer) changeRates() error {
	usd, jpy := d.draw("USD", 7000, 12000), d.draw("JPY", 5000, 9000)
	on := d.write.On
	if on == "" {
		on = "2026-03-02"
	}
	table := fmt.Sprintf("kind,name,value,per,unit,date,source\nfx,USD,%s,1,EUR/USD,%s,invented\n"+
		"fx,JPY,%s,100,EUR/JPY,%s,invented\n", num.Scaled(usd, 4), on, num.Scaled(jpy, 4), on)
	if _, err := d.house.Desk.RatesImport(d.ctx, desk.RatesImport{Write: d.write,
		File: books.Text("rates.csv", table)}); err != nil {
		return err
	}
	d.naive.rates["USD"], d.naive.rates["JPY"] = usd*100, jpy*100
	return nil
}

// currency draws the currency of an invoice; there is no rate for Swiss francs.
func (d *dealer) currency() num.Currency {
	if d.draw("unknown", 0, 30) == 30 {
		return "CHF"
	}
	return pick(d, "currency", []num.Currency{"EUR", "EUR", "USD", "USD", "JPY"})
}

func (d *dealer) amount(low, high int64) num.Money {
	return num.FromMinor(d.draw("amount", low, high), d.currency())
}

// buyMore buys a parcel of one to three lots from a vendor, or takes some of them on
// memo in. The invoice of what is bought is converted once and shared.
func (d *dealer) buyMore() error {
	type row struct {
		code  string
		minor int64
		lent  bool
		sum
	}
	var csv strings.Builder
	csv.WriteString("lot,owner,species,shape,pieces,weight_ct,price,price_basis\n")
	var rows []row
	most, size, currency, vendor := int64(3), int64(12), d.currency(), "V"
	if d.quiet {
		most, size = 9, 40
	}
	if d.codes == 0 || d.quiet && currency == "CHF" {
		currency = "EUR"
	}
	lends := d.draw("lends", 0, 3) == 0
	if lends {
		vendor = "L"
	}
	var invoice int64
	var parts []int64
	for range d.draw("lots", 1, most) {
		d.codes++
		pieces := d.draw("pieces", 1, size)
		r := row{code: fmt.Sprintf("L%d", d.codes), minor: d.draw("price", 1, 50_000),
			sum: sum{pieces, pieces*d.draw("mean", 100, 3000) + d.draw("odd", 0, 9), 0}}
		owner := "own"
		if r.lent = lends && d.draw("lent", 0, 2) > 0; r.lent {
			owner = "memo-in/L"
		} else {
			invoice += r.minor
			parts = append(parts, r.minor)
		}
		rows = append(rows, r)
		fmt.Fprintf(&csv, "%s,%s,topaz,oval,%d,%s,%s,total\n", r.code, owner, r.pieces, num.Carat(r.carats),
			num.FromMinor(r.minor, currency))
	}
	done, err := d.house.Stockroom.ParcelImport(d.ctx, stockroom.ParcelImport{Write: d.write, Vendor: vendor,
		Currency: currency, File: books.Text("p.csv", csv.String())})
	if err != nil {
		return err
	}
	cents := largest(d.naive.convert(num.FromMinor(invoice, currency)), parts)
	entry := fmt.Sprintf("E%d", d.head().Sequence)
	d.naive.change(entry, func() {
		for _, r := range rows {
			d.naive.parcel[r.code], d.naive.mine[r.code] = done.Parcel.Code, true
			if r.lent {
				d.naive.lent[r.code] = loan{"L", currency, r.minor}
			} else {
				r.cents, cents = cents[0], cents[1:]
			}
			d.naive.add(r.code, "vendor/"+vendor, r.minus())
			d.naive.add(r.code, d.naive.safes[0], r.sum)
			d.lots = append(d.lots, r.code)
		}
	})
	if invoice > 0 {
		d.naive.owe(&item{number: done.Parcel.Code, party: vendor, entry: entry, account: "payables",
			currency: string(currency), rate: d.naive.rates[string(currency)], out: true, amount: invoice,
			book: d.naive.convert(num.FromMinor(invoice, currency))})
	}
	if d.draw("wrong list", 0, 3) == 0 {
		d.entries = append(d.entries, entry)
	}
	return nil
}

// lentLot draws a lot of a lender that lies somewhere; seldom any lot.
func (d *dealer) lentLot() (string, bool) {
	var lent []string
	for _, lot := range d.lots {
		if _, is := d.naive.lent[lot]; is && d.naive.whole(lot).pieces > 0 {
			lent = append(lent, lot)
		}
	}
	if d.draw("not lent", 0, 9) == 0 {
		lent = d.lots
	}
	if len(lent) == 0 {
		return "", false
	}
	return pick(d, "lent", lent), true
}

// returnLent gives a part of a lender's lot back.
func (d *dealer) returnLent() error {
	lot, ok := d.lentLot()
	if !ok {
		return nil
	}
	at, place := d.safe(lot)
	m := d.some(lot, at)
	done, err := d.house.Stockroom.MemoReturn(d.ctx, stockroom.MemoReturn{Movement: d.moving(), From: place,
		Lots: []stockroom.Moving{m}})
	if err != nil {
		return err
	}
	d.naive.change(done.Entry, func() {
		d.naive.goneLent(lot, m.Pieces, int64(m.Carats))
		d.naive.leave(lot, at, part{m.Pieces, int64(m.Carats), false, "vendor/" + d.naive.lent[lot].lender})
	})
	d.entries = append(d.entries, done.Entry)
	return nil
}

// buyLent buys a part of a lender's lot where it lies, or all of it.
func (d *dealer) buyLent() error {
	lot, ok := d.lentLot()
	if !ok {
		return nil
	}
	var places []string
	for place, s := range d.naive.at[lot] {
		if isReal(place) && s.pieces > 0 {
			places = append(places, place)
		}
	}
	if slices.Sort(places); len(places) == 0 {
		places = []string{"safe"}
	}
	at := pick(d, "at", places)
	r := stockroom.MemoBuy{Movement: d.moving(), At: book.Place(at), Moving: d.some(lot, at)}
	if d.draw("all", 0, 2) == 0 {
		whole := d.naive.whole(lot)
		r.Moving, r.At = stockroom.Moving{Lot: lot, Pieces: whole.pieces, Carats: num.Carat(whole.carats)}, ""
	}
	done, err := d.house.Stockroom.MemoBuy(d.ctx, r)
	if err != nil {
		return err
	}
	own := done.Lots[0]
	d.naive.change(done.Entry, func() { d.boughtAs(lot, at, own, r.Moving) })
	if paper, on := strings.CutPrefix(at, "paper/"); on && own != lot {
		d.memos[paper] = append(d.memos[paper], own)
	}
	d.entries = append(d.entries, done.Entry)
	return nil
}

// boughtAs tells the naive ledger that a lender's stones were bought; on a paper they
// lie under their new code.
func (d *dealer) boughtAs(lot, at, own string, m stockroom.Moving) {
	d.naive.bought(lot, at, own, m.Pieces, int64(m.Carats))
	if own != lot {
		d.child(own, lot)
		if paper, on := strings.CutPrefix(at, "paper/"); on {
			d.naive.left[own+" "+paper] = d.naive.home(lot, paper)
		}
	}
}

// boughtFirst tells the naive ledger of what was bought to be sold, and puts it into the
// lines that are sold.
func (d *dealer) boughtFirst(told []selling, lines []book.SaleLine) {
	for i, l := range told {
		if _, lent := d.naive.lent[l.lot]; lent {
			own := lines[i].Lot
			d.boughtAs(l.lot, l.from, own, stockroom.Moving{Pieces: l.pieces, Carats: num.Carat(l.carats)})
			told[i].lot = own
		}
	}
}

// closeMemo loses what is out on a memo, or claims it.
func (d *dealer) closeMemo() error {
	if d.draw("close", 0, 2) > 0 {
		return nil
	}
	paper, _, ok := d.paper(d.memos)
	if !ok {
		return nil
	}
	missing := pick(d, "missing", []string{stockroom.MissingLoss, stockroom.MissingClaim})
	r := stockroom.MemoClose{Movement: d.moving(), Number: paper, Missing: missing}
	for _, lot := range d.memos[paper] {
		r.Lines = append(r.Lines, forAll(stockroom.Moving{Lot: lot}, "70"))
	}
	done, err := d.house.Stockroom.MemoClose(d.ctx, r)
	if err != nil {
		return err
	}
	d.naive.change(done.Entry, func() {
		for _, lot := range d.naive.lying("paper/" + paper) {
			before := len(d.naive.now)
			d.naive.missing(lot, "paper/"+paper, missing == stockroom.MissingClaim)
			if missing == stockroom.MissingClaim {
				d.naive.claims++
				d.naive.owe(&item{number: fmt.Sprintf("K%d", d.naive.claims), party: done.Memo.Party, entry: done.Entry,
					account: "claims", currency: "EUR", amount: 7000, book: 7000})
				over := int64(7000)
				for _, x := range d.naive.now[before:] {
					if x.place == "charge/claim" {
						over -= x.cents
					}
				}
				d.naive.write(done.Entry, "claims", over)
				d.naive.write(done.Entry, "losses", -over)
			}
		}
	})
	d.entries = append(d.entries, done.Entry)
	return nil
}

// loans compares what is on memo in, and at what prices, with the naive ledger.
func (d *dealer) loans() {
	list, err := d.house.Stockroom.MemoInList(d.ctx, stockroom.MemoInList{})
	if err != nil {
		d.Fatal(err)
	}
	var got, want []string
	for _, l := range list.Lots {
		agreed := "0"
		if l.Agreed != nil {
			agreed = l.Agreed.Words()
		}
		got = append(got, fmt.Sprintf("%s of %s for %s", l.Lot, l.Lender, agreed))
	}
	for lot, loan := range d.naive.lent {
		if d.naive.whole(lot).pieces > 0 {
			agreed := "0"
			if loan.minor != 0 {
				agreed = num.FromMinor(loan.minor, loan.currency).Words()
			}
			want = append(want, fmt.Sprintf("%s of %s for %s", lot, loan.lender, agreed))
		}
	}
	slices.Sort(got)
	slices.Sort(want)
	if diff := cmp.Diff(want, got); diff != "" {
		d.Fatalf("what is on memo in, by the naive ledger (-) and the list (+): %s", diff)
	}
}
