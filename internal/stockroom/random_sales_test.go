package stockroom_test

import (
	"fmt"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
)

// rate is so many hundredths.
func rate(hundredths int64) num.Rate {
	r, f := num.ParseRate(fmt.Sprintf("%d.%02d", hundredths/100, hundredths%100), 1)
	if f != nil {
		panic(f)
	}
	return r
}

// billing draws how a sale is billed.
func (d *dealer) billing(price int64) (stockroom.Bill, bill) {
	b := bill{price: price, currency: "EUR"}
	r := stockroom.Bill{}
	if d.draw("foreign", 0, 3) == 0 {
		b.currency, b.rate = "USD", d.draw("rate", 80, 120)
		r.Rate = rate(b.rate)
	}
	r.Currency = num.Currency(b.currency)
	if price > 0 {
		r.Price = num.FromMinor(price, r.Currency)
	}
	if d.draw("taxed", 0, 2) == 0 {
		b.tax, b.in = d.draw("tax", 1, 25), d.draw("in", 0, 1) == 0
		tax := num.Percent{Dec: num.Int(b.tax)}
		r.Tax, r.TaxIn = &tax, &b.in
	}
	if d.draw("broker", 0, 5) == 0 {
		b.percent = d.draw("percent", 1, 9)
		r.Broker, r.CommissionPercent = "Broker", num.Percent{Dec: num.Int(b.percent)}
	}
	return r, b
}

// priced draws the prices of what is sold: each its own, or one for all.
func (d *dealer) priced(moving []stockroom.Moving, from string) ([]stockroom.Selling, []selling, int64) {
	lines, told, price := stockroom.Together(moving...), make([]selling, len(moving)), int64(0)
	for i, m := range moving {
		told[i] = selling{lot: m.Lot, from: from, pieces: m.Pieces, carats: int64(m.Carats)}
		basis := pick(d, "basis", []book.LineBasis{"", "", book.LinePerCarat, book.LinePerPiece, book.LineTotal})
		if basis == "" {
			price = d.draw("price", 1, 60_000)
			continue
		}
		told[i].basis, told[i].price = string(basis), d.draw("price", 1, 20_000)
		lines[i].Basis = basis
		lines[i].Price = num.UnitPrice{Money: num.Micros(told[i].price*10_000, "")}
	}
	return lines, told, price
}

// sell sells one to three lines from the safe: stones, or a finished piece.
func (d *dealer) sell() error {
	first, at, named := d.fromSafe()
	moving := []stockroom.Moving{first}
	for range d.draw("lines", 0, 2) {
		if piece := d.piece(); piece != "" && d.draw("a piece", 0, 2) > 0 {
			moving = append(moving, stockroom.Moving{Lot: piece, Pieces: 1})
		} else {
			moving = append(moving, d.some(d.lotAt(at), at))
		}
		named = book.Place(at)
	}
	lines, told, price := d.priced(moving, at)
	request, b := d.billing(price)
	done, err := d.house.Stockroom.SaleAdd(d.ctx, stockroom.SaleAdd{Movement: d.moving(), Customer: d.party(),
		From: named, Lines: lines, Bill: request, Buy: d.index("buy", 2) == 0})
	if err != nil {
		return err
	}
	d.naive.change(done.Entry, func() {
		d.boughtFirst(told, done.Sale.Lines)
		d.naive.sell(done.Entry, done.Sale.Number, done.Sale.Customer, told, b)
	})
	d.entries = append(d.entries, done.Entry)
	return nil
}

// memoSell sells a part of what is out on a memo.
func (d *dealer) memoSell() error {
	paper, lot, ok := d.paper(d.memos)
	if !ok {
		return nil
	}
	lines, told, price := d.priced([]stockroom.Moving{d.some(lot, "paper/"+paper)}, "paper/"+paper)
	request, b := d.billing(price)
	done, err := d.house.Stockroom.MemoSell(d.ctx, stockroom.MemoSell{Movement: d.moving(), Number: paper,
		Lines: lines, Bill: request, Buy: d.index("buy", 2) == 0})
	if err != nil {
		return err
	}
	d.naive.change(done.Entry, func() {
		d.boughtFirst(told, done.Sale.Lines)
		d.naive.sell(done.Entry, done.Sale.Number, done.Sale.Customer, told, b)
	})
	d.entries = append(d.entries, done.Entry)
	return nil
}

