package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/chart"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/lineplan"
	"lotpaper/internal/lines"
	"lotpaper/internal/num"
)

// planFlags are the flags of every command that plans a line.
type planFlags struct {
	req     lines.Plan
	demand  []string
	assume  []string
	without []string
	locks   []string
	cutter  string
}

func (p *planFlags) flags(c *cobra.Command) {
	f := c.Flags()
	f.IntVar(&p.req.Work, "work", 0, "work limit of the planner (default: the book's setting)")
	f.DurationVar(&p.req.Limit, "limit", 0,
		"safety stop in wall time, e.g. 30s; the answer then depends on the machine")
	f.Uint64Var(&p.req.Seed, "seed", 1, "seed of the search")
	f.StringSliceVar(&p.without, "without", nil, "lots that may not be used: LOT, or \"LOT in DESIGN\"")
	f.StringArrayVar(&p.locks, "lock", nil,
		"a stone that must be used: \"LOT in DESIGN\" or \"LOT in DESIGN/POSITION\"")
	f.StringArrayVar(&p.demand, "quantity", nil, "another quantity: DESIGN=N")
	f.StringArrayVar(&p.assume, "assume", nil, "plan and price with another number: KEY=VALUE, such as metal/gold=95 "+
		"or margin=55")
	f.StringVar(&p.cutter, "count-cutter", "", "count what cutters are due to bring by this date, YYYY-MM-DD")
}

// request is the flags as a request for a line.
func (p *planFlags) request(r *root, line string) (lines.Plan, error) {
	req := p.req
	var err error
	if req.Write, err = r.write(); err != nil {
		return req, err
	}
	req.Line, req.Quantities = line, map[string]int64{}
	for _, d := range p.demand {
		name, n, found := cutLast(d)
		q, err := strconv.ParseInt(n, 10, 64)
		if !found || err != nil || q < 0 {
			return req, fault.New(fault.Usage, "quantity-form", "a quantity is DESIGN=N, but is \""+d+"\"",
				"write it like R1=12").AtField("quantity")
		}
		req.Quantities[name] = q
	}
	if len(p.assume) > 0 {
		req.Assume = map[string]num.Dec{}
	}
	for _, a := range p.assume {
		key, value, found := cutLast(a)
		v, f := num.ParseDec(value)
		if !found || f != nil {
			return req, fault.New(fault.Usage, "assume-form", "an assumption is KEY=VALUE with a plain number, but "+
				"is \""+a+"\"", "write it like metal/gold=95; the keys stand in line price --explain").AtField("assume")
		}
		req.Assume[key] = v
	}
	for _, text := range p.without {
		lot, design, _ := strings.Cut(text, " in ")
		req.Without = append(req.Without, lines.Without{Lot: strings.TrimSpace(lot), Design: strings.TrimSpace(design)})
	}
	for _, l := range p.locks {
		lock, ok := lineplan.ParseLock(l)
		if !ok {
			return req, fault.New(fault.Usage, "lock-form", "a lock is \"LOT in DESIGN\", but is \""+l+"\"",
				"write it like \"P1-3 in R1\" or \"P1-3 in R1/center\"").AtField("lock")
		}
		req.Locks = append(req.Locks, lock)
	}
	req.CountCutter, err = flagDate("count-cutter", p.cutter)
	return req, err
}

// cutLast splits NAME=VALUE at the last equals sign: names may hold one.
func cutLast(s string) (name, value string, found bool) {
	i := strings.LastIndex(s, "=")
	if i < 1 {
		return s, "", false
	}
	return strings.TrimSpace(s[:i]), strings.TrimSpace(s[i+1:]), true
}

// whatIf are the flags of the plan alone: what if, and what to write.
type whatIf struct {
	hold       bool
	withOffers []string
	lost       []string
	prices     []string
	keep       string
	compare    string
	mps        string
	picture    string
	out        output
}

func (w *whatIf) flags(c *cobra.Command) {
	f := c.Flags()
	f.BoolVar(&w.hold, "hold", false, "reserve what the plan uses")
	f.StringArrayVar(&w.prices, "price", nil, "another trade price: DESIGN=AMOUNT")
	f.StringSliceVar(&w.withOffers, "with-offer", nil, "plan as if this parcel on offer were here")
	f.StringSliceVar(&w.lost, "lost", nil, "a stone of this lot is lost: plan again and keep the rest")
	f.StringVar(&w.keep, "keep-worth", "", "after a loss, what moving a stone must gain (default: a twentieth of the "+
		"mean trade price)")
	f.StringVar(&w.compare, "compare", "", "an earlier plan's JSON: say what moved and why")
	f.StringVar(&w.mps, "mps", "", "write the model for other solvers, in free MPS form")
	f.StringVar(&w.picture, "picture", "", "draw each piece's stones to scale: FILE.svg or FILE.png")
	w.out.flags(c, "")
}

