package cli

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/costing"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/lines"
	"lotpaper/internal/ui"
)

// priceReport is a priced line for programs.
type priceReport struct {
	Line         string              `json:"line"`
	On           string              `json:"on"`
	Plan         planReport          `json:"plan"`
	Designs      []designPriceReport `json:"designs"`
	Cost         string              `json:"cost"`
	Sales        string              `json:"sales"`
	Contribution string              `json:"contribution"`
	Fixed        string              `json:"fixed"`
	Earned       string              `json:"earned"`
	Drop         string              `json:"drop"`
	DropOrder    []string            `json:"drop_order"` // designs that the line earns more without, the worst first
	Words        string              `json:"words"`
	Sets         []setReport         `json:"sets"`
	Caution      string              `json:"caution"`
}

type designPriceReport struct {
	Design       string            `json:"design"`
	Wanted       int64             `json:"wanted"`
	Made         int64             `json:"made"`
	Cost         *costing.Node     `json:"cost"`
	TradePrice   string            `json:"trade_price"`
	TradeMargin  string            `json:"trade_margin_percent"`
	Open         bool              `json:"priced_by_book"` // the line sets no trade price
	RetailPrice  string            `json:"retail_price_net"`
	RetailMargin string            `json:"retail_margin_percent"`
	Prices       []costing.Offered `json:"prices"`
	BreakEven    string            `json:"break_even_units"`
	BreakEvenAt  *string           `json:"break_even_sales"` // null: no quantity breaks even
	Contribution string            `json:"contribution"`
	Fixed        string            `json:"fixed"`
	Earned       string            `json:"earned"`
	Note         string            `json:"note"`
}

type setReport struct {
	Designs []string `json:"designs"`
	Price   string   `json:"price"`
	Cost    string   `json:"cost"`
	Margin  string   `json:"margin_percent"`
}

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
		line, err := a.Lines.LinePrice(ctx, req)
		if err != nil {
			return err
		}
		r.faults(line.Warnings)
		return r.showPrice(line, explain, sets)
	}))
	p.flags(c)
	c.Flags().StringVar(&explain, "explain", "", "show the whole cost of this design")
	c.Flags().StringArrayVar(&sets, "set", nil, "designs that are sold together, with a comma between; less the "+
		"setting set_discount")
	return r.writes(c)
}

func (r *root) showPrice(line *lines.LinePrice, explain string, sets []string) error {
	if explain != "" {
		for _, d := range line.Designs {
			if strings.EqualFold(d.Design, explain) && !r.Streams.JSON {
				r.explainDesign(d)
				return nil
			}
		}
		if !r.Streams.JSON {
			return fault.New(fault.NotFound, "design-unknown", "the line has no design "+explain,
				"see: lotpaper line show "+line.Line).AtField("explain")
		}
	}
	rep := priceReport{Line: line.Line, On: string(line.Card.On), Plan: reportPlan(line.Plan), Cost: line.Cost.String(),
		Sales: line.Sales.String(), Contribution: line.Result.Contribution.String(), Fixed: line.Fixed.String(),
		Earned: line.Earned.String(),
		Drop:   line.Drop, DropOrder: append([]string{}, line.Result.Drop...), Words: line.Result.Words,
		Designs: []designPriceReport{}, Sets: []setReport{}, Caution: costing.AppraisalCaution}
	t := (&ui.Table{Header: []string{"design", "wanted", "made", "cost", "trade", "margin %", "retail net", "margin %",
		"break-even", "contributes", "fixed", "earns", "note"}}).Numbers(1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11)
	for _, d := range line.Designs {
		x := designPriceReport{
			Design: d.Design, Wanted: d.Wanted, Made: d.Made, Cost: d.Cost, TradePrice: d.Trade.Price.String(),
			TradeMargin: d.Trade.Margin.Fixed(1), Open: d.Open,
			RetailPrice: d.Retail.Price.String(), RetailMargin: d.Retail.Margin.Fixed(1), Prices: d.Prices,
			BreakEven:    breakEven(d),
			Contribution: d.Result.Contribution.String(), Fixed: d.Result.Fixed.String(), Earned: d.Earned.String(),
			Note: d.Note,
		}
		if d.BreakEven.Units >= 0 {
			sales := d.BreakEven.Sales.String()
			x.BreakEvenAt = &sales
		}
		rep.Designs = append(rep.Designs, x)
		note := x.Note
		if d.Open {
			note = strings.TrimSuffix("priced by the book; "+note, "; ")
		}
		t.Add(x.Design, strconv.FormatInt(x.Wanted, 10), strconv.FormatInt(x.Made, 10), d.Cost.Amount.String(),
			x.TradePrice, x.TradeMargin, x.RetailPrice, x.RetailMargin, x.BreakEven, x.Contribution, x.Fixed,
			x.Earned, note)
	}
	for _, set := range sets {
		s, err := line.Set(strings.Split(set, ","))
		if err != nil {
			return err
		}
		rep.Sets = append(rep.Sets, setReport{s.Designs, s.Price.Price.String(), s.Price.Cost.String(),
			s.Price.Margin.Fixed(1)})
	}
	if r.Streams.JSON {
		return r.Streams.Document("line-price", rep)
	}
	r.Streams.Table(t)
	r.showTiers(line)
	for _, s := range rep.Sets {
		r.Streams.Printf("set of %s: %s, cost %s, margin %s %%\n", strings.Join(s.Designs, ", "), s.Price,
			s.Cost, s.Margin)
	}
	r.Streams.Printf("planned units cost %s and sell for %s; fixed cost %s; the line earns %s\n", line.Cost.Words(),
		line.Sales.Words(), line.Fixed.Words(), line.Earned.Words())
	r.Streams.Printf("%s\n", line.Result.Words)
	if len(line.Result.Drop) > 1 {
		r.Streams.Printf("then %s\n", strings.Join(line.Result.Drop[1:], ", "))
	}
	r.Streams.Notef("%s\n", costing.AppraisalCaution)
	return nil
}

// explainDesign prints a design's cost tree and its prices.
func (r *root) explainDesign(d lines.PricedDesign) {
	r.Streams.Printf("%s", d.Cost.Text())
	for _, o := range d.Prices {
		r.Streams.Printf("%s price %s: %s; margin %s %% (%s %% before the price ladder)\n", o.Tier, o.List.Words(),
			o.Words, o.Margin.Fixed(2), o.Before.Fixed(2))
		for _, b := range o.Broken {
			r.Streams.Printf("  from %d pieces %s, margin %s %%\n", b.From, b.Price.Words(), b.Margin.Fixed(2))
		}
	}
}

// showTiers prints the price lists beyond the trade and retail price.
func (r *root) showTiers(line *lines.LinePrice) {
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

func breakEven(d lines.PricedDesign) string {
	if d.BreakEven.Units < 0 || d.BreakEven.Contribution.Sign() <= 0 {
		return "never"
	}
	return strconv.FormatInt(d.BreakEven.Units, 10)
}
