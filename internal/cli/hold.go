package cli

import (
	"context"

	"github.com/spf13/cobra"

	"lotpaper/internal/house"
	"lotpaper/internal/stockroom"
)

func (r *root) holdCommands() *cobra.Command {
	return r.group("hold", "Stones kept for a customer or a line: add, list, release", r.holdAdd, r.holdList,
		r.holdRelease)
}

func (r *root) holdAdd() *cobra.Command {
	var req stockroom.HoldAdd
	var until string
	c := verb("add LOT[:PIECES]", "Keep stones for a customer or a line",
		`  lotpaper hold add P1-3:2 --for "customer/A Customer" --until 2026-04-30
  lotpaper hold add P1-3 --for Sea/Ring/centre
  lotpaper hold add P1-4 --for "A Customer"      a party of the book

Held stones move only --for those whom they are held for. A hold ends after its
last day by itself. Without pieces, all that are free are held.
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			lots, err := moving(args)
			if err != nil {
				return err
			}
			req.Lot, req.Pieces = lots[0].Lot, lots[0].Pieces
			if req.Until, err = flagDate("until", until); err != nil {
				return err
			}
			done, err := a.Stockroom.HoldAdd(ctx, req)
			if err != nil {
				return err
			}
			return r.wroteBook("hold", &done)
		}))
	c.Flags().StringVar(&req.For, "for", "", "a party or customer/NAME, or LINE[/DESIGN[/POSITION]] (required)")
	c.Flags().StringVar(&until, "until", "", "the last day (default: until it is released)")
	c.Flags().StringVar(&req.Note, "note", "", "a note")
	return r.writes(c)
}

func (r *root) holdList() *cobra.Command {
	var req stockroom.HoldList
	var out output
	c := verb("list", "List what is held for whom", "", cobra.NoArgs,
		r.reading(func(ctx context.Context, a *house.House, _ []string) error {
			holds, err := a.Stockroom.HoldList(ctx, req)
			if err != nil {
				return err
			}
			return r.list("hold", &holds, out)
		}))
	c.Flags().BoolVar(&req.All, "all", false, "also what has expired or was released")
	out.ofList(c)
	return c
}

// holdRelease stands under line too.
func (r *root) holdRelease() *cobra.Command {
	var req stockroom.HoldRelease
	c := verb("release LINE|LOT", "Free what is held for a line, or what is held of a lot",
		`  lotpaper line release Sea
  lotpaper line release P1-3 --for "customer/A Customer"
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			req.Of = args[0]
			done, err := a.Stockroom.HoldRelease(ctx, req)
			if err != nil {
				return err
			}
			return r.wroteBook("hold", &done)
		}))
	c.Flags().StringVar(&req.For, "for", "", "only what is held for this line, design or customer")
	return r.writes(c)
}