// fill carries the flags into the request.
func (w *whatIf) fill(req *lines.Plan) error {
	req.Hold, req.WithOffers, req.Lost = w.hold, w.withOffers, w.lost
	for _, text := range w.prices {
		design, amount, found := cutLast(text)
		d, f := num.ParseDec(amount)
		if !found || f != nil {
			return fault.New(fault.Usage, "price-form", "a price is DESIGN=AMOUNT in the book's currency, but is \""+
				text+"\"", "write it like R1=95").AtField("price")
		}
		if req.Prices == nil {
			req.Prices = map[string]num.Dec{}
		}
		req.Prices[design] = d
	}
	if w.keep != "" {
		d, err := flagDec("keep-worth", w.keep)
		if err != nil {
			return err
		}
		req.Keep = &d
	}
	if ext := strings.ToLower(filepath.Ext(w.picture)); w.picture != "" && ext != ".svg" && ext != ".png" {
		return fault.New(fault.Usage, "picture-kind", "a picture is an SVG or a PNG file, but "+w.picture+
			" is neither", "end its name in .svg or .png").AtField("picture")
	}
	if w.compare == "" {
		return nil
	}
	var err error
	req.Before, err = earlierPlan(w.compare)
	return err
}

// earlierPlan reads the uses of a plan that was written with --json.
func earlierPlan(path string) ([]lineplan.Use, error) {
	raw, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fault.New(fault.NotFound, "file-missing", "there is no file "+path,
			"write one with: lotpaper line plan LINE --json > "+filepath.Base(path)).AtField("compare")
	}
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", path, err)
	}
	var doc struct {
		Schema string `json:"schema"`
		answer.LinePlan
	}
	if err := json.Unmarshal(raw, &doc); err != nil || doc.Schema != "lotpaper/line-plan/1" {
		return nil, fault.New(fault.Invalid, "plan-file", path+" is no plan of lotpaper",
			"give the output of: lotpaper line plan LINE --json").AtField("compare")
	}
	uses := []lineplan.Use{}
	for _, p := range doc.Pieces {
		for _, s := range p.Stones {
			at := slices.IndexFunc(uses, func(u lineplan.Use) bool {
				return u.Design == p.Design && u.Position == s.Position && u.Lot == s.Lot
			})
			if at < 0 {
				at = len(uses)
				uses = append(uses, lineplan.Use{Design: p.Design, Position: s.Position, Lot: s.Lot})
			}
			uses[at].Pieces += s.Pieces
		}
	}
	return uses, nil
}

func (r *root) linePlan() *cobra.Command {
	var p planFlags
	var w whatIf
	c := verb("plan LINE", "Find the stones for every design of a line", `  lotpaper line plan Sea
  lotpaper line plan Sea --hold
  lotpaper line plan Sea -o plan.xlsx --picture plan.svg
  lotpaper line plan Sea --lock "P1-3 in R1" --without P1-7
  lotpaper line plan Sea --quantity R1=20 --price R1=95 --with-offer P9
  lotpaper line plan Sea --lost P1-3 --keep-worth 10
  lotpaper line plan Sea --compare earlier.json

The gap that is printed is proven: no plan is worth more than the bound. Where
very many stones fit, the bound is for the candidate pairs (each stone with its
cheapest few), and the notes tell the bound over all pairs.
Nothing is written to the book without --hold.
`, cobra.ExactArgs(1), func(ctx context.Context, args []string) error {
		return r.with(ctx, func(a *house.House) error {
			req, err := p.request(r, args[0])
			if err != nil {
				return err
			}
			if err := w.fill(&req); err != nil {
				return err
			}
			done, err := r.planned(ctx, a, req, w)
			if err != nil {
				return err
			}
			r.faults(done.Warnings)
			if err := r.writePlan(done, w); err != nil {
				return err
			}
			switch {
			case w.out.path == "-" || w.mps == "-" || w.picture == "-":
				return nil
			case req.Hold:
				return r.wroteBook("line-plan", &done)
			}
			return r.show("line-plan", &done)
		})
	})
	p.flags(c)
	w.flags(c)
	return r.writes(c)
}

// planned plans the line, and writes the model to the file that was asked for.
func (r *root) planned(ctx context.Context, a *house.House, req lines.Plan, w whatIf) (done answer.LinePlan,
	err error) {
	plan := func(to io.Writer) error {
		req.MPS = to
		done, err = a.Lines.Plan(ctx, req)
		return err
	}
	if w.mps == "" {
		return done, plan(nil)
	}
	if err := r.Streams.WriteFile(w.mps, w.out.force, false, plan); err != nil {
		return done, err
	}
	r.wrote(w.mps)
	return done, nil
}

// writePlan writes the workbook and the picture that were asked for.
func (r *root) writePlan(p answer.LinePlan, w whatIf) error {
	if w.out.path != "" {
		wb, err := p.Workbook()
		if err != nil {
			return err
		}
		if err := r.writeWorkbook(wb, w.out); err != nil {
			return err
		}
		r.wrote(w.out.path)
	}
	if w.picture == "" {
		return nil
	}
	drawing := p.Figure()
	raw, err := chart.SVG(drawing)
	if strings.EqualFold(filepath.Ext(w.picture), ".png") {
		raw, err = chart.PNG(drawing, pictureDPI(drawing))
	}
	if err != nil {
		return err
	}
	err = r.Streams.WriteFile(w.picture, w.out.force, true, func(to io.Writer) error {
		_, err := to.Write(raw)
		return err
	})
	if err == nil {
		r.wrote(w.picture)
	}
	return err
}

// pictureDPI is 200 dots per inch, fewer where a long line would make more
// than 16,000 rows of them.
func pictureDPI(f chart.Figure) int {
	_, high := f.Size()
	return max(50, min(200, int(16000/(high/25.4))))
}
