package app

import (
	"context"
	"fmt"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/cutting"
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
	LinePlan
	Cutter string
	Due    book.Date
}

// asCut is how a stone of an order is finished, unless agreed otherwise.
const asCut = "scratch-free at 10x, girdle even, no polish marks"

// breakageTerms stand on every order until the parties agree on others.
const breakageTerms = "the cutter bears breakage of stones that the cutter supplies; the dealer bears breakage of stones that the dealer sends, unless agreed otherwise in writing"

// sure is the chance with which spare stones should be enough.
const sure = 0.95

// OrderDraft plans a line and drafts a cutter order for its shortages: one
// line for each position, with the spare stones that breakage in setting asks
// for and the most that one stone may cost.
func (a *App) OrderDraft(ctx context.Context, r OrderDraft) (book.Order, error) {
	p, err := a.LinePlan(ctx, r.LinePlan)
	if err != nil {
		return book.Order{}, err
	}
	return a.draftOrder(ctx, r, p)
}

func (a *App) draftOrder(ctx context.Context, r OrderDraft, p *Planned) (book.Order, error) {
	var out book.Order
	if f := book.CheckName("a cutter", r.Cutter); f != nil {
		return out, f.AtFlag("cutter")
	}
	if len(p.Plan.Short) == 0 {
		return out, fault.New(fault.Refused, "order-nothing", "the plan is short of nothing", "see: lotpaper line plan "+r.Line)
	}
	err := a.update(ctx, r.Write, func(tx store.Tx, s stamp) error {
		head, err := tx.Head(ctx)
		if err != nil {
			return err
		}
		if head != p.Head {
			return store.ErrConflict
		}
		n, err := tx.Next(ctx, string(book.KindOrder))
		if err != nil {
			return err
		}
		out = book.Order{
			Number: fmt.Sprintf("O%d", n), Cutter: r.Cutter, Line: r.Line, State: "draft", On: s.on, Due: r.Due,
			Breakage: breakageTerms,
		}
		for _, short := range p.Plan.Short {
			out.Lines = append(out.Lines, p.orderLine(short))
		}
		e := s.entry(ledger.Record, "drafted the cutter order "+out.Number)
		e.Records = []book.Record{out}
		return tx.Post(ctx, &e)
	})
	return out, err
}

// orderLine words one shortage as an order line.
func (p *Planned) orderLine(s lineplan.Short) book.OrderLine {
	var d lineplan.Design
	for _, have := range p.Designs {
		if have.Name == s.Design {
			d = have
		}
	}
	pos, _ := positionOf(d.Design, s.Position)
	middle := func(low, high num.Millimetre) num.Millimetre {
		if low == 0 || high == 0 {
			return max(low, high)
		}
		return (low + high) / 2
	}
	l := book.OrderLine{
		Design: s.Design, Position: s.Position, Species: pos.Species, Treatment: pos.Treatment, Shape: pos.Shape,
		Length: middle(pos.LengthMin, pos.LengthMax), Width: middle(pos.WidthMin, pos.WidthMax), Tolerance: num.Millimetre(10),
		DepthLow: percentOf(65), DepthHigh: percentOf(70), Count: s.Missing, Match: orThe(pos.Match, "none"), Color: pos.Color,
		Finish: asCut, PriceMax: s.Worth, Why: s.Why,
	}
	if l.Width == 0 {
		l.Width = l.Length
	}
	if half := (pos.LengthMax - pos.LengthMin) / 2; half > 0 && half < l.Tolerance {
		l.Tolerance = half
	}
	m := p.materialFor(pos)
	if m == nil {
		return l
	}
	weighOrder(&l, m)
	level := durability.Care
	if j := p.judge.at(book.Lot{Code: "order " + s.Design + " " + s.Position, Species: m.Name, Shape: pos.Shape, Length: book.Size{Min: l.Length, Max: l.Length}}, d.Design, pos); j.err == nil {
		level = j.all.Verdict().BreakLevel
	}
	if rate, f := p.judge.rate(durability.LossSetting, level); f == nil {
		if spare, _, ok := durability.Enough(rate.Belief, int(s.Missing), sure); ok {
			l.Spare = int64(spare)
		}
	}
	warnCutter(&l, m)
	return l
}

// warnCutter fills in the risk and the orientation that a material asks for.
func warnCutter(l *book.OrderLine, m *facts.Material) {
	if m.Cleavage == "perfect" || m.Cleavage == "good" {
		l.Risk = fmt.Sprintf("%s has %s cleavage in %d direction(s): a specialist cutter, table 5 to 10 degrees off the cleavage", m.Name, m.Cleavage, m.Directions)
		l.Orientation = "table 5 to 10 degrees off the cleavage"
	}
	if m.Pleochroism == "strong" || m.Pleochroism == "moderate" {
		l.Orientation = strings.TrimPrefix(l.Orientation+"; best colour of the "+m.Pleochroism+" pleochroism to the table", "; ")
	}
}

func percentOf(n int64) num.Percent { return num.Percent{Dec: num.Int(n)} }

// materialFor is the material whose constants stand for a position: the first
// species that it accepts.
func (p *Planned) materialFor(pos book.Position) *facts.Material {
	for _, name := range pos.Species {
		if named, f := facts.Resolve(name); f == nil && len(named.Materials) > 0 {
			return named.Materials[0]
		}
	}
	return nil
}

// weighOrder fills in the weight that the ordered size should have.
func weighOrder(l *book.OrderLine, m *facts.Material) {
	shape, f := cutting.ParseShape(l.Shape)
	if f != nil || !m.SG.Known {
		return
	}
	depth := num.MillimetreFromFloat(l.Width.Float()*0.675, num.HalfUp)
	e, faults := cutting.Weigh(cutting.Measured{Shape: shape, Length: l.Length, Width: l.Width, Depth: depth, SG: num.FromFloat((m.SG.Min+m.SG.Max)/2, 3, num.HalfUp)})
	if faults.Blocks() {
		return
	}
	l.Weight, l.WeightLow, l.WeightHigh = e.Carats, e.Low, e.High
}

// Orders are orders with what the book believes of their cutters.
type Orders struct {
	Orders  []book.Order  `json:"orders"`
	Cutters []CutterSkill `json:"cutters"`
}

// OrderShow returns one order, or all of them when number is empty.
func (a *App) OrderShow(ctx context.Context, number string) (Orders, error) {
	out := Orders{Orders: []book.Order{}}
	err := a.view(ctx, func(tx store.ReadTx) error {
		all, err := store.All[book.Order](ctx, tx, "")
		if err != nil {
			return err
		}
		out.Orders = append(out.Orders, all...)
		if number != "" {
			o, err := store.Get[book.Order](ctx, tx, number)
			if err != nil {
				return notFound(err, "order", number, "list them with: lotpaper order list")
			}
			out.Orders = []book.Order{o}
		}
		config, err := loadConfig(ctx, tx)
		if err != nil {
			return err
		}
		out.Cutters, err = skillsOf(ctx, tx, config, all, out.Orders...)
		return err
	})
	return out, err
}
