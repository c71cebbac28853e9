package cli

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
)

func (r *root) lotCommands() *cobra.Command {
	return r.group("lot", "Lots: list, show, match, sort, split, merge, adjust, damage, write down, amend, opinion, "+
		"history",
		r.lotList, r.lotShow, r.lotMatch, r.lotSort, r.lotSplit, r.lotMerge, r.lotAdjust, r.lotDamage, r.lotWriteDown,
		r.lotAmend, r.lotOpinion,
		r.lotHistory)
}

// stockFilter adds the flags that select lots.
func stockFilter(c *cobra.Command, f *desk.StockFilter) {
	c.Flags().StringVar(&f.Parcel, "parcel", "", "only lots of this parcel")
	c.Flags().StringVar(&f.Species, "species", "", "only this species or variety")
	c.Flags().StringVar(&f.Shape, "shape", "", "only this shape")
	c.Flags().StringVar((*string)(&f.Place), "place", "", "only what lies there: safe, paper/M3, piece/J7 ...")
	c.Flags().StringVar(&f.Party, "party", "", "only what this party has now")
	c.Flags().StringVar(&f.Owner, "owner", "", "own, or others for lots of others")
	c.Flags().BoolVar(&f.All, "all", false, "also lots that have nothing left")
	c.Flags().Func("kind", "stones, pieces or any (default: stones)", func(text string) error {
		kinds := map[string]book.LotKind{"stones": "", "pieces": book.PieceLot, "any": desk.AnyLot}
		kind, known := kinds[text]
		if !known {
			return fmt.Errorf("a kind of lots is stones, pieces or any, but is %q", text)
		}
		f.Kind = kind
		return nil
	})
}

func (r *root) lotList() *cobra.Command {
	var req stockroom.StockList
	var find findFlags
	var then asOf
	var out output
	c := verb("list", "List lots and what they hold", `  lotpaper lot list --parcel P1 --species topaz
  lotpaper lot list --species sapphire --shape oval --length 6.8-7.2 --width 4.8-5.2 --ask -900 --basis per_piece
  lotpaper lot list --age 365- --place safe
`+findHelp, cobra.NoArgs, r.reading(func(ctx context.Context, a *house.House, _ []string) error {
		var err error
		if req.Filter.Find, err = find.read(); err != nil {
			return err
		}
		if req.Filter.AsOf, err = then.read(); err != nil {
			return err
		}
		return r.listStock(ctx, a, "lot-list", req, out)
	}))
	stockFilter(c, &req.Filter)
	then.flags(c, "list the lots")
	find.flags(c)
	out.ofList(c)
	return c
}

// listStock lists lots; a file of them is written while they are read.
func (r *root) listStock(ctx context.Context, a *house.House, schema string, req stockroom.StockList,
	out output) error {
	if out.path != "" {
		return r.writeList(out, func(w io.Writer, csv bool) error {
			list, err := a.Stockroom.StockFile(ctx, stockroom.StockFile{StockList: req, CSV: csv, To: w})
			if csv && err == nil {
				r.heading(list.AsOf)
			}
			r.screen(list.Remarks())
			return err
		})
	}
	list, err := a.Stockroom.StockList(ctx, req)
	if err != nil {
		return err
	}
	return r.show(schema, &list)
}

func (r *root) lotShow() *cobra.Command {
	return verb("show LOT", "Show one lot: what it claims, what it has, where", "", cobra.ExactArgs(1),
		r.reading(func(ctx context.Context, a *house.House, args []string) error {
			lot, err := a.Stockroom.LotShow(ctx, stockroom.LotShow{Lot: args[0]})
			if err != nil {
				return err
			}
			return r.show("lot-show", &lot)
		}))
}

func (r *root) lotHistory() *cobra.Command {
	var out output
	c := verb("history LOT", "Show every entry of a lot, how its claim changed, and the trail of its stones",
		"  lotpaper lot history P1-3\n  lotpaper lot history P1-3 -o trail.svg      the trail as a picture\n",
		cobra.ExactArgs(1),
		r.reading(func(ctx context.Context, a *house.House, args []string) error {
			h, err := a.Stockroom.LotHistory(ctx, stockroom.LotHistory{Lot: args[0]})
			if err != nil {
				return err
			}
			if ext := strings.ToLower(filepath.Ext(out.path)); ext == ".svg" || ext == ".png" {
				if err := r.writeFigure(h.Figure(), out.path, out.force); err != nil {
					return err
				}
				r.wrote(out.path)
				return nil
			}
			return r.list("lot-history", &h, out)
		}))
	out.ofList(c)
	return c
}