// oldSale draws a sale; nil: there is none.
func (d *dealer) oldSale() *sold {
	if len(d.naive.sales) == 0 {
		return nil
	}
	recent := d.naive.sales[max(0, len(d.naive.sales)-20):]
	return pick(d, "sale", recent)
}

// saleReturn takes back what is left of a sale, or a part of one line, sound or
// damaged.
func (d *dealer) saleReturn() error {
	s := d.oldSale()
	if s == nil {
		return nil
	}
	r := stockroom.SaleReturn{Movement: d.moving(), Number: s.number, Damaged: d.draw("damaged", 0, 3) == 0}
	if d.draw("a part", 0, 3) > 0 {
		l := &s.lines[d.draw("line", 0, int64(len(s.lines)-1))]
		rest, _ := d.naive.remains(l)
		m := stockroom.Moving{Lot: l.lot, Pieces: d.draw("pieces", 1, max(1, rest.pieces+1))}
		m.Carats = num.Carat(rest.carats * m.Pieces / max(1, rest.pieces))
		if rest.carats > 0 {
			m.Carats = max(1, m.Carats+num.Carat(d.draw("scale", -30, 30)))
		}
		r.Lots = []stockroom.Moving{m}
	}
	done, err := d.house.Stockroom.SaleReturn(d.ctx, r)
	if err != nil {
		return err
	}
	d.naive.change(done.Entry, func() {
		nothing := map[string]bool{} // lots of which nothing was left before
		for _, l := range s.lines {
			nothing[l.lot] = d.naive.whole(l.lot).pieces == 0
		}
		apart := map[string]string{} // damaged parts
		back := func(l *soldLine, pieces, carats int64) {
			rest, _ := d.naive.remains(l)
			if carats == 0 { // all of them, as they went
				carats = rest.carats
			}
			into := l.lot
			if r.Damaged && len(l.parts) == 0 && (!nothing[l.lot] || pieces != rest.pieces) {
				if into = apart[l.lot]; into == "" {
					into = done.Lots[len(apart)]
					apart[l.lot] = into
					d.child(into, l.lot)
				}
			}
			d.naive.takeBack(done.Entry, s, l, pieces, carats, into)
		}
		for i := range s.lines {
			l := &s.lines[i]
			rest, _ := d.naive.remains(l)
			switch {
			case len(r.Lots) == 0 && rest.pieces > 0:
				back(l, rest.pieces, rest.carats)
			case len(r.Lots) > 0 && l.lot == r.Lots[0].Lot && rest.pieces >= r.Lots[0].Pieces:
				back(l, r.Lots[0].Pieces, int64(r.Lots[0].Carats))
				return
			}
		}
	})
	d.entries = append(d.entries, done.Entry)
	return nil
}

// saleCredit gives a customer money back for a sale of which nothing comes back.
func (d *dealer) saleCredit() error {
	s := d.oldSale()
	if s == nil {
		return nil
	}
	it := d.naive.item(s.number)
	cents := d.draw("cents", 1, 1+it.amount/4)
	if d.draw("too much", 0, 9) == 0 {
		cents = it.amount + 1
	}
	done, err := d.house.Stockroom.SaleCredit(d.ctx, stockroom.SaleCredit{Write: d.write, Number: s.number,
		Amount: num.Micros(cents*10_000, "")})
	if err != nil {
		return err
	}
	d.naive.change(done.Entry, func() { d.naive.allow(done.Entry, s, cents) })
	d.entries = append(d.entries, done.Entry)
	return nil
}
