package cli

import (
	"context"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/chart"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/lines"
	"lotpaper/internal/num"
)

func (r *root) lineRisk() *cobra.Command {
	var p planFlags
	var req lines.Risk
	var within, histogram, tornado string
	var ranges []string
	var force bool
	rows := 15
	c := verb("risk LINE", "Say what may come out differently from what a line is planned to earn",
		`  lotpaper line risk Sea
  lotpaper line risk Sea --runs 20000 --seed 7 --within 5
  lotpaper line risk Sea --chart profit.svg --tornado moves.png
  lotpaper line risk Sea --only metal,breakage
  lotpaper line risk Sea --range metal/gold=70..110 --range labour/bench=35..48

Simulates the plan with its luck: stones that are not what they are sold as, by
the lots' random tests; breakage in setting and returns, by estimates and the
book's own record; metal prices and exchange rates, by the settings
volatility_metal, volatility_fx and horizon_months; sales, by sell_through. Each
figure comes with its standard error. The same seed gives the same answer on any
machine. Then every input is moved over its own range, one at a time.
`, cobra.ExactArgs(1), r.reading(func(ctx context.Context, a *house.House, args []string) error {
			var err error
			if req.Plan, err = p.request(r, args[0]); err != nil {
				return err
			}
			if within != "" {
				own, err := bookCurrency(ctx, a)
				if err != nil {
					return err
				}
				m, f := num.ParseMoney(within, own)
				if f != nil {
					return asUsage(f.AtField("within"))
				}
				req.Within = m
			}
			if req.Ranges, err = parseRanges(ranges); err != nil {
				return err
			}
			line, err := a.Lines.Risk(ctx, req)
			if err != nil {
				return err
			}
			r.faults(line.Warnings)
			for _, picture := range []struct {
				path   string
				figure chart.Figure
			}{{histogram, line.Histogram()}, {tornado, line.Tornado()}} {
				if picture.path == "" {
					continue
				}
				if err := r.writeFigure(picture.figure, picture.path, force); err != nil {
					return err
				}
				r.wrote(picture.path)
			}
			line.Rows = rows
			return r.show("line-risk", &line)
		}))
	p.flags(c)
	f := c.Flags()
	f.IntVar(&req.Runs, "runs", 0, "runs to begin with (default 10000)")
	f.IntVar(&req.Most, "most", 0, "never more runs than this (default 160000)")
	f.StringVar(&within, "within", "", "raise the runs until the mean's standard error is at most this amount")
	f.StringSliceVar(&req.Only, "only", nil, "count only these doubts: "+strings.Join(req.Doubts(), ", ")+", or none")
	f.StringArrayVar(&ranges, "range", nil, "your own range of an input: KEY=LOW..HIGH")
	f.IntVar(&rows, "rows", rows, "rows of the table of inputs; --json lists all")
	f.StringVar(&histogram, "chart", "", "picture of the profit, .svg or .png")
	f.StringVar(&tornado, "tornado", "", "picture of what moves it, .svg or .png")
	f.BoolVar(&force, "force", false, "write over an existing file")
	return r.writes(c)
}

// parseRanges reads KEY=LOW..HIGH.
func parseRanges(texts []string) (map[string]lines.Range, error) {
	out := map[string]lines.Range{}
	for _, text := range texts {
		key, ends, found := cutLast(text)
		low, high, dots := strings.Cut(ends, "..")
		if !found || !dots {
			return nil, fault.New(fault.Usage, "range-form", "a range is KEY=LOW..HIGH, but is \""+text+"\"",
				"write it like metal/gold=70..110").AtField("range")
		}
		a, err := flagDec("range", low)
		if err != nil {
			return nil, err
		}
		b, err := flagDec("range", high)
		if err != nil {
			return nil, err
		}
		out[key] = lines.Range{Low: a, High: b}
	}
	return out, nil
}
