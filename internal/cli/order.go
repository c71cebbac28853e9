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
	return r.group("order", "Cutter orders: draft, bid, compare, send, receive, close, cancel, list, show",
		r.orderDraft,
		r.orderBid, r.orderCompare, r.orderSend, r.orderReceive, r.orderClose, r.orderCancel, r.orderList, r.orderShow)
}

func (r *root) orderDraft() *cobra.Command {
	var p planFlags
	var cutter, due, note string
	var items, lots []string
	var claims bool
	c := verb("draft [LINE]", "Draft a cutter order for what a line's plan is short of, or by hand",
		`  lotpaper order draft Sea --due 2026-05-15
  lotpaper order draft --item topaz:oval:8x6:3 --lot P1-12:6:18.440@A --note "recut of P1-12"
  lotpaper order draft --cutter "A Cutter" --item aquamarine:pear:9x6:4      stones that the cutter supplies

Without --cutter, cutters bid for it: note each with order bid.
`, cobra.MaximumNArgs(1), func(ctx context.Context, args []string) error {
			if (len(args) == 0) == (len(items) == 0 && note == "") {
				return fault.New(fault.Usage, "order-what", "an order is for a line, or for what --item and --note say",
					"name the line, or give --item MATERIAL:SHAPE:LENGTHxWIDTH:COUNT")
			}
			if len(args) > 0 && len(lots) > 0 {
				return fault.New(fault.Usage, "order-lots", "the lots of an order for a line are named when it is sent",
					"leave --lot out").AtField("lot")
			}
			return r.with(ctx, func(a *house.House) error {
				on, err := flagDate("due", due)
				if err != nil {
					return err
				}
				var drafted answer.Orders
				if len(args) == 0 {
					req := stockroom.OrderDraft{Cutter: cutter, Due: on, Note: note, Claims: claims}
					if req.Write, err = r.write(); err != nil {
						return err
					}
					if req.Items, err = orderItems(items); err != nil {
						return err
					}
					if req.Lots, err = supplying(lots); err != nil {
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
					if drafted, err = a.Lines.OrderDraft(ctx, lines.OrderDraft{Plan: req, Cutter: cutter, Due: on,
						Claims: claims}); err != nil {
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
	c.Flags().StringVar(&cutter, "cutter", "", "the cutter (without: cutters bid for it)")
	c.Flags().StringVar(&due, "due", "", "when it is due")
	c.Flags().StringArrayVar(&items, "item", nil, "MATERIAL:SHAPE:LENGTHxWIDTH:COUNT, wanted without a line; may be "+
		"repeated")
	c.Flags().StringArrayVar(&lots, "lot", nil, "LOT[:PIECES[:CARATS]][@ITEM] to be supplied, for item A, B ...; may "+
		"be "+
		"repeated")
	c.Flags().BoolVar(&claims, "cutter-bears", false, "the cutter bears the breakage of what is supplied")
	c.Flags().StringVar(&note, "note", "", "what the cutter is to do, in words, without a line")
	return r.writes(c)
}

// supplying reads LOT, LOT:PIECES or LOT:PIECES:CARATS, each with @ITEM or without.
func supplying(args []string) ([]stockroom.Supplying, error) {
	var out []stockroom.Supplying
	for _, text := range args {
		lot, item, _ := strings.Cut(text, "@")
		m, err := moving([]string{lot})
		if err != nil {
			return nil, err
		}
		out = append(out, stockroom.Supplying{Moving: m[0], Item: item})
	}
	return out, nil
}

func (r *root) orderBid() *cobra.Command {
	var req stockroom.OrderBid
	var p price
	var freight, basis string
	c := verb("bid ORDER", "Note what a cutter asks for an order, and compare all bids",
		`  lotpaper order bid O1 --cutter "A Cutter" --basis per_piece --price 12 --freight 40 --days 20
  lotpaper order bid O1 --cutter "B Cutter" --basis per_carat --price 9.50 --currency USD --days 35
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			var err error
			req.Number, req.Basis = args[0], book.PriceBasis(strings.ReplaceAll(basis, "-", "_"))
			if req.Price, _, err = r.foreign(ctx, a, "price", p.amount, p.currency, "", 1); err != nil {
				return err
			}
			if freight != "" {
				if req.Freight, _, err = r.foreign(ctx, a, "freight", freight, p.currency, "", 1); err != nil {
					return err
				}
			}
			done, err := a.Stockroom.OrderBid(ctx, req)
			if err != nil {
				return err
			}
			return r.wroteBook("order-compare", &done)
		}))
	f := c.Flags()
	f.StringVar(&req.Cutter, "cutter", "", "who bids (required)")
	f.StringVar(&basis, "basis", "", "what the price is for: per_carat, per_piece or total (required)")
	f.StringVar(&p.amount, "price", "", "net of tax (required)")
	f.StringVar(&p.currency, "currency", "", "of price and freight (default: the book's)")
	f.StringVar(&freight, "freight", "", "both ways")
	f.Int64Var(&req.Days, "days", 0, "from sending to coming back")
	f.BoolVar(&req.Claims, "cutter-bears", false, "the cutter bears the breakage of what is supplied")
	f.StringVar(&req.Note, "note", "", "a note")
	return r.writes(c)
}

func (r *root) orderCompare() *cobra.Command {
	var on string
	c := verb("compare ORDER", "Compare the bids for an order by what one accepted stone costs",
		`  lotpaper order compare O1

Price, freight, and the supplied stones that the cutter's record says will break,
not be as wanted or not come back, for each stone that will come back as wanted.
`, cobra.ExactArgs(1), r.reading(func(ctx context.Context, a *house.House, args []string) error {
			req := stockroom.OrderCompare{Number: args[0]}
			var err error
			if req.On, err = flagDate("date", on); err != nil {
				return err
			}
			compared, err := a.Stockroom.OrderCompare(ctx, req)
			if err != nil {
				return err
			}
			return r.show("order-compare", &compared)
		}))
	c.Flags().StringVar(&on, "date", "", "the day that the work would begin (default: today)")
	return c
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
	c := verb("list", "List the orders, overdue ones first", "", cobra.NoArgs,
		r.reading(func(ctx context.Context, a *house.House,
			_ []string) error {
			orders, err := a.Stockroom.OrderList(ctx, stockroom.OrderList{})
			if err != nil {
				return err
			}
			if out.path == "" && !r.Streams.JSON {
				r.screen(orders.Overview())
				return nil
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
	c := verb("send ORDER [LOT:PIECES:CARATS[@ITEM] ...]", "Issue an order as a workbook and send the supplied stones "+
		"with it",
		`  lotpaper order send O1 --bid 2
  lotpaper order send O1 P1-12:6:18.440@A P1-13@B -o order.xlsx
`, cobra.MinimumNArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			var err error
			req.Number = args[0]
			if req.Lots, err = supplying(args[1:]); err != nil {
				return err
			}
			var done answer.OrderSent
			if err := r.issuing(out, func() (answer.DocumentFile, error) {
				done, err = a.Stockroom.OrderSend(ctx, req)
				return done.Document, err
			}); err != nil || out.path == "-" {
				return err
			}
			return r.moved("order-send", &done)
		}))
	c.Flags().StringVar((*string)(&req.From), "from", "", "the office that they leave (default: where they lie)")
	c.Flags().Int64Var(&req.Bid, "bid", 0, "the bid that is taken: the order goes to its cutter")
	out.flags(c, "")
	return r.moves(c, &req.Movement)
}

// received are the flags of what came back, given by hand.
type received struct {
	stockroom.Came
	carats, length, width, depth            string
	rejected, from, uncut, rough, chips     string
	file, price, charge, currency, rateText string
	freight, roughNRV                       string
	per                                     int64
}

func (f *received) flags(c *cobra.Command) {
	s := c.Flags()
	s.StringVar(&f.file, "file", "", "the order's workbook with its sheet Return filled in")
	s.StringVar(&f.Item, "item", "", "the item of the order: A, B ... (default: the one that the lot was sent for)")
	s.Int64Var(&f.Pieces, "pieces", 0, "stones as wanted that came back")
	s.StringVar(&f.carats, "carats", "", "their weight")
	s.StringVar(&f.from, "from", "", "PIECES[:CARATS] of what was sent that was cut (default: as many as came)")
	s.StringVar(&f.rejected, "rejected", "", "PIECES:CARATS that were cut and are not as wanted")
	s.Int64Var(&f.Broken, "broken", 0, "pieces that broke")
	s.StringVar(&f.uncut, "uncut", "", "PIECES:CARATS that came back uncut")
	s.StringVar(&f.rough, "rough", "", "PIECES:CARATS left over that can be cut again: a lot of their own")
	s.StringVar(&f.chips, "chips", "", "weight of powder and chips")
	s.StringVar(&f.Shape, "shape", "", "shape of the cut stones (default: as ordered)")
	s.StringVar(&f.length, "length", "", "mm")
	s.StringVar(&f.width, "width", "", "mm")
	s.StringVar(&f.depth, "depth", "", "mm")
	s.StringVar(&f.Material, "material", "", "what the stones are, when the cutter says otherwise or supplies them")
	s.StringVar(&f.Treatment, "treatment", "", "of stones that the cutter supplies")
	s.StringVar(&f.Remarks, "remarks", "", "the cutter's own")
	s.StringVar(&f.price, "price", "", "of the stones that the cutter supplies, in all (default: by the bid)")
	s.StringVar(&f.charge, "charge", "", "the cutter's charge for what was cut")
	s.StringVar(&f.freight, "freight", "", "the freight that the cutter bills for what came")
	s.StringVar(&f.roughNRV, "rough-nrv", "", "what the rough left over would bring, in the book's currency: it takes "+
		"that out of the cost first (default: no cost)")
	s.StringVar(&f.currency, "currency", "", "of price, charge and freight (default: the book's)")
	s.StringVar(&f.rateText, "rate", "", "book units per unit of that currency (default: the rates table's)")
	s.Int64Var(&f.per, "per", 1, "the rate is per 1, 100 or 1000 units")
}

// weighed reads PIECES:CARATS, or PIECES alone when part is true.
func weighed(name, text string, part bool) (book.Weighed, error) {
	if text == "" {
		return book.Weighed{}, nil
	}
	back, err := moving([]string{"lot:" + text})
	if err != nil || !part && back[0].Carats == 0 {
		return book.Weighed{}, fault.New(fault.Usage, "weighed-form", "pieces and their weight are written "+
			"PIECES:CARATS, "+
			"but are \""+text+"\"", "write it like 2:3.410").AtField(name)
	}
	return book.Weighed{Pieces: back[0].Pieces, Carats: back[0].Carats}, nil
}

// came is what came back of a lot, or of an item when no lot is named.
func (f *received) came(lot string) (stockroom.Came, error) {
	x := f.Came
	x.Lot = lot
	var err error
	if x.Carats, err = flagCarat("carats", f.carats); err != nil {
		return x, err
	}
	if x.Chips, err = flagCarat("chips", f.chips); err != nil {
		return x, err
	}
	for _, w := range []struct {
		name, text string
		to         *book.Weighed
	}{{"from", f.from, &x.From}, {"rejected", f.rejected, &x.Rejected}, {"uncut", f.uncut, &x.Uncut},
		{"rough", f.rough, &x.Rough}} {
		if *w.to, err = weighed(w.name, w.text, w.name == "from"); err != nil {
			return x, err
		}
	}
	for _, d := range []struct {
		name, text string
		to         *book.Size
	}{{"length", f.length, &x.Length}, {"width", f.width, &x.Width}, {"depth", f.depth, &x.Depth}} {
		m, err := flagMillimetre(d.name, d.text)
		if err != nil {
			return x, err
		}
		*d.to = book.Size{Min: m, Max: m}
	}
	return x, nil
}

// billed reads price, charge and rate.
func (f *received) billed(ctx context.Context, r *root, a *house.House, req *stockroom.OrderReceive) (err error) {
	if f.price != "" {
		if req.Price, req.Rate, err = r.foreign(ctx, a, "price", f.price, f.currency, f.rateText, f.per); err != nil {
			return err
		}
	}
	if f.charge != "" {
		req.Charge, req.Rate, err = r.foreign(ctx, a, "charge", f.charge, f.currency, f.rateText, f.per)
		if err != nil {
			return err
		}
	}
	if f.freight != "" {
		req.Freight, req.Rate, err = r.foreign(ctx, a, "freight", f.freight, f.currency, f.rateText, f.per)
		if err != nil {
			return err
		}
	}
	if f.roughNRV != "" {
		req.RoughNRV, _, err = r.foreign(ctx, a, "rough-nrv", f.roughNRV, "", "", 1)
	}
	return err
}

func (r *root) orderReceive() *cobra.Command {
	var req stockroom.OrderReceive
	var f received
	var out output
	c := verb("receive ORDER [LOT]", "Book what came back of an order, as one batch with its receipt",
		`  lotpaper order receive O1 --file ORDER-2026-0001.xlsx --charge 60
  lotpaper order receive O1 P1-12 --pieces 5 --carats 4.655 --broken 1 --length 7 --width 5
  lotpaper order receive O2 --item A --pieces 4 --carats 5.120 --treatment none      bought at the bid's price

The cut stones are a new lot that keeps the cost; their identity falls back to
what is stated until they are tested again. What is not named stays out.
`, cobra.RangeArgs(1, 2), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			byHand := len(args) == 2 || f.Item != ""
			if (f.file != "") == byHand {
				return fault.New(fault.Usage, "receive-what", "a return is of one lot, of an item that the cutter "+
					"supplies, or "+
					"the cutter's whole sheet", "name the lot, or give --item or --file")
			}
			req.Number = args[0]
			if err := f.billed(ctx, r, a, &req); err != nil {
				return err
			}
			if f.file != "" {
				in, err := r.input(f.file, "")
				if err != nil {
					return err
				}
				defer in.Close()
				req.File = &in.Input
			} else {
				x, err := f.came(strings.Join(args[1:], ""))
				if err != nil {
					return err
				}
				req.Came = []stockroom.Came{x}
			}
			if err := out.workbookOnly(); err != nil {
				return err
			}
			var done answer.OrderReceived
			if err := r.issuing(out, func() (paper answer.DocumentFile, err error) {
				done, err = a.Stockroom.OrderReceive(ctx, req)
				return done.Document, err
			}); err != nil || out.path == "-" {
				return err
			}
			return r.moved("order-receive", &done)
		}))
	f.flags(c)
	c.Flags().BoolVar(&req.Claim, "claim", false, "the cost of what broke is claimed from the cutter")
	comes(c, &req.Office, "what was sent to the one that it left, what is bought to the first")
	out.flags(c, "")
	return r.moves(c, &req.Movement)
}

func (r *root) orderClose() *cobra.Command {
	var req stockroom.OrderClose
	c := verb("close ORDER", "End an order: what did not come back is missing",
		`  lotpaper order close O1 --missing claim --reason "two never came back"

The cost of what is missing is an expense (loss), or a claim on the cutter (claim).
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			req.Number = args[0]
			done, err := a.Stockroom.OrderClose(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("order-receive", &done)
		}))
	c.Flags().StringVar(&req.Missing, "missing", "", "loss or claim, when something is still out")
	return r.writes(c)
}

func (r *root) orderCancel() *cobra.Command {
	var req stockroom.OrderCancel
	return r.writes(verb("cancel ORDER", "Give up an order of which nothing is out", "", cobra.ExactArgs(1),
		r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			req.Number = args[0]
			done, err := a.Stockroom.OrderCancel(ctx, req)
			if err != nil {
				return err
			}
			return r.wroteBook("order-show", &done)
		})))
}
