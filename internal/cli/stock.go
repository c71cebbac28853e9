package cli

import (
	"context"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/chart"
	"lotpaper/internal/fault"
	"lotpaper/internal/fitting"
	"lotpaper/internal/house"
	"lotpaper/internal/sheet"
	"lotpaper/internal/stockroom"
)

func (r *root) stockCommands() *cobra.Command {
	return r.group("stock", "Stock: list, count, value", r.stockList, r.stockCount, r.stockValue)
}

func (r *root) stockList() *cobra.Command {
	var req stockroom.StockList
	var out output
	var doubt bool
	c := verb("list", "List the stock, on screen or as a workbook", `  lotpaper stock list
  lotpaper stock list -o stock.xlsx
  lotpaper stock list --doubt -o stock.xlsx     with a sheet and a chart for each lot in doubt
`, cobra.NoArgs, r.reading(func(ctx context.Context, a *house.House, _ []string) error {
		csv := strings.HasSuffix(strings.ToLower(out.path), ".csv")
		if doubt && (csv || out.path == "") {
			return fault.New(fault.Usage, "doubt-file", "lots in doubt have sheets and charts: they go into a workbook",
				"write -o stock.xlsx").AtField("doubt")
		}
		if out.path == "" {
			return r.listStock(ctx, a, req, "stock-list")
		}
		return r.Streams.WriteFile(out.path, out.force, !csv, func(w io.Writer) error {
			if doubt {
				wb, err := a.Stockroom.StockInDoubt(ctx, req)
				if err != nil {
					return err
				}
				return wb.Write(w)
			}
			_, err := a.Stockroom.StockFile(ctx, stockroom.StockFile{StockList: req, CSV: csv, To: w})
			return err
		})
	}))
	stockFilter(c, &req.Filter)
	out.flags(c, "")
	c.Flags().BoolVar(&doubt, "doubt", false, "add a sheet and a chart for each lot whose tests do not settle what "+
		"it is (needs -o)")
	return c
}

func (r *root) stockCount() *cobra.Command {
	var encoding string
	c := verb("count FILE", "Compare a physical count with the book", `  lotpaper stock count count.xlsx

See lotpaper template count. Exit status 6 when anything differs; nothing is
written: book what differs with lot adjust.
`, cobra.ExactArgs(1), r.reading(func(ctx context.Context, a *house.House, args []string) error {
		in, err := r.input(args[0], encoding)
		if err != nil {
			return err
		}
		defer in.Close()
		count, err := a.Stockroom.StockCount(ctx, in.Input)
		if err != nil {
			return err
		}
		r.faults(count.Warnings)
		if r.Streams.JSON {
			if err := r.Streams.Document("stock-count", count); err != nil {
				return err
			}
		} else {
			r.table(count.Table())
			r.Streams.Printf("%d lots counted, %d differ, %d not counted\n", count.Counted, len(count.Differences),
				len(count.Missing))
		}
		if len(count.Differences) > 0 || len(count.Missing) > 0 {
			return exitError(6)
		}
		return nil
	}))
	c.Flags().StringVar(&encoding, "encoding", "", "encoding of a CSV that is not UTF-8: windows-1252")
	return c
}

func (r *root) stockValue() *cobra.Command {
	var on, by string
	var out output
	c := verb("value", "Value the own stock at the lower of cost and net realisable value",
		`  lotpaper stock value --on 2026-03-31
  lotpaper stock value --by species
  lotpaper stock value --by place -o value.xlsx

Item by item, never by class (IAS 2). Net realisable value is the loose price of
the price list less the setting haircut; a lot without a price stays at cost and
is counted. It is no appraisal for insurance or tax.
`, cobra.NoArgs, r.reading(func(ctx context.Context, a *house.House, _ []string) error {
			day, err := flagDate("on", on)
			if err != nil {
				return err
			}
			v, err := a.Stockroom.StockValue(ctx, stockroom.StockValue{On: day, By: by})
			if err != nil {
				return err
			}
			switch {
			case out.path != "":
				wb, err := v.Workbook()
				if err != nil {
					return err
				}
				if err := r.writeWorkbook(wb, out); err != nil {
					return err
				}
				if out.path != "-" {
					r.Streams.Notef("wrote %s\n", out.path)
				}
				return nil
			case r.Streams.JSON:
				return r.Streams.Document("stock-value", v)
			case by != "":
				r.Streams.Printf("%s", v.Text())
				return nil
			}
			r.table(v.Table())
			r.Streams.Printf("cost %s, write-down %s, value %s on %s; %d lots without a price, %d lots of others "+
				"left out\n", v.Cost.Words(), v.WriteDown.Words(), v.Value.Words(), v.On, v.Unpriced, v.Others)
			r.Streams.Notef("This is no appraisal for insurance or tax.\n")
			return nil
		}))
	c.Flags().StringVar(&on, "on", "", "value on this date (default: today)")
	c.Flags().StringVar(&by, "by", "", "sums by "+strings.Join(stockroom.ValueBy, ", ")+
		" (default: parcel)")
	out.flags(c, "")
	return c
}

// identifyChart writes the picture of one lot.
func (r *root) identifyChart(ctx context.Context, a *house.House, lot string, f identifyFlags) error {
	model, title, err := a.Bench.IdentityChart(ctx, lot)
	if err != nil {
		return err
	}
	if model == nil {
		return fault.New(fault.Refused, "chart-nothing", "neither a refractive index nor a specific gravity was read "+
			"of "+lot, "add a reading first: lotpaper reading add "+lot)
	}
	return r.writeFigure(identityFigure(title, model), f.chart, f.force)
}

func identityFigure(title string, m *answer.IdentityChart) chart.Figure {
	c := chart.Identity{Title: title}
	for _, b := range m.Boxes {
		c.Boxes = append(c.Boxes, chart.IdentityBox{Name: b.Name, SGLow: b.SGLow, SGHigh: b.SGHigh, NLow: b.NLow,
			NHigh: b.NHigh, Left: b.Left, Claimed: b.Claimed})
	}
	for _, s := range m.Stones {
		c.Stones = append(c.Stones, chart.IdentityStone{Name: s.Name, SG: s.SG, SGU: s.SGU, NLow: s.NLow,
			NHigh: s.NHigh, NU: s.NU})
	}
	return c
}

// writeFigure draws a figure as SVG or PNG, by the file's name.
func (r *root) writeFigure(f chart.Figure, path string, force bool) error {
	var raw []byte
	var err error
	switch low := strings.ToLower(path); {
	case strings.HasSuffix(low, ".svg"):
		raw, err = chart.SVG(f)
	case strings.HasSuffix(low, ".png"):
		raw, err = chart.PNG(f, 150)
	default:
		return fault.New(fault.Usage, "chart-kind", fmt.Sprintf("a picture is a .svg or .png file, but is %q", path),
			"name it so").AtField("chart")
	}
	if err != nil {
		return err
	}
	return r.Streams.WriteFile(path, force, true, func(w io.Writer) error {
		_, err := w.Write(raw)
		return err
	})
}

// writeWorkbook writes a workbook to the file of a command.
func (r *root) writeWorkbook(wb *sheet.Workbook, out output) error {
	return r.Streams.WriteFile(out.path, out.force, true, wb.Write)
}

func (r *root) writeMatrix(ctx context.Context, a *house.House, m fitting.Matrix, of fitting.MatrixOf,
	out output) error {
	wb, err := a.Fitting.MatrixWorkbook(ctx, m, of, "")
	if err != nil {
		return err
	}
	return r.writeWorkbook(wb, out)
}
