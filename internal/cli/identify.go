package cli

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/bench"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/ui"
)

func (r *root) identifyCommand() *cobra.Command {
	var f identifyFlags
	c := verb("identify [LOT]", "Say what a stone or a lot is, how sure that is, and which test comes next",
		`  lotpaper identify P1-3
  lotpaper identify --ri-low 1.660 --ri-high 1.676 --sg 3.18 --color pink
  lotpaper identify --file cases.csv
  lotpaper identify P1-3 --chart p1-3.svg
  lotpaper identify P1-3 --explain           every material left or excluded, and why

Readings prove the species, never "natural" or "untreated". A bench
identification is no laboratory report.
`, cobra.MaximumNArgs(1), func(ctx context.Context, args []string) error {
			if f.file != "" && len(args) > 0 {
				return fault.New(fault.Usage, "identify-both", "a lot and a file of cases are two questions",
					"ask about one")
			}
			if bad := f.together(args); bad != nil {
				return bad
			}
			switch {
			case f.file != "":
				return r.identifyFile(ctx, f)
			case len(args) == 0 && f.given():
				return r.identifyStone(ctx, f)
			}
			return r.identifyLots(ctx, f, args)
		})
	f.register(c)
	return c
}

// identifyLots answers for one lot, or lists all that the filter selects.
func (r *root) identifyLots(ctx context.Context, f identifyFlags, args []string) error {
	req, err := f.lots(args)
	if err != nil {
		return err
	}
	return r.with(ctx, func(a *house.House) error {
		found, err := a.Bench.Identify(ctx, req)
		if err != nil {
			return err
		}
		found.Explain = f.explain
		if req.Chart {
			if err := r.writeChart(found.Lots[0].Chart, found.Lots[0].Lot, f); err != nil {
				return err
			}
		}
		if req.Lot == "" || f.out.path != "" {
			return r.list("identify", &found, f.out)
		}
		return r.show("identify", &found)
	})
}

// identifyStone answers for the stone whose readings the flags hold.
func (r *root) identifyStone(ctx context.Context, f identifyFlags) error {
	req, err := f.stones()
	if err != nil {
		return ofFlags(err)
	}
	found, err := bench.NoBook().IdentifyStones(ctx, req)
	if err != nil {
		return ofFlags(err)
	}
	found.Explain = f.explain
	if req.Chart {
		if err := r.writeChart(found.Chart, "", f); err != nil {
			return err
		}
	}
	return r.show("identify", &found)
}

// writeChart writes the picture of a lot, or of a stone in no book.
func (r *root) writeChart(c *answer.IdentityChart, lot string, f identifyFlags) error {
	if c != nil {
		return r.writeFigure(c.Figure(), f.chart, f.out.force)
	}
	bad := fault.New(fault.Refused, "chart-nothing", "neither a refractive index nor a specific gravity was read",
		"add a reading first")
	if lot != "" {
		bad = bad.AtRef(lot).Do("reading", "add", lot)
	}
	return bad
}

// identifyFile judges a file of stones: one as it is decided, more as a table,
// all in full as JSON or when they are to be explained.
func (r *root) identifyFile(ctx context.Context, f identifyFlags) error {
	in, err := r.input(f.file, f.encoding)
	if err != nil {
		return err
	}
	defer in.Close()
	file, err := bench.NoBook().IdentifyFile(ctx, bench.IdentifyFile{File: in.Input, Next: !f.noNext,
		Excluded: f.excluded, Brief: !(r.Streams.JSON || f.explain) || f.out.path != ""})
	if err != nil {
		return err
	}
	r.faults(file.Warnings)
	done := 0
	step := func() { done++; r.doing(fmt.Sprintf("%d of %d stones", done, file.Cases)) }
	switch {
	case f.out.path != "":
		var all answer.Cases
		if err := file.Each(ctx, func(cases []answer.Case) error {
			for _, c := range cases {
				step()
				all.Cases = append(all.Cases, c)
			}
			return nil
		}); err != nil {
			return err
		}
		return r.list("identify", &all, f.out)
	case r.Streams.JSON:
		return r.Streams.List("identify", "cases", func(add func(ui.Item) error) error {
			return file.Each(ctx, func(cases []answer.Case) error {
				items, err := ui.NewItems(cases)
				for i := 0; err == nil && i < len(items); i++ {
					step()
					err = add(items[i])
				}
				return err
			})
		})
	case file.Cases == 1 || f.explain:
		return file.Each(ctx, func(cases []answer.Case) error {
			r.screen((&answer.Cases{Explain: f.explain, Cases: cases}).Screen())
			return nil
		})
	}
	return r.Streams.Rows((&answer.Cases{}).Table().Header, func(add func(...string)) error {
		return file.Each(ctx, func(cases []answer.Case) error {
			for _, row := range (&answer.Cases{Cases: cases}).Table().Rows {
				step()
				add(row...)
			}
			return nil
		})
	})
}
