package cli

import (
	"context"
	"io"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/app"
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/intake"
	"lotpaper/internal/num"
	"lotpaper/internal/ui"
)

func (r *root) documentCommands() *cobra.Command {
	return group("document", "Issued documents: list, write", r.documentList(), r.documentWrite())
}

func (r *root) documentList() *cobra.Command {
	return verb("list", "List the documents that were issued", "", cobra.NoArgs, func(ctx context.Context, _ []string) error {
		return r.with(ctx, func(a *app.App) error {
			docs, err := a.DocumentList(ctx)
			if err != nil {
				return err
			}
			return r.listDocuments(docs)
		})
	})
}

type documentReport struct {
	Number string    `json:"number"`
	Title  string    `json:"title"`
	On     book.Date `json:"on"`
	File   string    `json:"file"`
	SHA256 string    `json:"sha256"`
}

func (r *root) listDocuments(docs []book.Document) error {
	rows := []documentReport{}
	t := &ui.Table{Header: []string{"document", "date", "title", "file"}}
	for _, d := range docs {
		rows = append(rows, documentReport{d.Number, d.Title, d.On, d.File, d.SHA256})
		t.Add(d.Number, string(d.On), d.Title, d.File)
	}
	if r.Streams.JSON {
		return r.Streams.Document("document-list", struct {
			Documents []documentReport `json:"documents"`
		}{rows})
	}
	r.Streams.Table(t)
	return nil
}

func (r *root) documentWrite() *cobra.Command {
	var out output
	c := verb("write NUMBER", "Write an issued document again, byte for byte", `  lotpaper document write PROPOSAL-2026-0001
`, cobra.ExactArgs(1), func(ctx context.Context, args []string) error {
		return r.with(ctx, func(a *app.App) error {
			d, raw, err := a.DocumentFile(ctx, args[0])
			if err != nil {
				return err
			}
			if out.path == "" {
				out.path = d.File
			}
			return r.writeBytes(raw, out)
		})
	})
	out.flags(c, "")
	return c
}

func (r *root) writeBytes(raw []byte, out output) error {
	if err := r.Streams.WriteFile(out.path, out.force, true, func(w io.Writer) error {
		_, err := w.Write(raw)
		return err
	}); err != nil {
		return err
	}
	if out.path != "-" {
		r.Streams.Notef("wrote %s\n", out.path)
	}
	return nil
}

func (r *root) linePropose() *cobra.Command {
	var p planFlags
	var customer string
	var runs int
	c := verb("propose LINE", "Issue the priced and checked line as a proposal with care cards", `  lotpaper line propose Sea --customer "A Jeweller"
  lotpaper document write PROPOSAL-2026-0001

The stones, prices and verdicts are frozen in the documents.
`, cobra.ExactArgs(1), func(ctx context.Context, args []string) error {
		return r.with(ctx, func(a *app.App) error {
			req, err := p.request(r, args[0])
			if err != nil {
				return err
			}
			done, err := a.LinePropose(ctx, app.LinePropose{LinePlan: req, Customer: customer, Runs: runs})
			if err != nil {
				return err
			}
			r.faults(done.Warnings)
			if err := r.listDocuments(done.Documents); err != nil {
				return err
			}
			r.dryNote()
			return nil
		})
	})
	p.flags(c)
	c.Flags().StringVar(&customer, "customer", "", "whom it is for")
	c.Flags().IntVar(&runs, "runs", 0, "runs of the simulation (default 10000)")
	return r.writes(c)
}

func (r *root) orderCommands() *cobra.Command {
	return group("order", "Cutter orders: draft, send, receive, list, show", r.orderDraft(), r.orderSend(), r.orderReceive(), r.orderList(), r.orderShow())
}

