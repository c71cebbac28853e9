package cli

import (
	"cmp"
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/ui"
)

func (r *root) lotCommands() *cobra.Command {
	return r.group("lot", "Lots: list, show, sort, split, merge, adjust, history",
		r.lotList, r.lotShow, r.lotSort, r.lotSplit, r.lotMerge, r.lotAdjust, r.lotHistory)
}

// stockFilter adds the flags that select lots.
func stockFilter(c *cobra.Command, f *desk.StockFilter) {
	c.Flags().StringVar(&f.Parcel, "parcel", "", "only lots of this parcel")
	c.Flags().StringVar(&f.Species, "species", "", "only this species or variety")
	c.Flags().StringVar(&f.Shape, "shape", "", "only this shape")
	c.Flags().StringVar((*string)(&f.Place), "place", "", "only what lies there: safe, cutter/NAME, memo/NAME ...")
	c.Flags().StringVar(&f.Owner, "owner", "", "own, or others for lots of others")
	c.Flags().BoolVar(&f.All, "all", false, "also lots that have nothing left")
}

func (r *root) lotList() *cobra.Command {
	var req stockroom.StockList
	c := verb("list", "List lots and what they hold", `  lotpaper lot list --parcel P1 --species topaz
`, cobra.NoArgs, r.reading(func(ctx context.Context, a *house.House, _ []string) error {
		return r.listStock(ctx, a, req, "lot-list")
	}))
	stockFilter(c, &req.Filter)
	return c
}

func (r *root) listStock(ctx context.Context, a *house.House, req stockroom.StockList, schema string) error {
	list, err := a.Stockroom.StockList(ctx, req)
	if err != nil {
		return err
	}
	if r.Streams.JSON {
		return r.Streams.Document(schema, list)
	}
	r.table(list.Table())
	return nil
}

func (r *root) lotShow() *cobra.Command {
	return verb("show LOT", "Show one lot: what it claims, what it has, where", "", cobra.ExactArgs(1),
		r.reading(func(ctx context.Context, a *house.House, args []string) error {
			lot, err := a.Stockroom.LotShow(ctx, args[0])
			if err != nil {
				return err
			}
			if r.Streams.JSON {
				return r.Streams.Document("lot-show", lot)
			}
			t := &ui.Table{Header: []string{"field", "value"}}
			add := func(name, value string) {
				if value != "" {
					t.Add(name, value)
				}
			}
			add("lot", lot.Code)
			add("label", lot.Label)
			add("parcel", lot.Parcel)
			add("parent", lot.Parent)
			add("owner", string(lot.Owner))
			if !lot.Owner.IsOwn() && lot.Agreed.Sign() > 0 {
				add("agreed price", lot.Agreed.Words())
				add("due", string(lot.Due))
			}
			facet := func(name string, f book.Facet) {
				if f.Value == "" {
					t.Add(name, "unknown")
					return
				}
				t.Add(name, f.Value+" ("+string(f.Basis)+")")
			}
			facet("species", lot.Facets.Species)
			add("variety", lot.Variety)
			facet("nature", lot.Facets.Nature)
			facet("treatment", lot.Facets.Treatment)
			facet("origin", lot.Facets.Origin)
			add("shape", lot.Shape)
			add("length", lot.Length.String())
			add("width", lot.Width.String())
			add("depth", lot.Depth.String())
			add("color", lot.Color)
			add("clarity", lot.Clarity)
			add("cut", lot.Cut)
			add("fenced", lot.Fenced)
			add("note", lot.Note)
			for _, b := range lot.Places {
				t.Add("at "+string(b.Place), fmt.Sprintf("%d pieces, %s ct, cost %s", b.Pieces, b.Carats,
					b.Cost.Words()))
			}
			add("in all", fmt.Sprintf("%d pieces, %s ct, cost %s", lot.Pieces, lot.Carats, lot.Cost.Words()))
			add("children", strings.Join(lot.Children, ", "))
			add("readings", strconv.Itoa(lot.Readings))
			for _, rep := range lot.Reports {
				t.Add("report", fmt.Sprintf("%s %s of %s: %s", rep.Lab, rep.Number, rep.On, rep.Species))
			}
			for _, h := range lot.Holds {
				t.Add("held", fmt.Sprintf("%d for %s", h.Pieces, h.For))
			}
			r.Streams.Table(t)
			return nil
		}))
}

