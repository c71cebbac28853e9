package stockroom

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/cutting"
	"lotpaper/internal/desk"
	"lotpaper/internal/facts"
	"lotpaper/internal/fitting"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// OrderIssue asks for an order as a paper.
type OrderIssue struct {
	desk.Write
	Number string
}

// OrderIssue issues an order as a numbered paper for its cutter.
func (room *Room) OrderIssue(ctx context.Context, r OrderIssue) (answer.OrderIssued, error) {
	var out answer.OrderIssued
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		o, err := desk.Named[book.Order](ctx, tx, r.Number)
		if err != nil {
			return err
		}
		e := s.Entry(ledger.Record, "issued the cutter order "+o.Number)
		m, err := newMover(ctx, tx, s, Movement{Write: r.Write}, &e)
		if err != nil {
			return err
		}
		if out, err = room.issueOrder(ctx, m, s, o); err != nil {
			return err
		}
		return tx.Post(ctx, &e)
	})
	return out, err
}

// issueOrder issues an order's paper with the entry of the mover, and names it
// in the order.
func (room *Room) issueOrder(ctx context.Context, m *mover, s desk.Stamp, o book.Order) (answer.OrderIssued, error) {
	var none answer.OrderIssued
	model, err := room.orderModel(ctx, m.tx, o)
	if err != nil {
		return none, err
	}
	doc, err := m.issue(ctx, s, desk.Draft{Kind: "ORDER", Title: "Cutter order " + o.Number, Model: model})
	if err != nil {
		return none, err
	}
	o.Document = doc.Number
	m.record(o)
	return answer.OrderIssued{Order: o, Document: answer.FileOf(doc)}, nil
}

// orderModel words an order for its cutter. What the dealer would pay at most,
// and what the supplied stones cost, stay in the book.
func (room *Room) orderModel(ctx context.Context, tx store.ReadTx, o book.Order) (*answer.CutterOrder, error) {
	m := &answer.CutterOrder{
		Order: o.Number, Cutter: o.Cutter, Line: o.Line, Due: o.Due, Breakage: o.Breakage, Note: o.Note, Batch: 1,
		PriceBasis: "per piece as cut, to be agreed before the work begins",
		Wanted:     []answer.CutterWanted{}, Supplied: []answer.SuppliedStone{}, People: []answer.PeopleHazard{},
		Terms: []string{
			"Size within the tolerance given, measured at the girdle.",
			"The same design and proportions across an item.",
			"Treatment must be stated for every stone; an unstated treatment is a reason to return it.",
			"Unsuitable rough comes back uncut; all powder, splinters and rough come back and are weighed.",
			"Weights are by scale to 0.001 ct. Fill in the sheet Return and send this workbook back.",
		},
	}
	if o.Bid > 0 {
		b, err := store.Get[book.Bid](ctx, tx, book.BidKey(o.Number, o.Bid))
		if err != nil {
			return nil, err
		}
		m.PriceBasis = bidWords(b)
	}
	supplied := o.Supplied
	if o.State == "draft" {
		supplied = o.Planned
	}
	work := map[string]string{}
	for _, s := range supplied {
		lot, err := desk.StockOf(ctx, tx, s.Lot)
		if err != nil {
			return nil, err
		}
		id, err := room.bench.Judge(ctx, tx, lot)
		if err != nil {
			return nil, err
		}
		m.People = append(m.People, fitting.HazardsOf(lot.Lot, &id)...)
		m.Supplied = append(m.Supplied, answer.SuppliedStone{
			Item: s.Item, Lot: lot.Code, Material: lot.Called(), Treatment: lot.Facets.Treatment.Value,
			Shape:  lot.Shape,
			Size:   answer.SizeWords(lot.Lot),
			Pieces: s.Pieces, Carats: s.Carats, Owner: string(lot.Owner), Note: lot.Note,
		})
		work[s.Item] = "recut what is supplied"
		if _, f := cutting.ParseShape(lot.Shape); f != nil {
			work[s.Item] = "cut from the rough supplied"
		}
	}
	var risks []string
	var named []answer.PeopleHazard
	for i, l := range o.Lines {
		w := wantedOf(l, book.ItemName(i))
		if w.Work = cmp.Or(work[w.Item], work[""]); w.Work == "" {
			w.Work = "supply finished stones"
		}
		if l.Risk != "" && !slices.Contains(risks, l.Risk) {
			risks = append(risks, l.Risk)
		}
		m.Wanted = append(m.Wanted, w)
		named = append(named, fitting.HazardsNamed(l.Species...)...)
	}
	m.People = append(named, m.People...)
	m.Specialist = strings.Join(risks, "; ")
	return m, nil
}

// bidWords is the price of a bid as an order states it.
func bidWords(b book.Bid) string {
	words := b.Price.Words() + " " + b.BasisWords()
	if b.Freight.Sign() > 0 {
		words += ", freight " + b.Freight.Words()
	}
	if b.Days > 0 {
		words += fmt.Sprintf(", back in %d days", b.Days)
	}
	return words
}

// wantedOf words a line of an order for its cutter.
func wantedOf(l book.OrderLine, item string) answer.CutterWanted {
	material, variety := lineMaterial(l)
	w := answer.CutterWanted{
		Item: item, For: strings.Trim(l.Design+"/"+l.Position, "/"),
		Material:  cmp.Or(strings.Join(l.Species, " or "), "any suitable"),
		Treatment: cmp.Or(l.Treatment, "any usual one, to be stated"), WantedStone: l.WantedStone,
		Color: l.Color, Clarity: l.Clarity, Orientation: l.Orientation, Finish: l.Finish,
		WantedWeight: l.WantedWeight, Risk: l.Risk, Why: l.Why,
		Laying: answer.Laying{Directions: []string{}, Words: []string{}},
	}
	if l.Weight > 0 || material != nil {
		w.Style = cutting.Style(l, material)
	}
	shape, f := cutting.ParseShape(l.Shape)
	if f == nil {
		w.Laying.Cabochon = shape.IsCabochon()
		for _, p := range cutting.Outline(shape, l.Length.Float(), l.Width.Float()) {
			w.Outline = append(w.Outline, answer.Point{X: num.MillimetreFromFloat(p.X, num.HalfUp),
				Y: num.MillimetreFromFloat(p.Y, num.HalfUp)})
		}
	}
	if material != nil {
		for _, a := range cutting.Orient(material, variety) {
			w.Laying.Directions = append(w.Laying.Directions, string(a.Lies))
			w.Laying.Words = append(w.Laying.Words, a.What)
		}
	}
	return w
}

// lineMaterial is the one material that a line wants, and its variety; nil when it
// may be several.
func lineMaterial(l book.OrderLine) (*facts.Material, string) {
	if len(l.Species) != 1 {
		return nil, ""
	}
	n, f := facts.Resolve(l.Species[0])
	if f != nil || len(n.Materials) != 1 {
		return nil, ""
	}
	if n.Variety != nil {
		return n.Materials[0], n.Variety.Name
	}
	return n.Materials[0], ""
}
