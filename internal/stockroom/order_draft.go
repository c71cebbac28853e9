package stockroom

import (
	"context"
	"fmt"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/cutting"
	"lotpaper/internal/desk"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// OrderDraft asks for an order that no plan calls for: a recut, rough to cut, or
// stones for the safe.
type OrderDraft struct {
	desk.Write
	Cutter string
	Due    book.Date
	Items  []OrderItem
	Note   string
}

// OrderItem is one kind of stone that is wanted.
type OrderItem struct {
	Material string // a species, variety or trade name
	Shape    string
	Length   num.Millimetre
	Width    num.Millimetre
	Count    int64
}

// line words an item as an order line.
func (i OrderItem) line() (book.OrderLine, fault.List) {
	var l fault.List
	named, f := facts.Resolve(i.Material)
	l.Add(f)
	_, f = cutting.ParseShape(i.Shape)
	l.Add(f)
	if i.Length <= 0 || i.Width <= 0 || i.Width > i.Length || i.Count <= 0 {
		l.Add(fault.New(fault.Usage, "item-size", fmt.Sprintf("an item has a length, a width of at most that and a "+
			"count, but %s is %s x %s mm and %d", i.Material, i.Length, i.Width, i.Count),
			"write it like topaz:oval:8x6:3"))
	}
	if l.Blocks() {
		return book.OrderLine{}, l
	}
	material, why := i.Material, "asked for by hand"
	if words := named.Misleads(); words != "" { // the cutter reads the right name
		why += "; " + words
		if material = named.Materials[0].Name; named.Variety != nil {
			material = named.Variety.Name
		}
	}
	out := book.OrderLine{Species: []string{material}, Why: why,
		WantedStone: book.WantedStone{Shape: strings.ToLower(i.Shape), Length: i.Length, Width: i.Width,
			Count: i.Count}}
	cutting.FillOrder(&out, named.Materials[0])
	return out, l
}

// OrderDraft drafts an order by hand.
func (room *Room) OrderDraft(ctx context.Context, r OrderDraft) (answer.Orders, error) {
	out := answer.Orders{Cutters: []answer.CutterSkill{}}
	if f := book.CheckName("a cutter", r.Cutter); f != nil {
		return out, f.AtField("cutter")
	}
	var l fault.List
	lines := []book.OrderLine{}
	for _, i := range r.Items {
		line, faults := i.line()
		for _, f := range faults {
			l.Add(f.AtField("item"))
		}
		lines = append(lines, line)
	}
	if l.Blocks() {
		return out, l
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		cutter, err := desk.PartyOf(ctx, tx, "a cutter", r.Cutter)
		if err != nil {
			return err
		}
		n, err := tx.Next(ctx, string(book.KindOrder))
		if err != nil {
			return err
		}
		o := book.Order{Number: fmt.Sprintf("O%d", n), Cutter: cutter, State: "draft", On: s.On, Due: r.Due,
			Lines: lines, Breakage: cutting.BreakageTerms, Note: r.Note}
		e := s.Entry(ledger.Record, "drafted the cutter order "+o.Number)
		out.Orders, e.Records = []book.Order{o}, []book.Record{o}
		return tx.Post(ctx, &e)
	})
	return out, err
}