func (r *root) lotDamage() *cobra.Command {
	var req stockroom.LotDamage
	c := verb("damage LOT", "Mark stones, or a finished piece, as damaged, or as sound again",
		`  lotpaper lot damage P1-3.2 --reason "chipped at the girdle"
  lotpaper lot write-down P1-3.2 --to 40 --reason "chipped at the girdle"
  lotpaper lot damage J7 --reason "repaired" --mended

No plan uses damaged stones. Of a lot of several stones split the damaged ones
off first.
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			req.Lot = args[0]
			m, err := a.Stockroom.LotDamage(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("moved", &m)
		}))
	c.Flags().BoolVar(&req.Mended, "mended", false, "it is sound again")
	return r.writes(c)
}

func (r *root) lotSort() *cobra.Command {
	var req stockroom.LotSort
	var parts []string
	var by, file, encoding string
	c := verb("sort LOT", "Divide a lot into new ones and share its cost",
		`  lotpaper lot sort P1-3 --by value --part A:12:18.40:900 --part B:30:22.15:400
  lotpaper lot sort P1-3 --by value --file sorted.csv
  lotpaper lot sort P1-3 --by identity

A part is LABEL:PIECES:CARATS[:VALUE[:FURTHER]]; VALUE is what the whole part
would bring, FURTHER what it still costs before it can be sold (for --by nrv).
The file has the columns of a parcel file; its price is the value. Pieces must
add up; the scale's difference goes to loss/weighing within the tolerance.
--by identity takes each tested stone that is not what the lot claims into a
lot of its own species; stones that exclude the claim and may be several others
go into a lot whose species is not established, which no plan uses. A lot of one
stone is renamed, without a tag or a weighing.
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			req.Lot = args[0]
			req.Key = book.ShareKey(by)
			if by == "identity" {
				m, err := a.Stockroom.LotSortByIdentity(ctx, stockroom.LotSortByIdentity{Movement: req.Movement,
					Lot:   req.Lot,
					Place: req.Place})
				if err != nil {
					return err
				}
				return r.moved("moved", &m)
			}
			info, err := a.Desk.ConfigShow(ctx, desk.ConfigShow{})
			if err != nil {
				return err
			}
			currency := num.Currency(info.Currency)
			for _, text := range parts {
				p, err := sortPart(text, currency)
				if err != nil {
					return err
				}
				req.Parts = append(req.Parts, p)
			}
			if file != "" {
				in, err := r.input(file, encoding)
				if err != nil {
					return err
				}
				defer in.Close()
				req.File = &in.Input
			}
			m, err := a.Stockroom.LotSort(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("moved", &m)
		}))
	c.Flags().StringArrayVar(&parts, "part", nil, "LABEL:PIECES:CARATS[:VALUE[:FURTHER]], once for each part")
	c.Flags().StringVar(&by, "by", "carats", "share cost by value, nrv, carats or pieces; or identity")
	c.Flags().StringVar(&file, "file", "", "CSV or XLSX with the parts")
	c.Flags().StringVar(&encoding, "encoding", "", "encoding of the file when it is not UTF-8: windows-1252")
	c.Flags().StringVar((*string)(&req.Place), "place", "safe", "where the pieces lie")
	return r.moves(c, &req.Movement)
}

func sortPart(text string, currency num.Currency) (stockroom.SortPart, error) {
	bad := func(f *fault.Fault) error { return asUsage(f.AtField("part " + text)) }
	fields := strings.Split(text, ":")
	if len(fields) < 3 || len(fields) > 5 {
		return stockroom.SortPart{}, bad(fault.New(fault.Usage, "part-form",
			"a part is LABEL:PIECES:CARATS[:VALUE[:FURTHER]], but is \""+text+"\"", "write it like A:12:18.40:900"))
	}
	p := stockroom.SortPart{Label: fields[0]}
	n, err := strconv.ParseInt(fields[1], 10, 64)
	if err != nil || n <= 0 {
		return p, bad(fault.New(fault.Usage, "pieces-bad", "pieces are a whole number above 0, but are \""+fields[1]+
			"\"", "count the pieces"))
	}
	p.Pieces = n
	var f *fault.Fault
	if p.Carats, f = num.ParseCarat(fields[2]); f != nil {
		return p, bad(f)
	}
	for i, to := range []*num.Money{&p.Value, &p.Further} {
		if len(fields) > 3+i {
			if *to, f = num.ParseMoney(fields[3+i], currency); f != nil {
				return p, bad(f)
			}
		}
	}
	return p, nil
}

