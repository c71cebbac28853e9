package cli

import (
	"context"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/lines"
)

func (r *root) linePrice() *cobra.Command {
	var p planFlags
	var explain string
	var sets []string
	var out output
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
		if explain != "" && out.path != "" {
			return fault.New(fault.Usage, "flags-together", "--explain and --output do not go together",
				"a file holds every design: leave --explain out").AtField("explain")
		}
		req, err := p.request(r, args[0])
		if err != nil {
			return err
		}
		line, err := a.Lines.Price(ctx, lines.Price{Plan: req, Sets: setsOf(sets)})
		if err != nil {
			return err
		}
		r.faults(line.Warnings)
		return r.showPrice(line, explain, out)
	}))
	p.flags(c)
	c.Flags().StringVar(&explain, "explain", "", "show the whole cost of this design")
	c.Flags().StringArrayVar(&sets, "set", nil, "designs that are sold together, with a comma between; less the "+
		"setting set_discount")
	out.ofList(c)
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

// showPrice prints the prices of a line, or the whole cost of one design.
func (r *root) showPrice(line answer.LinePrice, explain string, out output) error {
	if explain == "" || r.Streams.JSON || out.path != "" {
		return r.list("line-price", &line, out)
	}
	d := line.Design(explain)
	if d == nil {
		return fault.New(fault.NotFound, "design-unknown", "the line has no design "+explain,
			"see: lotpaper line show "+line.Line).AtField("explain")
	}
	r.screen(d.Screen())
	return nil
}
