package cli

import (
	"context"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/stockroom"
)

func (r *root) pieceCommands() *cobra.Command {
	return r.group("piece", "Finished pieces: add, list, show, unset, repair", r.pieceAdd, r.pieceList, r.pieceShow,
		r.pieceUnset, r.pieceRepair)
}

func (r *root) pieceAdd() *cobra.Command {
	var req stockroom.PieceAdd
	var p price
	var metal, making, weight, since string
	c := verb("add [LOT[:PIECES:CARATS] ...]", "Take a finished piece into stock: bought, or there before the book",
		`  lotpaper piece add --is ring --metal "gold 750" --from "A Maker" --price 450
  lotpaper piece add --is ring --customer "A Client" --note "to be resized; three diamonds in it"
  lotpaper piece add P1-3 --is pendant --metal-cost 120 --making-cost 80 --since 2025-11-02

Lots are stones of the safe that are in it; they keep their own cost. Stones that
came in a bought piece and are no lots are part of its price. A piece that the
setter made comes in by work back.
`, cobra.ArbitraryArgs, r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			var err error
			if req.Lots, err = moving(args); err != nil {
				return err
			}
			if req.Price, err = r.paid(ctx, a, "price", p.amount, p.currency, p.rate, p.per); err != nil {
				return err
			}
			if req.Metal, err = r.paid(ctx, a, "metal-cost", metal, p.currency, p.rate, p.per); err != nil {
				return err
			}
			if req.Making, err = r.paid(ctx, a, "making-cost", making, p.currency, p.rate, p.per); err != nil {
				return err
			}
			if req.Jewel.Weight, err = flagGram("metal-g", weight); err != nil {
				return err
			}
			if req.Jewel.Since, err = flagDate("since", since); err != nil {
				return err
			}
			done, err := a.Stockroom.PieceAdd(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("piece", &done)
		}))
	f := c.Flags()
	r.jewelFlags(c, &req.Jewel, &weight)
	f.StringVar(&req.Code, "code", "", "its code (default: the next number, J7)")
	f.StringVar(&req.Jewel.Design, "design", "", "LINE/DESIGN that it was made by")
	f.StringVar(&since, "since", "", "when it was made or bought (default: the business date)")
	f.StringVar(&req.Vendor, "from", "", "the vendor of a bought piece")
	f.StringVar(&req.Customer, "customer", "", "whose own piece comes in to be worked on; it goes home by memo return")
	p.flags(c)
	f.StringVar(&metal, "metal-cost", "", "its metal, net of tax")
	f.StringVar(&making, "making-cost", "", "its making, net of tax")
	f.StringVar(&req.Note, "note", "", "a note")
	comes(c, &req.Office, whereItLies)
	return r.moves(c, &req.Movement)
}

func (r *root) pieceList() *cobra.Command {
	var req stockroom.PieceList
	var out output
	c := verb("list", "List the finished pieces: stones, cost, where they are", "", cobra.NoArgs,
		r.reading(func(ctx context.Context, a *house.House, _ []string) error {
			pieces, err := a.Stockroom.PieceList(ctx, req)
			if err != nil {
				return err
			}
			return r.list("piece-list", &pieces, out)
		}))
	c.Flags().BoolVar(&req.All, "all", false, "also those that are sold or gone")
	out.ofList(c)
	return c
}

func (r *root) pieceShow() *cobra.Command {
	return verb("show PIECE", "Show one finished piece: stones, metal, making, what they cost, where it is", "",
		cobra.ExactArgs(1), r.reading(func(ctx context.Context, a *house.House, args []string) error {
			piece, err := a.Stockroom.PieceShow(ctx, stockroom.PieceShow{Piece: args[0]})
			if err != nil {
				return err
			}
			return r.show("piece-show", &piece)
		}))
}

