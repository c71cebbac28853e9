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
		Order: o.Number, Cutter: o.Cutter, Line: o.Line, Due: o.Due, Breakage: o.Breakage, Note: o.Note,
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
	var risks []string
	for i, l := range o.Lines {
		w := answer.CutterWanted{
			Item: itemName(i), For: strings.Trim(l.Design+"/"+l.Position, "/"), Material: strings.Join(l.Species,
				" or "), Treatment: cmp.Or(l.Treatment, "any usual one, to be stated"), WantedStone: l.WantedStone,
			Color: l.Color, Clarity: l.Clarity, Style: styleOf(l), Orientation: l.Orientation, Finish: l.Finish,
			WantedWeight: l.WantedWeight, Risk: l.Risk, Why: l.Why,
		}
		if w.Material == "" {
			w.Material = "any suitable"
		}
		if shape, f := cutting.ParseShape(l.Shape); f == nil {
			for _, p := range cutting.Outline(shape, l.Length.Float(), l.Width.Float()) {
				w.Outline = append(w.Outline, answer.Point{X: num.MillimetreFromFloat(p.X, num.HalfUp),
					Y: num.MillimetreFromFloat(p.Y, num.HalfUp)})
			}
		}
		if l.Risk != "" && !slices.Contains(risks, l.Risk) {
			risks = append(risks, l.Risk)
		}
		m.Wanted = append(m.Wanted, w)
		m.People = append(m.People, fitting.HazardsNamed(l.Species...)...)
	}
	item := ""
	if len(o.Lines) == 1 {
		item = itemName(0)
	}
	for _, s := range o.Supplied {
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
			Item: item, Lot: lot.Code, Material: lot.Called(), Treatment: lot.Facets.Treatment.Value, Shape: lot.Shape,
			Size:   answer.SizeWords(lot.Lot),
			Pieces: s.Pieces, Carats: s.Carats, Owner: string(lot.Owner), Note: lot.Note,
		})
	}
	m.Specialist = strings.Join(risks, "; ")
	return m, nil
}

func itemName(i int) string {
	if i < 26 {
		return string(rune('A' + i))
	}
	return fmt.Sprintf("A%d", i-25)
}

// styleOf words the cut: the pavilion must stand above the critical angle.
func styleOf(l book.OrderLine) string {
	if l.Weight == 0 {
		return ""
	}
	return "as usual for the shape; pavilion at least 2 degrees over the critical angle of the material"
}