func (r *root) lotHistory() *cobra.Command {
	return verb("history LOT", "Show every entry of a lot and how its claim changed", "", cobra.ExactArgs(1),
		r.reading(func(ctx context.Context, a *house.House, args []string) error {
			h, err := a.Stockroom.LotHistory(ctx, args[0])
			if err != nil {
				return err
			}
			if r.Streams.JSON {
				return r.Streams.Document("lot-history", h)
			}
			t := (&ui.Table{Header: []string{"entry", "date", "kind", "place", "pieces", "carats", "cost", "reason"}}).
				Numbers(4, 5, 6)
			for _, e := range h.Entries {
				for _, p := range e.Postings {
					if strings.EqualFold(p.Lot, h.Lot) {
						t.Add(e.Code, string(e.PostedOn), string(e.Kind), string(p.Place), fmt.Sprintf("%+d", p.Pieces),
							signed(p.Carats.String()), signed(p.Cost.String()), e.Reason)
					}
				}
			}
			r.Streams.Table(t)
			for i, v := range h.Versions {
				r.Streams.Printf("version %d: %s, treatment %s\n", i+1, v.Name(), cmp.Or(v.Facets.Treatment.Value,
					"not stated"))
			}
			return nil
		}))
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
go into a lot whose species is not established, which no plan uses.
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			req.Lot = args[0]
			req.Key = book.ShareKey(by)
			if by == "identity" {
				m, err := a.Stockroom.LotSortByIdentity(ctx, req)
				if err != nil {
					return err
				}
				return r.moved(m)
			}
			info, err := a.Desk.ConfigShow(ctx)
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
				fromFile, warnings, err := a.Stockroom.SortParts(in.Input, currency)
				r.faults(warnings)
				if err != nil {
					return err
				}
				req.Parts = append(req.Parts, fromFile...)
			}
			m, err := a.Stockroom.LotSort(ctx, req)
			if err != nil {
				return err
			}
			return r.moved(m)
		}))
	c.Flags().StringArrayVar(&parts, "part", nil, "LABEL:PIECES:CARATS[:VALUE[:FURTHER]], once for each part")
	c.Flags().StringVar(&by, "by", "carats", "share cost by value, nrv, carats or pieces; or identity")
	c.Flags().StringVar(&file, "file", "", "CSV or XLSX with the parts")
	c.Flags().StringVar(&encoding, "encoding", "", "encoding of the file when it is not UTF-8: windows-1252")
	c.Flags().StringVar((*string)(&req.Place), "place", "safe", "where the pieces lie")
	return r.writes(c)
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
			return r.moved(m)
		}))
	c.Flags().Int64Var(&req.Pieces, "pieces", 1, "how many pieces leave")
	c.Flags().StringVar(&carats, "carats", "", "what they weigh together")
	c.Flags().StringVar(&req.Label, "label", "", "code on the new paper")
	c.Flags().StringVar(&req.Stone, "stone", "", "tag of the one stone, as its readings name it")
	c.Flags().StringVar((*string)(&req.Place), "place", "safe", "where the pieces lie")
	return r.writes(c)
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
			return r.moved(m)
		}))
	c.Flags().StringVar(&req.Label, "label", "", "code on the new paper")
	c.Flags().StringVar((*string)(&req.Place), "place", "safe", "where the pieces lie")
	return r.writes(c)
}

func (r *root) lotAdjust() *cobra.Command {
	var req stockroom.LotAdjust
	var carats string
	c := verb("adjust LOT", "Book a loss, a find or a scale difference",
		`  lotpaper lot adjust P1-3 --pieces -1 --carats -0.420 --to loss/breakage --reason "broke in the tumbler"
  lotpaper lot adjust P1-3 --carats 0.012 --to loss/weighing --reason "new balance"

Cost stays on what is left, unless --abnormal is given or the last piece goes.
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
			return r.moved(m)
		}))
	c.Flags().Int64Var(&req.Pieces, "pieces", 0, "change of pieces, e.g. -1")
	c.Flags().StringVar(&carats, "carats", "", "change of carats, e.g. -0.420")
	c.Flags().StringVar((*string)(&req.To), "to", "", "loss/breakage, loss/count, loss/weighing or loss/cutting "+
		"(required)")
	c.Flags().BoolVar(&req.Abnormal, "abnormal", false, "the cost of what is lost leaves the lot")
	c.Flags().StringVar((*string)(&req.Place), "place", "safe", "where the pieces lie")
	return r.writes(c)
}