func (r *root) orderDraft() *cobra.Command {
	var p planFlags
	var cutter, due string
	c := verb("draft LINE", "Draft a cutter order for what a line's plan is short of", `  lotpaper order draft Sea --cutter "A Cutter" --due 2026-05-15
`, cobra.ExactArgs(1), func(ctx context.Context, args []string) error {
		return r.with(ctx, func(a *app.App) error {
			req, err := p.request(r, args[0])
			if err != nil {
				return err
			}
			d := app.OrderDraft{LinePlan: req, Cutter: cutter}
			if due != "" {
				var f *fault.Fault
				if d.Due, f = book.ParseDate(due); f != nil {
					return asUsage(f.AtFlag("due"))
				}
			}
			o, err := a.OrderDraft(ctx, d)
			if err != nil {
				return err
			}
			if err := r.showOrders([]book.Order{o}); err != nil {
				return err
			}
			r.dryNote()
			return nil
		})
	})
	p.flags(c)
	c.Flags().StringVar(&cutter, "cutter", "", "the cutter (required)")
	c.Flags().StringVar(&due, "due", "", "when it is due")
	return r.writes(c)
}

func (r *root) showOrders(orders []book.Order) error {
	if r.Streams.JSON {
		return r.Streams.Document("order-show", struct {
			Orders []book.Order `json:"orders"`
		}{orders})
	}
	t := (&ui.Table{Header: []string{"order", "cutter", "state", "due", "for", "material", "shape", "size mm", "count", "spare", "weight each", "at most each", "document"}}).Numbers(8, 9, 10, 11)
	for _, o := range orders {
		for _, l := range o.Lines {
			t.Add(o.Number, o.Cutter, o.State, string(o.Due), l.Design+"/"+l.Position, strings.Join(l.Species, " or "), l.Shape, l.Length.String()+" x "+l.Width.String(),
				strconv.FormatInt(l.Count, 10), strconv.FormatInt(l.Spare, 10), l.Weight.String(), l.PriceMax.String(), o.Document)
		}
	}
	r.Streams.Table(t)
	return nil
}

func (r *root) orderList() *cobra.Command {
	return verb("list", "List the orders", "", cobra.NoArgs, func(ctx context.Context, _ []string) error {
		return r.with(ctx, func(a *app.App) error {
			orders, err := a.OrderShow(ctx, "")
			if err != nil {
				return err
			}
			return r.showOrders(orders)
		})
	})
}

func (r *root) orderShow() *cobra.Command {
	return verb("show ORDER", "Show one order", "", cobra.ExactArgs(1), func(ctx context.Context, args []string) error {
		return r.with(ctx, func(a *app.App) error {
			orders, err := a.OrderShow(ctx, args[0])
			if err != nil {
				return err
			}
			if err := r.showOrders(orders); err != nil || r.Streams.JSON {
				return err
			}
			for _, l := range orders[0].Lines {
				r.Streams.Printf("%s/%s %s\n", l.Design, l.Position, ui.Wrap(l.Why, 96, "    "))
				if l.Risk != "" {
					r.Streams.Printf("    risk: %s\n", ui.Wrap(l.Risk, 90, "    "))
				}
			}
			return nil
		})
	})
}

func (r *root) orderSend() *cobra.Command {
	var out output
	c := verb("send ORDER [LOT:PIECES:CARATS ...]", "Issue an order as a workbook and send the supplied stones with it", `  lotpaper order send O1
  lotpaper order send O1 P1-12:6:18.440
`, cobra.MinimumNArgs(1), func(ctx context.Context, args []string) error {
		return r.with(ctx, func(a *app.App) error {
			w, err := r.write()
			if err != nil {
				return err
			}
			lots, err := moving(args[1:])
			if err != nil {
				return err
			}
			done, err := a.OrderSend(ctx, app.OrderSend{Write: w, Number: args[0], Lots: lots})
			if err != nil {
				return err
			}
			if r.dryRun {
				return r.moved(done.Moved)
			}
			doc, err := a.OrderIssue(ctx, w, args[0])
			if err != nil {
				return err
			}
			if out.path != "" {
				if err := r.writeBytes(doc.Bytes, out); err != nil {
					return err
				}
			}
			r.Streams.Notef("issued %s\n", doc.Number)
			return r.moved(done.Moved)
		})
	})
	out.flags(c, "")
	return r.writes(c)
}

