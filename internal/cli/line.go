package cli

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"lotpaper/internal/app"
	"lotpaper/internal/fault"
	"lotpaper/internal/lineplan"
	"lotpaper/internal/num"
	"lotpaper/internal/ui"
)

func (r *root) lineCommands() *cobra.Command {
	return group("line", "Lines: import, show, plan, price, risk, propose", r.lineImport(), r.lineShow(), r.linePlan(), r.linePrice(), r.lineRisk(), r.linePropose())
}

func (r *root) lineImport() *cobra.Command {
	var name, designs, positions, encoding string
	c := verb("import [FILE]", "Read the designs of a line and their positions", `  lotpaper line import line.xlsx --line Sea
  lotpaper line import --designs designs.csv --positions positions.csv --line Sea

See lotpaper template line for the columns.
`, cobra.MaximumNArgs(1), func(ctx context.Context, args []string) error {
		if len(args) == 1 {
			designs = args[0]
		}
		if designs == "" || name == "" {
			return fault.New(fault.Usage, "line-file", "a line has a name and a file", "give the file, and the name with --line")
		}
		return r.with(ctx, func(a *app.App) error {
			w, err := r.write()
			if err != nil {
				return err
			}
			in, err := r.input(designs, encoding)
			if err != nil {
				return err
			}
			defer in.Close()
			var second *app.Input
			if positions != "" {
				p, err := r.input(positions, encoding)
				if err != nil {
					return err
				}
				defer p.Close()
				second = &p.Input
			}
			done, err := a.LineImport(ctx, w, name, in.Input, second)
			if err != nil {
				return err
			}
			return r.imported("line-import", "designs", done)
		})
	})
	f := c.Flags()
	f.StringVar(&name, "line", "", "the line's name (required)")
	f.StringVar(&designs, "designs", "", "CSV of the designs")
	f.StringVar(&positions, "positions", "", "CSV of their positions")
	f.StringVar(&encoding, "encoding", "", "encoding of a CSV that is not UTF-8: windows-1252")
	return r.writes(c)
}

func (r *root) lineShow() *cobra.Command {
	return verb("show [LINE]", "Show a line's designs and positions, or list the lines", "", cobra.MaximumNArgs(1), func(ctx context.Context, args []string) error {
		return r.with(ctx, func(a *app.App) error {
			name := ""
			if len(args) == 1 {
				name = args[0]
			}
			lines, err := a.LineShow(ctx, name)
			if err != nil {
				return err
			}
			if r.Streams.JSON {
				return r.Streams.Document("line-show", struct {
					Lines []app.LineShow `json:"lines"`
				}{lines})
			}
			t := (&ui.Table{Header: []string{"line", "design", "piece", "metal", "quantity", "trade", "position", "setting", "wants", "count", "match", "accept"}}).Numbers(4, 5, 9)
			for _, l := range lines {
				for _, d := range l.Designs {
					for _, p := range d.Positions {
						t.Add(l.Name, d.Name, d.Piece, d.Metal+" "+d.Fineness.String(), strconv.FormatInt(d.Quantity, 10), d.PriceTrade.String(), p.Name, p.Setting, lineplan.Wanted(p), strconv.FormatInt(p.Count, 10), p.Match, p.Accept)
					}
				}
			}
			r.Streams.Table(t)
			return nil
		})
	})
}

// planFlags are the flags of every command that plans a line.
type planFlags struct {
	req    app.LinePlan
	limit  time.Duration
	demand []string
	assume []string
}

func (p *planFlags) flags(c *cobra.Command) {
	f := c.Flags()
	f.IntVar(&p.req.Work, "work", 0, "work limit of the planner (default: the book's setting)")
	f.DurationVar(&p.limit, "limit", 0, "safety stop in wall time, e.g. 30s; the answer then depends on the machine")
	f.Uint64Var(&p.req.Seed, "seed", 1, "seed of the search")
	f.StringSliceVar(&p.req.Out, "without", nil, "lots that may not be used: LOT, or \"LOT in DESIGN\"")
	f.StringSliceVar(&p.demand, "quantity", nil, "another quantity: DESIGN=N")
	f.StringSliceVar(&p.assume, "assume", nil, "what if: an input of the cost tree with another value, e.g. metal/gold=95, labour/bench=42, design/R1/metal_g=3.8, margin=55")
}