func (r *root) lotSplit() *cobra.Command {
	var req stockroom.LotSplit
	var carats string
	c := verb("split LOT", "Take pieces out of a lot into a lot of their own",
		`  lotpaper lot split P1-3 --pieces 1 --carats 2.140 --stone S07
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			var err error
			req.Lot = args[0]
			if req.Carats, err = flagCarat("carats", carats); err != nil {
				return err
			}
			m, err := a.Stockroom.LotSplit(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("moved", &m)
		}))
	c.Flags().Int64Var(&req.Pieces, "pieces", 1, "how many pieces leave")
	c.Flags().StringVar(&carats, "carats", "", "what they weigh together")
	c.Flags().StringVar(&req.Label, "label", "", "code on the new paper")
	c.Flags().StringVar(&req.Stone, "stone", "", "tag of the one stone, as its readings name it")
	c.Flags().StringVar((*string)(&req.Place), "place", "safe", "where the pieces lie")
	return r.moves(c, &req.Movement)
}

func (r *root) lotMerge() *cobra.Command {
	var req stockroom.LotMerge
	c := verb("merge LOT LOT ...", "Put lots of the same claim together into a new one", "", cobra.MinimumNArgs(2),
		r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			req.Lots = args
			m, err := a.Stockroom.LotMerge(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("moved", &m)
		}))
	c.Flags().StringVar(&req.Label, "label", "", "code on the new paper")
	c.Flags().StringVar((*string)(&req.Place), "place", "safe", "where the pieces lie")
	return r.moves(c, &req.Movement)
}

func (r *root) lotAdjust() *cobra.Command {
	var req stockroom.LotAdjust
	var carats string
	c := verb("adjust LOT", "Book a loss, a find or a scale difference",
		`  lotpaper lot adjust P1-3 --pieces -1 --carats -0.420 --to loss/breakage --reason "broke in the tumbler"
  lotpaper lot adjust P1-3 --carats 0.012 --to loss/weighing --reason "new balance"

The cost of what broke stays on what is left; what was lost, stolen or
miscounted (loss/count) is an expense, unless --cost stays says otherwise. The
last piece goes with all its cost. A find brings none.
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			var err error
			req.Lot = args[0]
			if req.Carats, err = flagCarat("carats", carats); err != nil {
				return err
			}
			m, err := a.Stockroom.LotAdjust(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("moved", &m)
		}))
	c.Flags().Int64Var(&req.Pieces, "pieces", 0, "change of pieces, e.g. -1")
	c.Flags().StringVar(&carats, "carats", "", "change of carats, e.g. -0.420")
	c.Flags().StringVar((*string)(&req.To), "to", "", "loss/breakage, loss/count, loss/weighing or loss/cutting "+
		"(required)")
	c.Flags().StringVar((*string)(&req.Cost), "cost", "", "of what is lost: stays, or expense (default: by the loss)")
	c.Flags().StringVar((*string)(&req.Place), "place", "safe", "where the pieces lie")
	return r.moves(c, &req.Movement)
}

func (r *root) lotWriteDown() *cobra.Command {
	var req stockroom.LotWriteDown
	var to string
	c := verb("write-down LOT", "Carry a lot at less than it cost",
		`  lotpaper lot write-down P1-3 --to 240.00 --reason "color fades, see R12"

The difference is an expense of the day. A lot that gained again is written up
by the same command, at most by what it was written down.
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			req.Lot = args[0]
			var err error
			if req.To, _, err = r.foreign(ctx, a, "to", to, "", "", 1); err != nil {
				return err
			}
			m, err := a.Stockroom.LotWriteDown(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("moved", &m)
		}))
	c.Flags().StringVar(&to, "to", "", "what the lot is carried at from now on (required)")
	return r.writes(c)
}

func (r *root) lotOpinion() *cobra.Command {
	var req stockroom.LotOpinion
	c := verb("opinion LOT [NAME]", "Name a lot's stones by your own judgement",
		`  lotpaper lot opinion P1-3 citrine --reason "colour, feel, and the vendor's usual goods"
  lotpaper lot opinion P1-3 --withdraw --reason "sent to a laboratory"

Lists, sales and papers print the name as "by the dealer's judgement", beside
what the tests say. The claim and its state stay: an opinion verifies nothing,
and a design that asks for verified stones still refuses these.
`, cobra.RangeArgs(1, 2), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			req.Lot = args[0]
			if named := len(args) == 2; named == req.Withdraw {
				return fault.New(fault.Usage, "opinion-name", "an opinion has a name, or is withdrawn",
					"give a name or --withdraw, not both")
			} else if named {
				req.Name = args[1]
			}
			done, err := a.Stockroom.LotOpinion(ctx, req)
			if err != nil {
				return ofFlags(err)
			}
			return r.wroteBook("lot-opinion", &done)
		}))
	c.Flags().BoolVar(&req.Withdraw, "withdraw", false, "take the opinion back")
	return r.writes(c)
}
