package stockroom

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// SaleList asks for the sales of a time, one by one or in groups. What came back
// counts on the day of its credit note when sales are grouped by period, else
// with its sale.
type SaleList struct {
	From, To book.Date // empty: no bound
	By       string    // sale, period, customer, vendor, parcel, species; empty: sale
	All      bool      // void ones too
}

// saleGroups are what sales are listed by.
var saleGroups = []string{"sale", "period", "customer", "vendor", "parcel", "species"}

// SaleList returns the sales with revenue, cost of sales and margin.
func (room *Room) SaleList(ctx context.Context, r SaleList) (answer.SaleList, error) {
	r.By = cmp.Or(r.By, "sale")
	out := answer.SaleList{From: r.From, To: r.To, By: r.By, Rows: []answer.SaleRow{}}
	if !slices.Contains(saleGroups, r.By) {
		return out, fault.New(fault.Usage, "sale-by", "sales are grouped by "+strings.Join(saleGroups, ", ")+
			", but not by \""+r.By+"\"", cmp.Or(fault.DidYouMean(r.By, saleGroups), "name one of these")).AtField("by")
	}
	err := room.desk.View(ctx, func(tx store.ReadTx) (err error) {
		if out.Head, err = room.desk.ListHead(ctx, tx, "Sales"); err != nil {
			return err
		}
		zero := num.Zero(tx.Meta().Currency)
		out.Revenue, out.Cost, out.Rows = zero, zero, []answer.SaleRow{}
		parties, err := desk.ReadParties(ctx, tx)
		if err != nil {
			return err
		}
		l := saleLister{SaleList: r, ctx: ctx, tx: tx, out: &out, of: parties, at: map[string]int{},
			seen: map[string]bool{},
			lots: map[string]lotOrigin{}}
		if err := l.read(); err != nil {
			return err
		}
		if r.By != "sale" {
			slices.SortStableFunc(out.Rows, func(a, b answer.SaleRow) int { return cmp.Compare(a.Group, b.Group) })
		}
		for _, row := range out.Rows {
			if row.State != "void" {
				out.Revenue, out.Cost = out.Revenue.Add(row.Revenue), out.Cost.Add(row.Cost)
			}
		}
		return nil
	})
	return out, err
}

// saleLister reads sales into rows.
type saleLister struct {
	SaleList
	ctx  context.Context
	tx   store.ReadTx
	out  *answer.SaleList
	of   *desk.Parties
	at   map[string]int  // rows by folded group
	seen map[string]bool // sales that a row counts, by folded group and number
	lots map[string]lotOrigin
}

// lotOrigin is where a lot came from.
type lotOrigin struct{ species, parcel, vendor string }

// part is a part of a sale: one line of it, or of what came back.
type part struct {
	sale          *book.Sale
	lot           string
	on            book.Date
	pieces        int64
	carats        num.Carat
	revenue, cost num.Money
	returned      bool // of what came back
}

func (l *saleLister) read() error {
	void, err := l.tx.Reversals(l.ctx)
	if err != nil {
		return err
	}
	rows, err := l.tx.Rows(l.ctx, book.KindSale, store.RowFilter{})
	if err != nil {
		return err
	}
	for _, row := range rows {
		sale, err := store.Get[book.Sale](l.ctx, l.tx, row.Key)
		if err != nil {
			return err
		}
		gone := void[row.Since] != "" || sale.Reversed
		if gone && (!l.All || l.By != "sale") {
			continue
		}
		credits, err := creditsOf(l.ctx, l.tx, sale.Number)
		if err != nil {
			return err
		}
		back := sale.On
		if sale.Returned {
			e, err := l.tx.Entry(l.ctx, row.Entry)
			if err != nil {
				return err
			}
			back = e.PostedOn
		}
		parts := partsOf(&sale, credits, back)
		for _, p := range parts {
			if p.on < l.From || l.To != "" && p.on > l.To {
				continue
			}
			if err := l.add(p); err != nil {
				return err
			}
		}
		if i, listed := l.at[strings.ToLower(sale.Number)]; listed && l.By == "sale" {
			l.out.Rows[i].State = saleState(&sale, parts, gone)
		}
	}
	return nil
}

