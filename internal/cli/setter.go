package cli

import (
	"context"

	"github.com/spf13/cobra"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/stockroom"
)

func (r *root) setterCommands() *cobra.Command {
	return r.group("setter", "Stones at the setter: out, back", r.setterOut, r.setterBack)
}

func (r *root) setterOut() *cobra.Command {
	var req stockroom.SetterOut
	c := verb("out LOT[:PIECES:CARATS] ...", "Send stones to a setter", "", cobra.MinimumNArgs(1),
		r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			var err error
			if req.Lots, err = moving(args); err != nil {
				return err
			}
			done, err := a.Stockroom.SetterOut(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("moved", &done)
		}))
	c.Flags().StringVar(&req.Setter, "to", "", "the setter (required)")
	return r.writes(c)
}

func (r *root) setterBack() *cobra.Command {
	var req stockroom.SetterBack
	var spot string
	c := verb("back LOT[:PIECES:CARATS]", "Book what a setter did: stones set, broken, brought back",
		`  lotpaper setter back P1-3 --from "A Setter" --set 4 --piece R1-01
  lotpaper setter back P1-3:2:1.310 --from "A Setter" --broken 1
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			lots, err := moving(args)
			if err != nil {
				return err
			}
			req.Moving = lots[0]
			if spot != "" {
				var f *fault.Fault
				if req.For, f = book.ParseLineSpot(spot); f != nil {
					return f.AtField("for")
				}
			}
			done, err := a.Stockroom.SetterBack(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("moved", &done)
		}))
	f := c.Flags()
	f.StringVar(&req.Setter, "from", "", "the setter (required)")
	f.Int64Var(&req.Set, "set", 0, "stones set")
	f.StringVar(&req.Piece, "piece", "", "the piece they were set into")
	f.Int64Var(&req.Broken, "broken", 0, "stones that broke")
	f.StringVar(&spot, "for", "", "LINE/DESIGN/POSITION that they were set for: what the loss rates learn from")
	f.StringVar(&req.Accept, "accept", "", "why a difference of weight is accepted")
	return r.writes(c)
}
