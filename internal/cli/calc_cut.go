package cli

import (
	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/calc"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// stoneFlags are the measures of one stone.
var stoneFlags = []string{
	"shape=round, oval, pear, marquise, emerald cut, cushion, trillion, oval cabochon ...",
	"length=mm; of a round stone the diameter", "width=mm (default: as the length)",
	"depth=mm", "sg=specific gravity, e.g. 3.53", "species=instead of --sg: species, variety, group or trade name",
}

func (k *calculator) stone() calc.WeightRequest {
	s := calc.WeightRequest{
		Shape: k.need("shape"), Length: must(k, "length", above0(num.ParseMillimetre)), Width: read(k, "width",
			above0(num.ParseMillimetre)),
		Depth: must(k, "depth", above0(num.ParseMillimetre)), SG: read(k, "sg", parsePositive(false)),
		Species: k.text("species"),
	}
	k.only("sg", "species")
	return s
}

func (r *root) calcWeight() *cobra.Command {
	flags := append([]string{"bulge=your own allowance for girdle and bulge in percent, instead of the fitted one",
		"carats=known weight, to be scaled to another material", "from-sg=specific gravity of that weight"},
		stoneFlags...)
	return r.calc("weight", "Estimate a weight from measures",
		`  lotpaper calc weight --shape oval --length 9 --width 7 --depth 4.5 --sg 3.53
  lotpaper calc weight --shape round --length 6.5 --depth 4 --species topaz
  lotpaper calc weight --carats 1.00 --from-sg 3.52 --sg 4.00

The second form takes the specific gravities of the species; the third scales a
known weight to another material of the same cut and size.
`, flags, func(k *calculator) (answer.Calculation, error) {
			if k.has("carats") || k.has("from-sg") {
				carats := must(k, "carats", above0(num.ParseCarat))
				from, to := must(k, "from-sg", parsePositive(false)), must(k, "sg", parsePositive(false))
				if err := k.ready(); err != nil {
					return noAnswer, err
				}
				return calc.WeightBySG(calc.WeightBySGRequest{Carats: carats, From: from, To: to})
			}
			s := k.stone()
			s.Bulge, s.HasBulge = read(k, "bulge", num.ParsePercent), k.has("bulge")
			if err := k.ready(); err != nil {
				return noAnswer, err
			}
			return calc.Weight(s)
		})
}

func (r *root) calcRecut() *cobra.Command {
	flags := append([]string{
		"weight=ct, when the stone was weighed (default: estimated); with --after what it weighed before",
		"to=shape to cut to (default: any that fits)", "most=how many options (default 5)",
		"breakage=chance in percent that the stone breaks", "price-before=per carat as it is",
		"price-after=per carat when recut", "charge=of the cutter, for one stone",
		"after=ct after cutting: gives loss and yield", "rough=ct of rough: gives what a finished carat costs",
		"rough-price=per carat of rough", "yield=percent of the rough that is finished", currencyFlag,
	}, stoneFlags...)
	return r.calc("recut", "What a stone can be cut to, its loss, and what rough costs finished",
		`  lotpaper calc recut --shape oval --length 9.4 --width 7.3 --depth 4.8 --species topaz --weight 3.02
  lotpaper calc recut --weight 2.03 --after 1.38
  lotpaper calc recut --rough 186.0 --rough-price 12 --yield 30

The first form lists the largest calibrated sizes that fit into the stone.
`, flags, func(k *calculator) (answer.Calculation, error) {
			switch {
			case k.has("after"):
				before, after := must(k, "weight", above0(num.ParseCarat)), read(k, "after", above0(num.ParseCarat))
				if err := k.ready(); err != nil {
					return noAnswer, err
				}
				return calc.Yield(calc.YieldRequest{Before: before, After: after})
			case k.has("rough"):
				k.need("rough-price")
				rough, price, charge, yield := read(k, "rough", above0(num.ParseCarat)), k.price("rough-price"),
					k.money("charge"), must(k, "yield", num.ParsePercent)
				if err := k.ready(); err != nil {
					return noAnswer, err
				}
				return calc.Rough(calc.RoughRequest{Rough: rough, Price: price, Charge: charge, Yield: yield})
			}
			req := calc.RecutRequest{
				Stone: k.stone(), Weight: read(k, "weight", above0(num.ParseCarat)), Outline: k.text("to"),
				Breakage: read(k, "breakage", num.ParsePercent), HasRisk: k.has("breakage"),
				Before: k.price("price-before"), After: k.price("price-after"), Charge: k.money("charge"), Most: read(k,
					"most", parseCount(1)),
			}
			if k.has("price-before") != k.has("price-after") {
				k.faults.Add(fault.New(fault.Usage, "price-missing", "a gain is worked out from two prices per carat",
					"give both --price-before and --price-after").AtField("price_after"))
			}
			if err := k.ready(); err != nil {
				return noAnswer, err
			}
			return calc.Recut(req)
		})
}

func (r *root) calcAngle() *cobra.Command {
	return r.calc("angle", "Critical and least pavilion angle of a refractive index", `  lotpaper calc angle --ri 1.544
  lotpaper calc angle --species tanzanite

A species takes its lowest index and says how to lay the table.
`, []string{"ri=refractive index as read, e.g. 1.544", "species=species, variety, group or trade name"},
		func(k *calculator) (answer.Calculation, error) {
			k.only("ri", "species")
			ri := read(k, "ri", num.ParseDec)
			if err := k.ready(); err != nil {
				return noAnswer, err
			}
			return calc.Angle(calc.AngleRequest{RI: ri, Species: k.text("species")})
		})
}

func (r *root) calcRound() *cobra.Command {
	return r.calc("round", "A scale reading as documents state it", `  lotpaper calc round --carats 1.768
  lotpaper calc round --carats 1.768 --rule half-up
`, []string{"carats=the scale's reading, 3 decimals", "rule=nine (default) or half-up"},
		func(k *calculator) (answer.Calculation, error) {
			carats, rule := must(k, "carats", num.ParseCarat), num.RuleNine
			if k.has("rule") {
				rule = read(k, "rule", num.ParseCaratRule)
			}
			if err := k.ready(); err != nil {
				return noAnswer, err
			}
			return calc.Round(calc.RoundRequest{Carats: carats, Rule: rule})
		})
}
