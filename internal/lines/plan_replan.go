package lines

import (
	"context"
	"errors"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/lineplan"
	"lotpaper/internal/num"
)

// lockFault is the fault that a lock cannot be met; any other error stays.
func lockFault(err error) error {
	var lock *lineplan.LockError
	if !errors.As(err, &lock) {
		return err
	}
	return fault.New(fault.Refused, "lock-impossible", lock.Error(), "lock another stone, or plan without this lock").
		AtField("lock").AtRef(lock.Lock.Lot)
}

// replan plans again after stones were lost, and leaves the others where an
// earlier plan has them: the one that is given, else the one that the line
// holds, else the plan as it would have been.
func (b *basis) replan(ctx context.Context, r Plan) (*solution, error) {
	task := b.newTask()
	whole, err := b.solve(ctx, r, task) // as if nothing was lost
	if err != nil {
		return nil, err
	}
	before := r.Before
	if before == nil {
		before = b.heldUses()
	}
	if len(before) == 0 {
		before = whole.Uses()
	}
	for _, lost := range r.Lost {
		for i := range task.Stones {
			s := &task.Stones[i]
			if strings.EqualFold(s.Lot, strings.TrimSpace(lost)) {
				s.Free = max(0, s.Free-1)
				s.Away = append(s.Away, lineplan.Away{Pieces: 1, Why: "lost"})
			}
		}
	}
	task.Keep, task.KeepWorth = before, b.keepWorth()
	if r.Keep != nil {
		task.KeepWorth = num.MoneyFromDec(*r.Keep, b.currency, num.HalfUp)
	}
	out := &solution{task: task, keepWorth: task.KeepWorth}
	out.model, out.Plan, out.freely, err = lineplan.Replan(ctx, task, b.settings(ctx, r), b.currency)
	if err != nil {
		return nil, lockFault(err)
	}
	out.changes = out.model.Compare(before, out.Plan)
	return out, nil
}

// keepWorth is what moving a stone must gain when nothing is said: a twentieth
// of the mean trade price of the line's designs.
func (b *basis) keepWorth() num.Money {
	sum := num.Zero(b.currency)
	for _, d := range b.task.Designs {
		sum = sum.Add(d.PriceTrade)
	}
	return sum.Each(int64(20*max(1, len(b.task.Designs))), num.HalfUp)
}

// heldUses are the holds of the line as uses of an earlier plan.
func (b *basis) heldUses() []lineplan.Use {
	var out []lineplan.Use
	for _, h := range b.holds {
		for _, d := range b.task.Designs {
			for i, pos := range d.Positions {
				name := book.PositionName(pos, i)
				if strings.EqualFold(h.For, b.line.Name+"/"+d.Name+"/"+name) {
					out = append(out, lineplan.Use{Design: d.Name, Position: name, Lot: h.Lot, Pieces: h.Pieces})
				}
			}
		}
	}
	return out
}
