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
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"lotpaper/internal/chart"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/lineplan"
	"lotpaper/internal/lines"
	"lotpaper/internal/num"
	"lotpaper/internal/ui"
)

// planFlags are the flags of every command that plans a line.
type planFlags struct {
	req    lines.LinePlan
	limit  time.Duration
	demand []string
	assume []string
	locks  []string
	cutter string
}

func (p *planFlags) flags(c *cobra.Command) {
	f := c.Flags()
	f.IntVar(&p.req.Work, "work", 0, "work limit of the planner (default: the book's setting)")
	f.DurationVar(&p.limit, "limit", 0, "safety stop in wall time, e.g. 30s; the answer then depends on the machine")
	f.Uint64Var(&p.req.Seed, "seed", 1, "seed of the search")
	f.StringSliceVar(&p.req.Out, "without", nil, "lots that may not be used: LOT, or \"LOT in DESIGN\"")
	f.StringArrayVar(&p.locks, "lock", nil,
		"a stone that must be used: \"LOT in DESIGN\" or \"LOT in DESIGN/POSITION\"")
	f.StringArrayVar(&p.demand, "quantity", nil, "another quantity: DESIGN=N")
	f.StringArrayVar(&p.assume, "assume", nil, "plan and price with another number: KEY=VALUE, such as metal/gold=95 "+
		"or margin=55")
	f.StringVar(&p.cutter, "count-cutter", "", "count what cutters are due to bring by this date, YYYY-MM-DD")
}

func (p *planFlags) request(r *root, line string) (lines.LinePlan, error) {
	w, err := r.write()
	if err != nil {
		return p.req, err
	}
	p.req.Write, p.req.Line, p.req.Limit = w, line, p.limit
	p.req.Demand = map[string]int64{}
	for _, d := range p.demand {
		name, n, found := cutLast(d)
		q, err := strconv.ParseInt(n, 10, 64)
		if !found || err != nil || q < 0 {
			return p.req, fault.New(fault.Usage, "quantity-form", "a quantity is DESIGN=N, but is \""+d+"\"",
				"write it like R1=12").AtField("quantity")
		}
		p.req.Demand[name] = q
	}
	for _, a := range p.assume {
		key, value, found := cutLast(a)
		v, f := num.ParseDec(value)
		if !found || f != nil {
			return p.req, fault.New(fault.Usage, "assume-form", "an assumption is KEY=VALUE with a plain number, but "+
				"is \""+a+"\"", "write it like metal/gold=95; the keys stand in line price --explain").AtField("assume")
		}
		if p.req.Assume == nil {
			p.req.Assume = map[string]num.Dec{}
		}
		p.req.Assume[key] = v
	}
	for _, l := range p.locks {
		lock, ok := lineplan.ParseLock(l)
		if !ok {
			return p.req, fault.New(fault.Usage, "lock-form", "a lock is \"LOT in DESIGN\", but is \""+l+"\"",
				"write it like \"P1-3 in R1\" or \"P1-3 in R1/center\"").AtField("lock")
		}
		p.req.Locks = append(p.req.Locks, lock)
	}
	p.req.CountCutter, err = flagDate("count-cutter", p.cutter)
	return p.req, err
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
	prices  []string
	keep    string
	compare string
	mps     string
	picture string
	out     output
}

func (w *whatIf) flags(c *cobra.Command, req *lines.LinePlan) {
	f := c.Flags()
	f.BoolVar(&req.Hold, "hold", false, "reserve what the plan uses")
	f.StringArrayVar(&w.prices, "price", nil, "another trade price: DESIGN=AMOUNT")
	f.StringSliceVar(&req.WithOffers, "with-offer", nil, "plan as if this parcel on offer were here")
	f.StringSliceVar(&req.Lost, "lost", nil, "a stone of this lot is lost: plan again and keep the rest")
	f.StringVar(&w.keep, "keep-worth", "", "after a loss, what moving a stone must gain (default: a twentieth of the "+
		"mean trade price)")
	f.StringVar(&w.compare, "compare", "", "an earlier plan's JSON: say what moved and why")
	f.StringVar(&w.mps, "mps", "", "write the model for other solvers, in free MPS form")
	f.StringVar(&w.picture, "picture", "", "draw each piece's stones to scale: FILE.svg or FILE.png")
	w.out.flags(c, "")
}

