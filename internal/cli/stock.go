package cli

import (
	"context"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/stockroom"
)

func (r *root) stockCommands() *cobra.Command {
	return r.group("stock", "Stock: list, count, value, move", r.stockList, r.stockCount, r.stockValue,
		r.stockMove)
}

func (r *root) stockList() *cobra.Command {
	var req stockroom.StockList
	var find findFlags
	var out output
	var doubt bool
	var then asOf
	c := verb("list", "List the stock, on screen or as a workbook", `  lotpaper stock list
  lotpaper stock list --on 2026-03-31 -o stock.xlsx
  lotpaper stock list --doubt -o stock.xlsx     with a sheet and a chart for each lot in doubt
`+findHelp, cobra.NoArgs, r.reading(func(ctx context.Context, a *house.House, _ []string) error {
		var err error
		if req.Filter.Find, err = find.read(); err != nil {
			return err
		}
		if req.Filter.AsOf, err = then.read(); err != nil {
			return err
		}
		if !doubt {
			return r.listStock(ctx, a, "stock-list", req, out)
		}
		if csv, err := out.isCSV(); csv || err != nil {
			return fault.New(fault.Usage, "doubt-file", "lots in doubt have sheets and charts: they go into a workbook",
				"write -o stock.xlsx").AtField("doubt")
		}
		return r.writeList(out, func(w io.Writer, _ bool) error {
			list, err := a.Stockroom.StockInDoubt(ctx, stockroom.StockInDoubt(req))
			if err != nil {
				return err
			}
			wb, err := list.Workbook()
			if err != nil {
				return err
			}
			return wb.Write(w)
		})
	}))
	stockFilter(c, &req.Filter)
	then.flags(c, "list the stock")
	find.flags(c)
	out.ofList(c)
	c.Flags().BoolVar(&doubt, "doubt", false, "add a sheet and a chart for each lot whose tests do not settle what "+
		"it is (needs -o)")
	return c
}

func (r *root) stockCount() *cobra.Command {
	var req stockroom.StockCount
	var encoding, place string
	var out output
	c := verb("count [FILE]", "Write a count sheet, or compare a physical count with the book",
		`  lotpaper stock count --sheet safe -o count.xlsx      what should be there, to fill in
  lotpaper stock count count.xlsx                      what differs
  lotpaper stock count count.xlsx --post --reason "count of March"

Exit status 6 when anything differs and is not booked. Missing stones are an
expense, found ones bring no cost; a lot that nobody counted is never booked.
`, cobra.MaximumNArgs(1), func(ctx context.Context, args []string) error {
			if (len(args) == 0) == (place == "") {
				return fault.New(fault.Usage, "count-what", "a count is of a file, or asks for the sheet of a place",
					"name the file, or give --sheet")
			}
			return r.with(ctx, func(a *house.House) (err error) {
				if place != "" {
					return r.countSheet(ctx, a, place, out)
				}
				in, err := r.input(args[0], encoding)
				if err != nil {
					return err
				}
				defer in.Close()
				req.File = in.Input
				if req.Post {
					if req.Write, err = r.write(); err != nil {
						return err
					}
				}
				count, err := a.Stockroom.StockCount(ctx, req)
				if err != nil {
					return err
				}
				r.faults(count.Warnings)
				if err := r.list("stock-count", &count, out); err != nil {
					return err
				}
				if req.Post {
					r.dryNote()
				}
				if len(count.Missing) > 0 || len(count.Differences) > 0 && !req.Post {
					return exitError(6)
				}
				return nil
			})
		})
	c.Flags().StringVar(&encoding, "encoding", "", "encoding of a CSV that is not UTF-8: windows-1252")
	c.Flags().StringVar(&place, "sheet", "", "the place to write a count sheet of: safe, safe/OFFICE, paper/M3 ...")
	c.Flags().BoolVar(&req.Post, "post", false, "book what differs")
	out.ofList(c)
	return r.moves(c, &req.Movement)
}

// countSheet issues the count sheet of a place and writes it.
func (r *root) countSheet(ctx context.Context, a *house.House, place string, out output) error {
	w, err := r.write()
	if err != nil {
		return err
	}
	if err := out.workbookOnly(); err != nil {
		return err
	}
	var issued answer.CountIssued
	if err := r.issuing(out, func() (answer.DocumentFile, error) {
		issued, err = a.Stockroom.StockCountSheet(ctx, stockroom.StockCountSheet{Write: w, Place: book.Place(place)})
		return issued.Document, err
	}); err != nil {
		return err
	}
	return r.wroteBook("count-sheet", &issued)
}

func (r *root) stockValue() *cobra.Command {
	var then asOf
	var by string
	var out output
	c := verb("value", "Value the own stock at the lower of cost and net realisable value",
		`  lotpaper stock value --on 2026-03-31
  lotpaper stock value --by species
  lotpaper stock value --by place -o value.xlsx
  lotpaper stock value --by party --on 2026-03-31     what is out, with whom, what is in the safe

Item by item, never by class (IAS 2). Net realisable value is the loose price of
the price list less the setting haircut; a lot without a price stays at cost and
is counted. It is no appraisal for insurance or tax.
`, cobra.NoArgs, r.reading(func(ctx context.Context, a *house.House, _ []string) error {
			at, err := then.read()
			if err != nil {
				return err
			}
			v, err := a.Stockroom.StockValue(ctx, stockroom.StockValue{AsOf: at, By: by})
			if err != nil {
				return err
			}
			if by != "" && out.path == "" && !r.Streams.JSON {
				r.screen(v.Sums())
				return nil
			}
			return r.list("stock-value", &v, out)
		}))
	then.flags(c, "value the stock")
	c.Flags().StringVar(&by, "by", "", "sums by "+strings.Join(stockroom.StockValue{}.Groups(), ", ")+
		" (default: parcel)")
	out.ofList(c)
	return c
}