func (p *planFlags) request(r *root, line string) (app.LinePlan, error) {
	w, err := r.write()
	if err != nil {
		return p.req, err
	}
	p.req.Write, p.req.Line, p.req.Limit = w, line, p.limit
	p.req.Demand = map[string]int64{}
	for _, d := range p.demand {
		name, n, found := strings.Cut(d, "=")
		q, err := strconv.ParseInt(n, 10, 64)
		if !found || err != nil || q < 0 {
			return p.req, fault.New(fault.Usage, "quantity-form", "a quantity is DESIGN=N, but is \""+d+"\"", "write it like R1=12").AtFlag("quantity")
		}
		p.req.Demand[name] = q
	}
	p.req.Assume = map[string]num.Dec{}
	for _, a := range p.assume {
		key, value, found := strings.Cut(a, "=")
		if !found {
			return p.req, fault.New(fault.Usage, "assume-form", "an assumption is KEY=VALUE, but is \""+a+"\"", "write it like metal/gold=95").AtFlag("assume")
		}
		d, err := flagDec("assume", value)
		if err != nil {
			return p.req, err
		}
		p.req.Assume[key] = d
	}
	return p.req, nil
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
	Design   string `json:"design"`
	Position string `json:"position"`
	Missing  int64  `json:"missing"`
	Why      string `json:"why"`
	Worth    string `json:"worth"`
}

func reportPlan(p *lineplan.Plan) planReport {
	out := planReport{Value: p.Value.String(), Bound: p.Bound.String(), GapPercent: p.Gap, Status: p.Status, Pieces: []pieceReport{}, Short: []shortReport{}}
	for _, piece := range p.Pieces {
		pr := pieceReport{Design: piece.Design, N: piece.Number, Earns: piece.Earns.String(), Stones: []stoneReport{}}
		for _, f := range piece.Fills {
			for _, s := range f.Stones {
				pr.Stones = append(pr.Stones, stoneReport{f.Position, s.Lot, s.Pieces, s.Carats.String(), s.Cost.String(), f.Mismatch, s.Note})
			}
		}
		out.Pieces = append(out.Pieces, pr)
	}
	for _, s := range p.Short {
		out.Short = append(out.Short, shortReport{s.Design, s.Position, s.Missing, s.Why, s.Worth.String()})
	}
	return out
}

func (r *root) linePlan() *cobra.Command {
	var p planFlags
	c := verb("plan LINE", "Find the stones for every design of a line", `  lotpaper line plan Sea
  lotpaper line plan Sea --hold
  lotpaper line plan Sea --quantity R1=20 --without P1-3

The gap that is printed is proven: no plan is worth more than the bound.
`, cobra.ExactArgs(1), func(ctx context.Context, args []string) error {
		return r.with(ctx, func(a *app.App) error {
			req, err := p.request(r, args[0])
			if err != nil {
				return err
			}
			done, err := a.LinePlan(ctx, req)
			if err != nil {
				return err
			}
			r.faults(done.Warnings)
			if r.Streams.JSON {
				return r.Streams.Document("line-plan", reportPlan(done.Plan))
			}
			r.showPlan(done.Plan)
			if req.Hold {
				r.dryNote()
			}
			return nil
		})
	})
	p.flags(c)
	c.Flags().BoolVar(&p.req.Hold, "hold", false, "reserve what the plan uses")
	return r.writes(c)
}

func (r *root) showPlan(p *lineplan.Plan) {
	r.Streams.Printf("value %s, no plan is worth more than %s (gap %.2f %%, %s)\n", p.Value.Words(), p.Bound.Words(), p.Gap, p.Status)
	t := (&ui.Table{Header: []string{"piece", "position", "lot", "pieces", "carats", "cost", "earns", "note"}}).Numbers(3, 4, 5, 6)
	for _, piece := range p.Pieces {
		earns := piece.Earns.String()
		for _, f := range piece.Fills {
			for _, s := range f.Stones {
				note := s.Note
				if f.Mismatch != "" {
					note = strings.TrimPrefix(note+"; "+f.Mismatch, "; ")
				}
				t.Add(fmt.Sprintf("%s %d", piece.Design, piece.Number), f.Position, s.Lot, strconv.FormatInt(s.Pieces, 10), s.Carats.String(), s.Cost.String(), earns, note)
				earns = ""
			}
		}
	}
	r.Streams.Table(t)
	for _, s := range p.Short {
		r.Streams.Printf("short: %s %s %s\n", s.Design, s.Position, ui.Wrap(s.Why, 96, "    "))
		if s.Worth.Sign() > 0 {
			r.Streams.Printf("    one further stone may cost at most %s\n", s.Worth.Words())
		}
	}
}
