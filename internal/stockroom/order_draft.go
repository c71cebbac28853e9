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
	Cutter string // empty: cutters bid for it
	Due    book.Date
	Items  []OrderItem
	Lots   []Supplying // what is to be supplied
	Claims bool        // the cutter bears the breakage of what is supplied
	Note   string
}

// Supplying is pieces of a lot for a cutter, and the item that they are for.
type Supplying struct {
	Moving
	Item string // empty: any
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
	var l fault.List
	if r.Cutter != "" {
		l.Add(cutterNamed(r.Cutter))
	}
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
		cutter := ""
		if r.Cutter != "" { // else cutters bid for it
			var err error
			if cutter, err = desk.PartyOf(ctx, tx, "a cutter", r.Cutter); err != nil {
				return err
			}
		}
		n, err := tx.Next(ctx, string(book.KindOrder))
		if err != nil {
			return err
		}
		o := book.Order{Number: fmt.Sprintf("O%d", n), Cutter: cutter, State: "draft", On: s.On, Due: r.Due,
			Lines: lines, Breakage: cutting.Terms(r.Claims), Claims: r.Claims, Note: r.Note}
		if o.Planned, err = planned(ctx, tx, o, r.Lots); err != nil {
			return err
		}
		e := s.Entry(ledger.Record, "drafted the cutter order "+o.Number)
		out.Orders, e.Records = []answer.Order{answer.Drafted(o)}, []book.Record{o}
		return tx.Post(ctx, &e)
	})
	return out, err
}

func cutterNamed(name string) *fault.Fault {
	f := book.CheckName("a cutter", name)
	if f != nil {
		f = f.AtField("cutter")
	}
	return f
}

// planned are the lots that are to be supplied for an order, as the safes of all
// offices have them.
func planned(ctx context.Context, tx store.ReadTx, o book.Order, lots []Supplying) ([]book.Supply, error) {
	var out []book.Supply
	for _, x := range lots {
		s, err := desk.StockOf(ctx, tx, x.Lot)
		if err != nil {
			return nil, err
		}
		here := s.InSafes()
		if here.Pieces == 0 {
			return nil, nothingAt(s, book.Safe)
		}
		item, f := itemFor(o, x.Item)
		if f != nil {
			return nil, f.AtRef(s.Code)
		}
		if x.Pieces == 0 {
			x.Pieces, x.Carats = here.Pieces, here.Carats
		}
		if x.Carats == 0 { // of a part: its share of the weight, until it is weighed
			x.Carats = here.Carats.ShareCarats([]num.Dec{num.Int(x.Pieces), num.Int(max(0, here.Pieces-x.Pieces))})[0]
		}
		if x.Pieces > here.Pieces || x.Carats > here.Carats {
			return nil, fault.New(fault.Refused, "take-too-much",
				fmt.Sprintf("%d pieces and %s ct are asked for, but the safe "+
					"has %d pieces and %s ct of %s", x.Pieces, x.Carats, here.Pieces, here.Carats, s.Code),
				"check the count and the weight").AtRef(s.Code).AtField("lot")
		}
		out = append(out, book.Supply{SuppliedLot: book.SuppliedLot{Lot: s.Code, Pieces: x.Pieces, Carats: x.Carats},
			Item: item})
	}
	return out, nil
}

// itemFor is the item of an order that a lot is for: as it is said, else the order's
// only one.
func itemFor(o book.Order, item string) (string, *fault.Fault) {
	item = strings.ToUpper(item)
	switch {
	case item == "" && len(o.Lines) == 1:
		return book.ItemName(0), nil
	case item != "" && o.Item(item) == nil:
		return "", fault.New(fault.Usage, "order-item", fmt.Sprintf("order %s has no item %s", o.Number, item),
			fmt.Sprintf("name one of its %d items, from A on", len(o.Lines)))
	}
	return item, nil
}