// fill carries the flags into the request.
func (w *whatIf) fill(r *root, req *lines.LinePlan) error {
	for _, p := range w.prices {
		name, amount, found := cutLast(p)
		if !found {
			return fault.New(fault.Usage, "price-form", "a price is DESIGN=AMOUNT, but is \""+p+"\"",
				"write it like R1=95").AtField("price")
		}
		if err := req.Price(name, amount); err != nil {
			return err
		}
	}
	if w.keep != "" {
		d, err := flagDec("keep-worth", w.keep)
		if err != nil {
			return err
		}
		if d.Sign() < 0 {
			return fault.New(fault.Usage, "keep-form", "what moving a stone must gain is not negative",
				"give an amount, e.g. 10").AtField("keep_worth")
		}
		req.Keep = &d
	}
	if w.compare == "" {
		return nil
	}
	var err error
	req.Before, err = r.earlierPlan(w.compare)
	return err
}

// earlierPlan reads the uses of a plan that was written with --json.
func (r *root) earlierPlan(path string) ([]lineplan.Use, error) {
	raw, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fault.New(fault.NotFound, "file-missing", "there is no file "+path,
			"write one with: lotpaper line plan LINE --json > "+filepath.Base(path)).AtField("compare")
	}
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", path, err)
	}
	var doc struct {
		Schema string        `json:"schema"`
		Pieces []pieceReport `json:"pieces"`
	}
	if err := json.Unmarshal(raw, &doc); err != nil || doc.Schema != "lotpaper/line-plan/1" {
		return nil, fault.New(fault.Invalid, "plan-file", path+" is no plan of lotpaper",
			"give the output of: lotpaper line plan LINE --json").AtField("compare")
	}
	uses := []lineplan.Use{}
	for _, p := range doc.Pieces {
		for _, s := range p.Stones {
			at := -1
			for i, u := range uses {
				if u.Design == p.Design && u.Position == s.Position && u.Lot == s.Lot {
					at = i
				}
			}
			if at < 0 {
				at = len(uses)
				uses = append(uses, lineplan.Use{Design: p.Design, Position: s.Position, Lot: s.Lot})
			}
			uses[at].Pieces += s.Pieces
		}
	}
	return uses, nil
}

// planReport is a plan in the words of the contract.
type planReport struct {
	Value      string        `json:"value"`
	Bound      string        `json:"bound"`
	GapPercent float64       `json:"gap_percent"`
	Status     string        `json:"status"`
	Pieces     []pieceReport `json:"pieces"`
	Short      []shortReport `json:"short"`
}

type pieceReport struct {
	Design string        `json:"design"`
	N      int           `json:"n"`
	Earns  string        `json:"earns"`
	Stones []stoneReport `json:"stones"`
}

type stoneReport struct {
	Position string `json:"position"`
	Lot      string `json:"lot"`
	Pieces   int64  `json:"pieces"`
	Carats   string `json:"carats"`
	Cost     string `json:"cost"`
	Mismatch string `json:"mismatch"`
	Note     string `json:"note"`
}

type shortReport struct {
	Design   string        `json:"design"`
	Position string        `json:"position"`
	Missing  int64         `json:"missing"`
	Why      string        `json:"why"`
	Worth    string        `json:"worth"`
	Together []string      `json:"together"`
	Relaxed  []widerReport `json:"relaxed"`
}

type widerReport struct {
	Rule   string `json:"rule"`
	Admits int64  `json:"admits"`
	AtMost string `json:"at_most"`
}