// saleState says what became of a sale.
func saleState(s *book.Sale, parts []part, void bool) string {
	var sold, left int64
	for _, p := range parts {
		left += p.pieces
		if !p.returned {
			sold += p.pieces
		}
	}
	switch {
	case void:
		return "void"
	case left == 0 || s.Returned:
		return "returned"
	case left < sold:
		return "part returned"
	}
	return "sold"
}

// partsOf are the lines of a sale, and what came back of them. A sale without
// lines is one part, which came back on the day back.
func partsOf(s *book.Sale, credits []book.Credit, back book.Date) []part {
	var out []part
	for _, line := range s.Lines {
		out = append(out, part{s, line.Lot, s.On, line.Pieces, line.Carats, line.Sold, line.Cost, false})
	}
	if len(s.Lines) == 0 {
		p := part{sale: s, on: s.On, revenue: s.Price, cost: s.Cost}
		for i, x := range s.Lots {
			p.pieces, p.carats = p.pieces+x.Pieces, p.carats+x.Carats
			if i == 0 {
				p.lot = x.Lot
			}
		}
		out = append(out, p)
		if s.Returned {
			out = append(out, part{s, p.lot, back, -p.pieces, -p.carats, p.revenue.Neg(), p.cost.Neg(), true})
		}
	}
	for _, c := range credits {
		for _, x := range c.Lines {
			out = append(out, part{s, x.Lot, c.On, -x.Off.Pieces, -x.Off.Carats, x.Sold.Neg(), x.Cost.Neg(), true})
		}
	}
	return out
}

// add counts a part in its row.
func (l *saleLister) add(p part) error {
	group := p.sale.Number
	switch l.By {
	case "period":
		group = string(p.on[:len("2006-01")])
	case "customer":
		group = l.of.Of(p.sale.Customer)
	case "vendor", "parcel", "species":
		o, err := l.origin(p.lot)
		if err != nil {
			return err
		}
		group = map[string]string{"vendor": o.vendor, "parcel": o.parcel, "species": o.species}[l.By]
	}
	key := strings.ToLower(group)
	i, known := l.at[key]
	if !known {
		i, l.at[key] = len(l.out.Rows), len(l.out.Rows)
		zero := num.Zero(l.tx.Meta().Currency)
		row := answer.SaleRow{Group: group, Revenue: zero, Cost: zero, Margin: zero}
		if l.By == "sale" {
			row.On, row.Customer, row.Invoice = p.sale.On, l.of.Of(p.sale.Customer), p.sale.Invoice
		}
		l.out.Rows = append(l.out.Rows, row)
	}
	row := &l.out.Rows[i]
	row.Add(p.pieces, p.carats, p.revenue, p.cost)
	if sale := key + "/" + p.sale.Number; !p.returned && !l.seen[sale] {
		l.seen[sale] = true
		row.Sales++
	}
	return nil
}

// origin is where a lot came from.
func (l *saleLister) origin(code string) (lotOrigin, error) {
	if o, known := l.lots[code]; known {
		return o, nil
	}
	lot, err := store.Get[book.Lot](l.ctx, l.tx, code)
	if err != nil {
		return lotOrigin{}, err
	}
	o := lotOrigin{species: cmp.Or(lot.Species, "unnamed"), parcel: cmp.Or(lot.Parcel, "none"), vendor: "none"}
	if lot.Parcel != "" {
		p, err := store.Get[book.Parcel](l.ctx, l.tx, lot.Parcel)
		if err != nil {
			return o, err
		}
		o.vendor = l.of.Of(p.Vendor)
	}
	l.lots[code] = o
	return o, nil
}
