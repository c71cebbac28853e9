package cli

import (
	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/calc"
	"lotpaper/internal/costing"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

func (r *root) calcShare() *cobra.Command {
	return r.calc("share", "Share a joint cost over the parts of a parcel",
		`  lotpaper calc share --total 35000 --by nrv --part I=70x800-250 --part II=105x300-120 --part III=175x110-5
  lotpaper calc share --total 4000 --by carats --part A=25.5 --part B=15.2

A part is NAME=QUANTITYxPRICE-FURTHER: price and further cost are of one unit.
Amounts are whole minor units and add up to the total.
`, []string{"total=the cost to share", "by=value, nrv, carats or pieces", "part...=NAME=QUANTITYxPRICE-FURTHER, once " +
			"for each part", currencyFlag}, func(k *calculator) (answer.Calculation, error) {
			k.need("total")
			total, by := k.money("total"), k.need("by")
			var parts []costing.Part
			for _, text := range *k.lists["part"] {
				p, f := costing.ParsePart(text)
				k.faults.Add(f)
				parts = append(parts, p)
			}
			if err := k.ready(); err != nil {
				return noAnswer, err
			}
			return calc.Share(calc.ShareRequest{Total: total, By: book.ShareKey(by), Parts: parts})
		})
}

func (r *root) calcMargin() *cobra.Command {
	return r.calc("margin", "Price of a cost by margin or markup, or what a price earns",
		`  lotpaper calc margin --cost 50 --margin 50
  lotpaper calc margin --cost 50 --markup 50
  lotpaper calc margin --cost 50 --price 75

A margin is a share of the price, a markup a share of the cost.
`, []string{"cost=of the piece", "margin=percent of the price", "markup=percent of the cost", "price=that is asked",
			currencyFlag}, func(k *calculator) (answer.Calculation, error) {
			k.need("cost")
			m := calc.MarginRequest{Cost: k.money("cost"), Price: k.money("price")}
			switch by := k.only("margin", "markup", "price"); by {
			case "margin", "markup":
				m.Basis, m.Percent = costing.Basis(by), read(k, by, num.ParsePercent)
			}
			if err := k.ready(); err != nil {
				return noAnswer, err
			}
			return calc.Margin(m)
		})
}

func (r *root) calcBreakEven() *cobra.Command {
	return r.calc("breakeven", "How much must be sold to earn the fixed cost",
		`  lotpaper calc breakeven --price 180 --variable 135 --fixed 562500
`, []string{"price=of one unit", "variable=cost of one unit", "fixed=cost that does not grow with the units",
			currencyFlag}, func(k *calculator) (answer.Calculation, error) {
			for _, name := range []string{"price", "variable", "fixed"} {
				k.need(name)
			}
			price, variable, fixed := k.money("price"), k.money("variable"), k.money("fixed")
			if err := k.ready(); err != nil {
				return noAnswer, err
			}
			return calc.BreakEven(calc.BreakEvenRequest{Price: price, Variable: variable, Fixed: fixed})
		})
}

func (r *root) calcFX() *cobra.Command {
	return r.calc("fx", "An amount in another currency at a given rate",
		`  lotpaper calc fx --amount 1250 --from USD --to EUR --rate 0.9214
  lotpaper calc fx --amount 88000 --from JPY --to EUR --rate 0.6112 --per 100
`, []string{"amount=to turn", "from=its currency", "to=the currency wanted", "rate=units of --to per --per units of " +
			"--from", "per=1 (default), 100 or 1000"}, func(k *calculator) (answer.Calculation, error) {
			from, to := must(k, "from", num.ParseCurrency), must(k, "to", num.ParseCurrency)
			amount := must(k, "amount", func(s string) (num.Money, *fault.Fault) { return num.ParseMoney(s, from) })
			per := int64(1)
			if k.has("per") {
				per = int64(read(k, "per", parseCount(1)))
			}
			rate := must(k, "rate", func(s string) (num.Rate, *fault.Fault) { return num.ParseRate(s, per) })
			if err := k.ready(); err != nil {
				return noAnswer, err
			}
			return calc.FX(calc.FXRequest{Amount: amount, Rate: rate, To: to})
		})
}
