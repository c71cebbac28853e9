package cli

import (
	"context"

	"github.com/spf13/cobra"

	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/lines"
)

func (r *root) lineCommands() *cobra.Command {
	return r.group("line", "Lines: import, show, plan, price, risk, quote, propose, release", r.lineImport, r.lineShow,
		r.linePlan, r.linePrice, r.lineRisk, r.lineQuote, r.linePropose, r.holdRelease)
}

func (r *root) lineImport() *cobra.Command {
	var name, designs, positions, encoding string
	c := verb("import [FILE]", "Read the designs of a line and their positions",
		`  lotpaper line import line.xlsx --line Sea
  lotpaper line import --designs designs.csv --positions positions.csv --line Sea

See lotpaper template line for the columns.
`, cobra.MaximumNArgs(1), func(ctx context.Context, args []string) error {
			if len(args) == 1 {
				designs = args[0]
			}
			if designs == "" || name == "" {
				return fault.New(fault.Usage, "line-file", "a line has a name and a file",
					"give the file, and the name with --line")
			}
			return r.with(ctx, func(a *house.House) error {
				w, err := r.write()
				if err != nil {
					return err
				}
				in, err := r.input(designs, encoding)
				if err != nil {
					return err
				}
				defer in.Close()
				var second *desk.Input
				if positions != "" {
					p, err := r.input(positions, encoding)
					if err != nil {
						return err
					}
					defer p.Close()
					second = &p.Input
				}
				done, err := a.Lines.Import(ctx, lines.Import{Write: w, Line: name, Designs: in.Input,
					Positions: second})
				if err != nil {
					return err
				}
				return r.imported("line-import", done)
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
	var out output
	c := verb("show [LINE]", "Show a line's designs and positions, or list the lines", "", cobra.MaximumNArgs(1),
		r.reading(func(ctx context.Context, a *house.House, args []string) error {
			req := lines.Show{}
			if len(args) == 1 {
				req.Line = args[0]
			}
			shown, err := a.Lines.Show(ctx, req)
			if err != nil {
				return err
			}
			return r.list("line-show", &shown, out)
		}))
	out.ofList(c)
	return c
}