func (r *root) orderReceive() *cobra.Command {
	var req app.OrderReceive
	var carats, length, width, depth, uncut string
	var file string
	c := verb("receive ORDER [LOT]", "Book what a cutter made of the supplied lots", `  lotpaper order receive O1 --file ORDER-2026-0001.xlsx     the workbook as the cutter filled it in
  lotpaper order receive O1 P1-12 --pieces 5 --carats 4.655 --broken 1 --shape oval --length 7 --width 5 --last

The cut stones are a new lot that keeps the cost; their identity falls back to
what is stated until they are tested again.
`, cobra.RangeArgs(1, 2), func(ctx context.Context, args []string) error {
		if (file != "") == (len(args) == 2) {
			return fault.New(fault.Usage, "receive-what", "a return is of one lot, or the cutter's whole sheet", "name the lot, or give --file")
		}
		return r.with(ctx, func(a *app.App) error {
			var err error
			if req.Write, err = r.write(); err != nil {
				return err
			}
			if file != "" {
				return r.orderReturn(ctx, a, app.OrderReturn{Write: req.Write, Number: args[0], Accept: req.Accept}, file)
			}
			req.Number, req.Lot = args[0], args[1]
			if req.Carats, err = flagCarat("carats", carats); err != nil {
				return err
			}
			for _, d := range []struct {
				name, text string
				to         *book.Size
			}{{"length", length, &req.Length}, {"width", width, &req.Width}, {"depth", depth, &req.Depth}} {
				m, err := flagMillimetre(d.name, d.text)
				if err != nil {
					return err
				}
				*d.to = book.Size{Min: m, Max: m}
			}
			if uncut != "" {
				back, err := moving([]string{args[1] + ":" + uncut})
				if err != nil {
					return err
				}
				req.Uncut = back[0]
			}
			done, err := a.OrderReceive(ctx, req)
			if err != nil {
				return err
			}
			return r.moved(done.Moved)
		})
	})
	f := c.Flags()
	f.Int64Var(&req.Pieces, "pieces", 0, "cut stones that came back")
	f.StringVar(&carats, "carats", "", "their weight")
	f.Int64Var(&req.Broken, "broken", 0, "pieces that broke")
	f.StringVar(&uncut, "uncut", "", "PIECES:CARATS that came back uncut")
	f.StringVar(&req.Shape, "shape", "", "shape of the cut stones")
	f.StringVar(&length, "length", "", "mm")
	f.StringVar(&width, "width", "", "mm")
	f.StringVar(&depth, "depth", "", "mm")
	f.StringVar(&req.Accept, "accept", "", "why an unusual result is accepted")
	f.BoolVar(&req.Last, "last", false, "the order is done")
	f.StringVar(&file, "file", "", "the order's workbook with its sheet Return filled in")
	return r.writes(c)
}

// orderReturn takes back an order by the cutter's sheet.
func (r *root) orderReturn(ctx context.Context, a *app.App, req app.OrderReturn, file string) error {
	in, err := r.input(file, "")
	if err != nil {
		return err
	}
	defer in.Close()
	req.File = in.Input
	done, err := a.OrderReturn(ctx, req)
	r.faults(done.Warnings)
	if err != nil {
		return err
	}
	if r.Streams.JSON {
		return r.Streams.Document("order-return", done)
	}
	var all app.Moved
	for _, o := range done.Received {
		all.Entry = first(all.Entry, o.Entry)
		all.Postings = append(all.Postings, o.Postings...)
	}
	return r.moved(all)
}

func (r *root) templateCommand() *cobra.Command {
	var out output
	var currency string
	c := verb("template KIND", "Write an empty workbook to fill in, with drop-downs and notes", "  lotpaper template parcel\n  lotpaper template readings -o bench.xlsx\n\nKinds: "+strings.Join(intake.TemplateKinds(), ", ")+".\n", cobra.ExactArgs(1), func(_ context.Context, args []string) error {
		cur, f := num.ParseCurrency(currency)
		if f != nil {
			return asUsage(f.AtFlag("currency"))
		}
		wb, f := intake.Template(args[0], cur)
		if f != nil {
			return asUsage(f)
		}
		if out.path == "" {
			out.path = args[0] + ".xlsx"
		}
		if err := r.writeWorkbook(&wb, out); err != nil {
			return err
		}
		if out.path != "-" {
			r.Streams.Printf("wrote %s\n", out.path)
		}
		return nil
	})
	c.Flags().StringVar(&currency, "currency", "EUR", "the book's currency, for the words of the template")
	out.flags(c, "")
	return c
}