func (r *root) pieceUnset() *cobra.Command {
	var req stockroom.PieceUnset
	var broken, damaged []string
	var p price
	var making string
	c := verb("unset PIECE LOT[:PIECES:CARATS] ...", "Take stones out of a finished piece, counted and weighed again",
		`  lotpaper piece unset J7 P1-3:1:1.018 P1-9:2:0.309
  lotpaper piece unset J7 P1-3:1:1.002 --damaged "P1-3=chipped at the girdle" --broken P1-9:1

The piece keeps its metal and making. Damaged stones become a lot of their own,
which no plan uses; write down what they lost with lot damage.
`, cobra.MinimumNArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			req.Piece = args[0]
			var err error
			if req.Lines, err = unsetLines(args[1:], broken, damaged); err != nil {
				return err
			}
			if req.Making, err = r.paid(ctx, a, "making-cost", making, p.currency, p.rate, p.per); err != nil {
				return err
			}
			done, err := a.Stockroom.PieceUnset(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("piece", &done)
		}))
	f := c.Flags()
	f.StringArrayVar(&broken, "broken", nil, "LOT:PIECES[:CARATS] that broke; may be repeated")
	f.StringArrayVar(&damaged, "damaged", nil, "LOT=REASON: what came out of that lot is damaged; may be repeated")
	f.StringVar(&making, "making-cost", "", "what taking them out cost, net of tax")
	f.StringVar(&p.currency, "currency", "", "of the cost (default: the book's)")
	f.StringVar(&p.rate, "rate", "", "book units per unit of that currency")
	f.Int64Var(&p.per, "per", 1, "the rate is per 1, 100 or 1000 units")
	comes(c, &req.Office, whereItStood)
	return r.moves(c, &req.Movement)
}

// unsetLines are what became of each lot that was taken out.
func unsetLines(args, broken, damaged []string) ([]stockroom.UnsetLine, error) {
	out, err := moving(args)
	if err != nil {
		return nil, err
	}
	var lines []stockroom.UnsetLine
	of := func(lot string) *stockroom.UnsetLine {
		return lineOf(&lines, lot, func(l *stockroom.UnsetLine) *stockroom.Moving { return &l.Moving })
	}
	for _, m := range out {
		of(m.Lot).Moving = m
	}
	lost, err := moving(broken)
	if err != nil {
		return nil, err
	}
	for _, m := range lost {
		if err := checkBroken(m); err != nil {
			return nil, err
		}
		of(m.Lot).Broken = book.Weighed{Pieces: m.Pieces, Carats: m.Carats}
	}
	for _, text := range damaged {
		lot, why, found := strings.Cut(text, "=")
		if !found || lot == "" || why == "" {
			return nil, fault.New(fault.Usage, "damaged-form", "a damage is LOT=REASON, but is \""+text+"\"",
				"write it like P1-3=chipped").AtField("damaged")
		}
		of(lot).Damaged = why
	}
	return lines, nil
}

func (r *root) pieceRepair() *cobra.Command {
	var req stockroom.WorkOut
	var due string
	var out output
	c := verb("repair PIECE", "Give a finished piece out to be repaired, resized or polished",
		`  lotpaper piece repair J7 --to "A Goldsmith" --note "resize from 54 to 56" --due 2026-05-31
  lotpaper work back J7 --ticket W5 --making-cost 25

Its ticket tells what must never touch the stones in it.
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			req.Lots, req.Work = []stockroom.Moving{{Lot: args[0]}}, book.WorkRepair
			var err error
			if req.Due, err = flagDate("due", due); err != nil {
				return err
			}
			var done answer.WorkMoved
			err = r.issuing(out, func() (answer.DocumentFile, error) {
				done, err = a.Stockroom.WorkOut(ctx, req)
				return done.Document, err
			})
			if err != nil {
				return err
			}
			return r.moved("work", &done)
		}))
	f := c.Flags()
	f.StringVar(&req.Party, "to", "", "the goldsmith (required)")
	f.StringVar(&req.Note, "note", "", "what is to be done (required)")
	f.StringVar(&due, "due", "", "when it is due back")
	f.StringVar(&req.Breakage, "breakage", "dealer", "who bears it: dealer or party")
	out.flags(c, "")
	return r.moves(c, &req.Movement)
}
