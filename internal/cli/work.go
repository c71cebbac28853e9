package cli

import (
	"context"

	"github.com/spf13/cobra"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/stockroom"
)

func (r *root) workCommands() *cobra.Command {
	return r.group("work", "Stones out with a setter, a goldsmith or a laboratory: out, back", r.workOut, r.workBack)
}

// setterCommands are the same as those of work.
func (r *root) setterCommands() *cobra.Command {
	return r.group("setter", "Stones at the setter: out, back (as work)", r.workOut, r.workBack)
}

func (r *root) workOut() *cobra.Command {
	var req stockroom.WorkOut
	var due string
	c := verb("out LOT[:PIECES:CARATS] ...", "Give stones out on a work ticket",
		`  lotpaper work out P1-3:4:6.250 --to "A Setter" --due 2026-05-31
`, cobra.MinimumNArgs(1),
		r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			var err error
			if req.Lots, err = moving(args); err != nil {
				return err
			}
			if req.Due, err = flagDate("due", due); err != nil {
				return err
			}
			done, err := a.Stockroom.WorkOut(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("work", &done)
		}))
	c.Flags().StringVar(&req.Party, "to", "", "the setter, goldsmith or laboratory (required)")
	c.Flags().StringVar(&due, "due", "", "when they are due back")
	c.Flags().StringVar((*string)(&req.From), "from", "", "the office that they leave (default: where they lie)")
	c.Flags().StringVar(&req.Note, "note", "", "a note")
	return r.moves(c, &req.Movement)
}

func (r *root) workBack() *cobra.Command {
	var req stockroom.WorkBack
	var spot string
	c := verb("back LOT[:PIECES:CARATS]", "Book what came of a lot that was out for work: set, broken, brought back",
		`  lotpaper work back P1-3 --ticket W4 --set 4 --piece R1-01
  lotpaper work back P1-3:2:1.310 --from "A Setter" --broken 1

A ticket need not be named while only one of that setter holds the lot.
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			lots, err := moving(args)
			if err != nil {
				return err
			}
			req.Moving = lots[0]
			if spot != "" {
				var f *fault.Fault
				if req.Spot, f = book.ParseLineSpot(spot); f != nil {
					return f.AtField("for")
				}
			}
			done, err := a.Stockroom.WorkBack(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("work", &done)
		}))
	f := c.Flags()
	f.StringVar(&req.Ticket, "ticket", "", "the work ticket, e.g. W4")
	f.StringVar(&req.Party, "from", "", "who had them, when no ticket is named")
	f.Int64Var(&req.Set, "set", 0, "stones set")
	f.StringVar(&req.Piece, "piece", "", "the piece they were set into")
	f.Int64Var(&req.Broken, "broken", 0, "stones that broke")
	f.StringVar(&spot, "for", "", "LINE/DESIGN/POSITION that they were set for: what the loss rates learn from")
	f.StringVar(&req.Accept, "accept", "", "why a difference of weight is accepted")
	return r.writes(c)
}
