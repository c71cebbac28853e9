package cli

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/lines"
	"lotpaper/internal/ui"
)

func (r *root) linePrice() *cobra.Command {
	var p planFlags
	var explain string
	var sets []string
	c := verb("price LINE", "Say what each design of a line costs and earns as planned", `  lotpaper line price Sea
  lotpaper line price Sea --explain R1             the whole cost as a tree: amount, formula, rates with their dates
  lotpaper line price Sea --assume metal/gold=95   the same line, planned and priced with another gold price
  lotpaper line price Sea --set R1,E1              the price of pieces that are sold together

Rates are those valid on --date; a rate that is missing is a fault that names
the row to add. A design without price_trade is priced by the settings price_by,
margin or markup, and by the ladder price_step, price_below, price_up: the plan
is made with the average worth of the stones that fit, the price with the stones
that the plan took. Retail, memo and foreign price lists, taxes and quantity
breaks are settings too: lotpaper config show.
`, cobra.ExactArgs(1), r.reading(func(ctx context.Context, a *house.House, args []string) error {
		req, err := p.request(r, args[0])
		if err != nil {
			return err
		}
		line, err := a.Lines.Price(ctx, lines.Price{Plan: req, Sets: setsOf(sets)})
		if err != nil {
			return err
		}
		r.faults(line.Warnings)
		return r.showPrice(line, explain)
	}))
	p.flags(c)
	c.Flags().StringVar(&explain, "explain", "", "show the whole cost of this design")
	c.Flags().StringArrayVar(&sets, "set", nil, "designs that are sold together, with a comma between; less the "+
		"setting set_discount")
	return r.writes(c)
}

// setsOf reads lists of designs with a comma between.
func setsOf(texts []string) [][]string {
	var out [][]string
	for _, text := range texts {
		designs := strings.Split(text, ",")
		for i := range designs {
			designs[i] = strings.TrimSpace(designs[i])
		}
		out = append(out, designs)
	}
	return out
}

func (r *root) showPrice(line answer.LinePrice, explain string) error {
	if r.Streams.JSON {
		return r.Streams.Document("line-price", line)
	}
	if explain != "" {
		d := line.Design(explain)
		if d == nil {
			return fault.New(fault.NotFound, "design-unknown", "the line has no design "+explain,
				"see: lotpaper line show "+line.Line).AtField("explain")
		}
		r.Streams.Printf("%s", d.Text())
		return nil
	}
	t := (&ui.Table{Header: []string{"design", "wanted", "made", "cost", "trade", "margin %", "retail net", "margin %",
		"break-even", "contributes", "fixed", "earns", "note"}}).Numbers(1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11)
	for i := range line.Designs {
		d := &line.Designs[i]
		t.Add(d.Design, strconv.FormatInt(d.Wanted, 10), strconv.FormatInt(d.Made, 10), d.Cost.Amount.String(),
			d.Trade.String(), d.TradeMargin.Fixed(1), d.Retail.String(), d.RetailMargin.Fixed(1),
			d.BreakEven.String(), d.Contribution.String(), d.Fixed.String(), d.Earned.String(), d.Remark())
	}
	r.Streams.Table(t)
	r.showTiers(line)
	for _, s := range line.Sets {
		r.Streams.Printf("set of %s: %s, cost %s, margin %s %%\n", strings.Join(s.Designs, ", "), s.Price, s.Cost,
			s.Margin.Fixed(1))
	}
	r.Streams.Printf("planned units cost %s and sell for %s; fixed cost %s; the line earns %s\n", line.Cost.Words(),
		line.Sales.Words(), line.Fixed.Words(), line.Earned.Words())
	r.Streams.Printf("%s\n", line.Words)
	if len(line.DropOrder) > 1 {
		r.Streams.Printf("then %s\n", strings.Join(line.DropOrder[1:], ", "))
	}
	r.Streams.Notef("%s\n", line.Caution)
	return nil
}

// showTiers prints the price lists beyond the trade and retail price.
func (r *root) showTiers(line answer.LinePrice) {
	t := (&ui.Table{Header: []string{"design", "price list", "price", "buyer pays", "net", "margin %", "how"}}).
		Numbers(2, 3, 4, 5)
	for _, d := range line.Designs {
		for _, o := range d.Prices {
			if o.Tier != "trade" && o.Tier != "retail" {
				t.Add(d.Design, o.Tier, o.List.Words(), o.Gross.Words(), o.Price.String(), o.Margin.Fixed(1), o.Words)
			}
			for _, b := range o.Broken {
				t.Add(d.Design, fmt.Sprintf("%s from %d", o.Tier, b.From), b.Price.Words(), b.Price.Words(),
					b.Price.String(), b.Margin.Fixed(1), "quantity break")
			}
		}
	}
	if len(t.Rows) > 0 {
		r.Streams.Table(t)
	}
}
