package cli

import (
	"context"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/lines"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
)

func (r *root) orderCommands() *cobra.Command {
	return r.group("order", "Cutter orders: draft, send, receive, list, show", r.orderDraft, r.orderSend,
		r.orderReceive, r.orderList, r.orderShow)
}

func (r *root) orderDraft() *cobra.Command {
	var p planFlags
	var cutter, due, note string
	var items []string
	c := verb("draft [LINE]", "Draft a cutter order for what a line's plan is short of, or by hand",
		`  lotpaper order draft Sea --cutter "A Cutter" --due 2026-05-15
  lotpaper order draft --cutter "A Cutter" --item topaz:oval:8x6:3 --note "recut of P1-12"
`, cobra.MaximumNArgs(1), func(ctx context.Context, args []string) error {
			if (len(args) == 0) == (len(items) == 0 && note == "") {
				return fault.New(fault.Usage, "order-what", "an order is for a line, or for what --item and --note say",
					"name the line, or give --item MATERIAL:SHAPE:LENGTHxWIDTH:COUNT")
			}
			return r.with(ctx, func(a *house.House) error {
				on, err := flagDate("due", due)
				if err != nil {
					return err
				}
				var drafted answer.Orders
				if len(args) == 0 {
					req := stockroom.OrderDraft{Cutter: cutter, Due: on, Note: note}
					if req.Write, err = r.write(); err != nil {
						return err
					}
					if req.Items, err = orderItems(items); err != nil {
						return err
					}
					if drafted, err = a.Stockroom.OrderDraft(ctx, req); err != nil {
						return err
					}
				} else {
					req, err := p.request(r, args[0])
					if err != nil {
						return err
					}
					if drafted, err = a.Lines.OrderDraft(ctx, lines.OrderDraft{Plan: req, Cutter: cutter,
						Due: on}); err != nil {
						return err
					}
				}
				if err := r.list("order-show", &drafted, output{}); err != nil {
					return err
				}
				r.dryNote()
				return nil
			})
		})
	p.flags(c)
	c.Flags().StringVar(&cutter, "cutter", "", "the cutter (required)")
	c.Flags().StringVar(&due, "due", "", "when it is due")
	c.Flags().StringArrayVar(&items, "item", nil, "MATERIAL:SHAPE:LENGTHxWIDTH:COUNT, wanted without a line; may be "+
		"repeated")
	c.Flags().StringVar(&note, "note", "", "what the cutter is to do, in words, without a line")
	return r.writes(c)
}

// orderItems reads topaz:oval:8x6:3.
func orderItems(texts []string) ([]stockroom.OrderItem, error) {
	var out []stockroom.OrderItem
	for _, text := range texts {
		fields := strings.Split(text, ":")
		bad := fault.New(fault.Usage, "item-form", "an item is MATERIAL:SHAPE:LENGTHxWIDTH:COUNT, but is \""+text+"\"",
			"write it like topaz:oval:8x6:3").AtField("item")
		if len(fields) != 4 {
			return nil, bad
		}
		length, width, found := strings.Cut(strings.ToLower(fields[2]), "x")
		if !found {
			width = length
		}
		l, f := num.ParseMillimetre(strings.TrimSpace(length))
		w, g := num.ParseMillimetre(strings.TrimSpace(width))
		n, err := strconv.ParseInt(strings.TrimSpace(fields[3]), 10, 64)
		if f != nil || g != nil || err != nil {
			return nil, bad
		}
		out = append(out, stockroom.OrderItem{Material: strings.TrimSpace(fields[0]),
			Shape: strings.TrimSpace(fields[1]), Length: l, Width: w, Count: n})
	}
	return out, nil
}

func (r *root) orderList() *cobra.Command {
	var out output
	c := verb("list", "List the orders", "", cobra.NoArgs, r.reading(func(ctx context.Context, a *house.House,
		_ []string) error {
		orders, err := a.Stockroom.OrderList(ctx, stockroom.OrderList{})
		if err != nil {
			return err
		}
		return r.list("order-show", &orders, out)
	}))
	out.ofList(c)
	return c
}

func (r *root) orderShow() *cobra.Command {
	return verb("show ORDER", "Show one order", "", cobra.ExactArgs(1),
		r.reading(func(ctx context.Context, a *house.House, args []string) error {
			orders, err := a.Stockroom.OrderShow(ctx, stockroom.OrderShow{Number: args[0]})
			if err != nil {
				return err
			}
			return r.show("order-show", &orders)
		}))
}

func (r *root) orderSend() *cobra.Command {
	var req stockroom.OrderSend
	var out output
	c := verb("send ORDER [LOT:PIECES:CARATS ...]", "Issue an order as a workbook and send the supplied stones with it",
		`  lotpaper order send O1
  lotpaper order send O1 P1-12:6:18.440
`, cobra.MinimumNArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			var err error
			req.Number = args[0]
			if req.Lots, err = moving(args[1:]); err != nil {
				return err
			}
			done, err := a.Stockroom.OrderSend(ctx, req)
			if err != nil {
				return err
			}
			if out.path != "" && !r.dryRun {
				if err := r.writeBytes(done.Document.Bytes, out); err != nil {
					return err
				}
			}
			return r.moved("order-send", &done)
		}))
	out.flags(c, "")
	return r.moves(c, &req.Movement)
}

func (r *root) orderReceive() *cobra.Command {
	var req stockroom.OrderReceive
	var carats, length, width, depth, uncut string
	var file string
	c := verb("receive ORDER [LOT]", "Book what a cutter made of the supplied lots",
		`  lotpaper order receive O1 --file ORDER-2026-0001.xlsx     the workbook as the cutter filled it in
  lotpaper order receive O1 P1-12 --pieces 5 --carats 4.655 --broken 1 --shape oval --length 7 --width 5 --last

The cut stones are a new lot that keeps the cost; their identity falls back to
what is stated until they are tested again.
`, cobra.RangeArgs(1, 2), func(ctx context.Context, args []string) error {
			if (file != "") == (len(args) == 2) {
				return fault.New(fault.Usage, "receive-what", "a return is of one lot, or the cutter's whole sheet",
					"name the lot, or give --file")
			}
			return r.with(ctx, func(a *house.House) error {
				var err error
				if req.Write, err = r.write(); err != nil {
					return err
				}
				if file != "" {
					return r.orderReturn(ctx, a, stockroom.OrderReturn{Write: req.Write, Number: args[0],
						Accept: req.Accept}, file)
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
				done, err := a.Stockroom.OrderReceive(ctx, req)
				if err != nil {
					return err
				}
				return r.moved("order-receive", &done)
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

// orderReturn books what came back by the cutter's sheet.
func (r *root) orderReturn(ctx context.Context, a *house.House, req stockroom.OrderReturn, file string) error {
	in, err := r.input(file, "")
	if err != nil {
		return err
	}
	defer in.Close()
	req.File = in.Input
	done, err := a.Stockroom.OrderReturn(ctx, req)
	r.faults(done.Warnings)
	if err != nil {
		return err
	}
	return r.wroteBook("order-return", &done)
}
