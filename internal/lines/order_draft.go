package lines

import (
	"context"
	"fmt"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/cutting"
	"lotpaper/internal/desk"
	"lotpaper/internal/durability"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/lineplan"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// OrderDraft asks for an order of what a plan is short of.
type OrderDraft struct {
	Plan
	Cutter string // empty: cutters bid for it
	Due    book.Date
	Claims bool // the cutter bears the breakage of what is supplied
}

// enough is the chance with which the ordered stones, spares included, should
// be enough.
const enough = 0.95

// OrderDraft plans a line and drafts a cutter order for its shortages: one
// line for each position, with the spare stones that breakage in setting asks
// for and the most that one stone may cost.
func (room *Room) OrderDraft(ctx context.Context, r OrderDraft) (answer.Orders, error) {
	out := answer.Orders{Orders: []answer.Order{}, Cutters: []answer.CutterSkill{}}
	if f := book.CheckName("a cutter", r.Cutter); f != nil && r.Cutter != "" {
		return out, f.AtField("cutter")
	}
	b, p, err := room.plan(ctx, r.Plan)
	if err != nil {
		return out, err
	}
	if len(p.Short) == 0 {
		return out, fault.New(fault.Refused, "order-nothing", "the plan is short of nothing", "see the plan").
			Do("line", "plan", r.Line)
	}
	err = room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		if err := b.readFor(p).Unchanged(ctx, tx); err != nil {
			return err
		}
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
		o := book.Order{
			Number: fmt.Sprintf("O%d", n), Cutter: cutter, Line: b.line.Name, State: "draft", On: s.On, Due: r.Due,
			Breakage: cutting.Terms(r.Claims), Claims: r.Claims,
		}
		for _, short := range p.Short {
			o.Lines = append(o.Lines, b.orderLine(short))
		}
		out.Orders = []answer.Order{answer.Drafted(o)}
		e := s.Entry(ledger.Record, "drafted the cutter order "+o.Number)
		e.Records = []book.Record{o}
		return tx.Post(ctx, &e)
	})
	return out, err
}

// orderLine words one shortage as an order line.
func (b *basis) orderLine(s lineplan.Short) book.OrderLine {
	var d lineplan.Design
	for _, have := range b.task.Designs {
		if have.Name == s.Design {
			d = have
		}
	}
	pos, _ := d.PositionNamed(s.Position)
	middle := func(low, high num.Millimetre) num.Millimetre {
		if low == 0 || high == 0 {
			return max(low, high)
		}
		return (low + high) / 2
	}
	l := book.OrderLine{
		Design: s.Design, Position: s.Position, Species: pos.Species, Treatment: pos.Treatment,
		WantedStone: book.WantedStone{Shape: pos.Shape,
			Length: middle(pos.LengthMin, pos.LengthMax), Width: middle(pos.WidthMin, pos.WidthMax),
			Count: s.Missing, Match: pos.Match},
		Color: pos.Color, Clarity: pos.Clarity, PriceMax: s.Worth, Why: s.Why,
	}
	if l.Width == 0 {
		l.Width = l.Length
	}
	m := materialFor(pos)
	cutting.FillOrder(&l, m)
	if half := (pos.LengthMax - pos.LengthMin) / 2; half > 0 && half < l.Tolerance {
		l.Tolerance = half
	}
	if m == nil {
		return l
	}
	level := durability.Care
	if j := b.judge.At(book.Lot{Code: "order " + s.Design + " " + s.Position, Species: m.Name, Shape: pos.Shape,
		Length: book.Size{Min: l.Length, Max: l.Length}}, d.Design, pos); j.Err == nil {
		level = j.All.BreakLevel
	}
	if rate, f := b.judge.Rate(durability.LossSetting, level); f == nil {
		if spare, _, ok := durability.Enough(rate.Belief, int(s.Missing), enough); ok {
			l.Spare = int64(spare)
		}
	}
	return l
}

// materialFor is the material whose constants stand for a position: the first
// species that it accepts.
func materialFor(pos book.Position) *facts.Material {
	for _, name := range pos.Species {
		if named, f := facts.Resolve(name); f == nil && len(named.Materials) > 0 {
			return named.Materials[0]
		}
	}
	return nil
}
