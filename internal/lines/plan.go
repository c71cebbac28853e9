package lines

import (
	"context"
	"fmt"
	"io"
	"time"

	"lotpaper/internal/allocate"
	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/lineplan"
	"lotpaper/internal/num"
	"lotpaper/internal/progress"
)

// Plan asks for the stones of a line.
type Plan struct {
	desk.Write
	Line        string
	Hold        bool // reserve what the plan uses
	Work        int  // work limit of the solver; 0: the book's setting, else its default
	Limit       time.Duration
	Seed        uint64
	Without     []Without          // lots that may not be used
	Locks       []lineplan.Lock    // lots that must be used
	Quantities  map[string]int64   // by design, instead of the line's
	Prices      map[string]num.Dec // trade prices by design, in the book's currency, instead of the line's
	WithOffers  []string           // parcels that are only on offer, as if they were here
	CountCutter book.Date          // count what a cutter brings by then
	Lost        []string           // lots of which a stone broke: plan again and keep the rest
	Before      []lineplan.Use     // an earlier plan: what should stay where it was, and what to compare with
	Keep        *num.Dec           // what a plan must gain for each stone that it moves; nil: see keepWorth
	// Assume replaces inputs by the paths that cost trees name: a rate as
	// "metal/gold", a design's own number as "design/NAME/metal_g", or "margin",
	// "markup", "retail_markup", "tax", "price/NAME".
	Assume map[string]num.Dec
	// MPS receives the solved model in free MPS form; nil: nobody asks for it. It
	// is a stream because the model of a large line is longer than all else here.
	MPS io.Writer
}

// Without is a lot that may not be used in a design, or in none when Design is
// empty.
type Without struct {
	Lot, Design string
}

// solution is a plan with the task that it solves, in the terms of the planner.
type solution struct {
	*lineplan.Plan
	task      *lineplan.Input
	model     *lineplan.Model
	changes   []lineplan.Change // against an earlier plan
	freely    *lineplan.Plan    // after a loss: the best plan that moves any stone
	keepWorth num.Money         // what moving a stone had to gain
}

// Plan finds the stones for a line: it reads the book once, solves outside any
// transaction, and holds what it used only when the book has not changed.
func (room *Room) Plan(ctx context.Context, r Plan) (answer.LinePlan, error) {
	b, p, err := room.plan(ctx, r)
	if err != nil {
		return answer.LinePlan{}, err
	}
	return b.planAnswer(p), nil
}

// plan reads the line and plans it; it also compares and plans again when the
// request asks for that.
func (room *Room) plan(ctx context.Context, r Plan) (*basis, *solution, error) {
	if l := r.check(); l.Blocks() {
		return nil, nil, l
	}
	b, err := room.read(ctx, r, "")
	if err != nil {
		return nil, nil, err
	}
	var p *solution
	if len(r.Lost) > 0 {
		p, err = b.replan(ctx, r)
	} else {
		p, err = b.solve(ctx, r, b.newTask())
	}
	if err != nil {
		return nil, nil, err
	}
	if err := p.model.Weigh(ctx, p.Plan); err != nil {
		return nil, nil, err
	}
	if r.Before != nil && p.changes == nil {
		p.changes = p.model.Compare(r.Before, p.Plan)
	}
	if r.MPS != nil {
		if err := p.model.MPS(r.MPS); err != nil {
			return nil, nil, err
		}
	}
	if r.Hold {
		if err := room.hold(ctx, r, b, p); err != nil {
			return nil, nil, err
		}
	}
	return b, p, nil
}

// check reports the faults of a request.
func (r Plan) check() (l fault.List) {
	for design, price := range r.Prices {
		if price.Sign() <= 0 {
			l.Add(fault.New(fault.Usage, "price-form", fmt.Sprintf("the price of %s must be more than 0, but is %s",
				design, price), "give an amount in the book's currency, e.g. 95").AtField("price"))
		}
	}
	if r.Keep != nil && r.Keep.Sign() < 0 {
		l.Add(fault.New(fault.Usage, "keep-form", "what moving a stone gains must not be negative",
			"give an amount, e.g. 10").AtField("keep_worth"))
	}
	return l
}

// assumed are all numbers that the request replaces, its prices with them.
func (r Plan) assumed() map[string]num.Dec {
	out := map[string]num.Dec{}
	for path, v := range r.Assume {
		out[path] = v
	}
	for design, v := range r.Prices {
		out["price/"+design] = v
	}
	return out
}

// solve finds the plan of a task.
func (b *basis) solve(ctx context.Context, r Plan, task *lineplan.Input) (*solution, error) {
	model, err := lineplan.Build(task)
	if err != nil {
		return nil, lockFault(err)
	}
	if b.setOpenMargins(model, task.Designs) {
		if model, err = lineplan.Build(task); err != nil {
			return nil, lockFault(err)
		}
	}
	plan, err := model.Solve(ctx, b.settings(ctx, r), b.currency)
	if err != nil {
		return nil, lockFault(err)
	}
	return &solution{Plan: plan, task: task, model: model}, nil
}

// settings limit the solver, which says how near to the best possible it is.
func (b *basis) settings(ctx context.Context, r Plan) allocate.Settings {
	s := allocate.Settings{Work: r.Work, WallLimit: r.Limit, Seed: r.Seed, Progress: func(p allocate.Progress) {
		if p.Bound > 0 {
			progress.Tell(ctx, "at most %.2f %% below the best possible plan", p.GapPercent)
		}
	}}
	if s.Work == 0 {
		s.Work = b.config.PlanWork
	}
	return s
}