func reportPlan(p *lineplan.Plan) planReport {
	out := planReport{Value: p.Value.String(), Bound: p.Bound.String(), GapPercent: p.Gap, Status: p.Status,
		Pieces: []pieceReport{}, Short: []shortReport{}}
	for _, piece := range p.Pieces {
		pr := pieceReport{Design: piece.Design, N: piece.Number, Earns: piece.Earns.String(), Stones: []stoneReport{}}
		for _, f := range piece.Fills {
			for _, s := range f.Stones {
				pr.Stones = append(pr.Stones, stoneReport{f.Position, s.Lot, s.Pieces, s.Carats.String(),
					s.Cost.String(), f.Mismatch, s.Note})
			}
		}
		out.Pieces = append(out.Pieces, pr)
	}
	for _, s := range p.Short {
		x := shortReport{s.Design, s.Position, s.Missing, s.Why, s.Worth.String(), append([]string{}, s.Together...),
			[]widerReport{}}
		for _, r := range s.Relaxed {
			x.Relaxed = append(x.Relaxed, widerReport{r.Rule, r.Admits, r.AtMost.String()})
		}
		out.Short = append(out.Short, x)
	}
	return out
}

// boundOf names the plans that the bound holds for.
func boundOf(p *lineplan.Plan) string {
	if len(p.Capped) > 0 {
		return "candidate pairs"
	}
	return "all pairs"
}

// planAnswer is a plan with all that the plan command says.
type planAnswer struct {
	planReport
	BoundOf  string         `json:"bound_of"`        // all pairs, or candidate pairs
	BoundAll string         `json:"bound_all_pairs"` // over every pair that the tolerances allow
	Mismatch string         `json:"mismatch"`
	Basis    string         `json:"basis"`
	Unmade   []unmadeReport `json:"unmade"`
	Changes  []changeReport `json:"changes"`
	Notes    []string       `json:"notes"`
}

type unmadeReport struct {
	Design string `json:"design"`
	Pieces int64  `json:"pieces"`
	Why    string `json:"why"`
}

type changeReport struct {
	Design   string `json:"design"`
	Position string `json:"position"`
	Lot      string `json:"lot"`
	Before   int64  `json:"before"`
	After    int64  `json:"after"`
	Why      string `json:"why"`
}

func answerPlan(p *lines.Planned) planAnswer {
	out := planAnswer{planReport: reportPlan(p.Plan), BoundOf: boundOf(p.Plan), BoundAll: p.Plan.BoundAll.String(),
		Mismatch: p.Plan.Mismatch.String(), Basis: p.StoneBasis(), Unmade: []unmadeReport{}, Changes: []changeReport{},
		Notes: p.Notes()}
	for _, u := range p.Plan.Unmade {
		out.Unmade = append(out.Unmade, unmadeReport(u))
	}
	for _, c := range p.Changes {
		out.Changes = append(out.Changes, changeReport(c))
	}
	return out
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
			if err := w.fill(r, &req); err != nil {
				return err
			}
			if ext := strings.ToLower(filepath.Ext(w.picture)); w.picture != "" && ext != ".svg" && ext != ".png" {
				return fault.New(fault.Usage, "picture-kind", "a picture is an SVG or a PNG file, but "+w.picture+
					" is neither", "end its name in .svg or .png").AtField("picture")
			}
			done, err := a.Lines.LinePlan(ctx, req)
			if err != nil {
				return err
			}
			r.faults(done.Warnings)
			if err := r.writePlan(done, args[0], w); err != nil {
				return err
			}
			switch {
			case w.out.path == "-" || w.mps == "-" || w.picture == "-":
				return nil
			case r.Streams.JSON:
				return r.Streams.Document("line-plan", answerPlan(done))
			}
			r.showPlan(done)
			if req.Hold {
				r.dryNote()
			}
			return nil
		})
	})
	p.flags(c)
	w.flags(c, &p.req)
	return r.writes(c)
}

// writePlan writes the files that were asked for.
func (r *root) writePlan(p *lines.Planned, line string, w whatIf) error {
	if w.mps != "" {
		err := r.Streams.WriteFile(w.mps, w.out.force, false, p.MPS)
		if err != nil {
			return err
		}
		r.wrote(w.mps)
	}
	if w.out.path == "" && w.picture == "" {
		return nil
	}
	doc := p.Document(line)
	if w.out.path != "" {
		wb, err := doc.Workbook()
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
	drawing := doc.Picture()
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

func (r *root) wrote(path string) {
	if path != "-" {
		r.Streams.Notef("wrote %s\n", path)
	}
}

// showPlan prints a plan.
func (r *root) showPlan(done *lines.Planned) {
	p := done.Plan
	of, all := "", ""
	if len(p.Capped) > 0 {
		of, all = " of the candidate pairs", "; with all pairs no plan is worth more than "+p.BoundAll.Words()
	}
	r.Streams.Printf("value %s, no plan%s is worth more than %s (gap %.2f %%, %s)%s\n", p.Value.Words(), of,
		p.Bound.Words(), p.Gap, p.Status, all)
	t := (&ui.Table{Header: []string{"piece", "position", "lot", "pieces", "carats", "cost", "earns", "note"}}).
		Numbers(3, 4, 5, 6)
	for _, piece := range p.Pieces {
		earns := piece.Earns.String()
		for _, f := range piece.Fills {
			match := f.Mismatch
			for _, s := range f.Stones {
				note := strings.TrimPrefix(strings.TrimSuffix(s.Note+"; "+match, "; "), "; ")
				t.Add(fmt.Sprintf("%s %d", piece.Design, piece.Number), f.Position, s.Lot, strconv.FormatInt(s.Pieces,
					10), s.Carats.String(), s.Cost.String(), earns, note)
				earns, match = "", ""
			}
		}
	}
	r.Streams.Table(t)
	for _, s := range p.Short {
		r.Streams.Printf("short: %s\n", ui.Wrap(s.Design+" "+s.Position+" "+s.Why, 96, "    "))
		r.Streams.Printf("    %s\n", ui.Wrap(worthWords(s), 92, "    "))
		for i, w := range s.Relaxed {
			if i == 3 {
				r.Streams.Printf("    ... and %d more; see all with --json\n", len(s.Relaxed)-i)
				break
			}
			more := ""
			if w.Admits > 0 {
				more = fmt.Sprintf("%d more would fit, ", w.Admits)
			}
			r.Streams.Printf("    with %s: %sworth at most %s\n", w.Rule, more, w.AtMost.Words())
		}
	}
	for _, u := range p.Unmade {
		r.Streams.Printf("not made: %s\n", ui.Wrap(fmt.Sprintf("%d of %s: %s", u.Pieces, u.Design, u.Why), 96, "    "))
	}
	for _, c := range done.Changes {
		r.Streams.Printf("moved: %s\n", ui.Wrap(fmt.Sprintf("%s %s: %s, %d before, %d now: %s", c.Design, c.Position,
			c.Lot, c.Before, c.After, c.Why), 96, "    "))
	}
	r.Streams.Notef("Stones count at %s.\n", ui.Wrap(done.StoneBasis(), 96, ""))
	for _, n := range done.Notes() {
		r.Streams.Notef("%s\n", ui.Wrap(n, 96, ""))
	}
}

// worthWords says what one further stone may cost.
func worthWords(s lineplan.Short) string {
	others := strings.Join(s.Together, " and ")
	switch {
	case s.Worth.Sign() <= 0 && others != "":
		return "one further stone is worth nothing before " + others + " is filled too"
	case s.Worth.Sign() <= 0:
		return "a further piece would not pay: one further stone is worth nothing"
	case others != "":
		return fmt.Sprintf("%s is short too: if its stones cost nothing, one further stone here may cost at most %s",
			others, s.Worth.Words())
	}
	return "one further stone may cost at most " + s.Worth.Words()
}
