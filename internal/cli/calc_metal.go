package cli

import (
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/calc"
	"lotpaper/internal/costing"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

func (r *root) calcAlloy() *cobra.Command {
	return r.calc("alloy", "Density and fineness of a recipe",
		`  lotpaper calc alloy --part Au=583 --part Ag=104 --part Cu=313
`, []string{"part...=METAL=PARTS per thousand by mass, once for each metal; METAL=PARTS@DENSITY with a density of " +
			"your own"}, func(k *calculator) (answer.Calculation, error) {
			var parts []costing.AlloyPart
			for _, text := range *k.lists["part"] {
				p, f := parseAlloyPart(text)
				k.faults.Add(f)
				parts = append(parts, p)
			}
			if len(parts) == 0 {
				k.faults.Add(fault.New(fault.Usage, "flag-missing", "--part is missing",
					"give each metal, e.g. --part Au=750 --part Ag=125 --part Cu=125").AtField("part"))
			}
			if err := k.ready(); err != nil {
				return noAnswer, err
			}
			return calc.Alloy(calc.AlloyRequest{Parts: parts})
		})
}

func (r *root) calcWax() *cobra.Command {
	return r.calc("wax", "Metal of a wax model, or of a model in another metal",
		`  lotpaper calc wax --wax 2.4 --metal sterling
  lotpaper calc wax --wax 2.4 --multiplier 10.5
  lotpaper calc wax --model 6.22 --of sterling --metal 14k

The piece alone: sprue and button come on top and back as scrap.
`, []string{"wax=g of the wax model", "metal=alloy, e.g. sterling or 14k", "multiplier=the caster's rule of thumb",
			"model=g of a model in another metal", "of=the metal of that model"},
		func(k *calculator) (answer.Calculation, error) {
			if k.only("wax", "model") == "model" {
				mass, of, to := read(k, "model", above0(num.ParseGram)), k.need("of"), k.need("metal")
				if err := k.ready(); err != nil {
					return noAnswer, err
				}
				return calc.Master(calc.MasterRequest{Mass: mass, From: of, To: to})
			}
			wax := read(k, "wax", above0(num.ParseGram))
			k.only("metal", "multiplier")
			multiplier := read(k, "multiplier", parsePositive(false))
			if err := k.ready(); err != nil {
				return noAnswer, err
			}
			return calc.Wax(calc.WaxRequest{Wax: wax, Metal: k.text("metal"), Multiplier: multiplier})
		})
}

func (r *root) calcRing() *cobra.Command {
	return r.calc("ring", "A ring size in every system", `  lotpaper calc ring --system US --size 7
  lotpaper calc ring --diameter 17.3
`, []string{"system=US, UK, ISO, IT or JP", "size=size of that system, e.g. 7, 6 1/2, N1/2", "diameter=inside, mm"},
		func(k *calculator) (answer.Calculation, error) {
			if k.only("system", "diameter") == "system" {
				k.need("size")
			}
			diameter := read(k, "diameter", parsePositive(false))
			if err := k.ready(); err != nil {
				return noAnswer, err
			}
			return calc.Ring(calc.RingRequest{System: k.text("system"), Size: k.text("size"), Diameter: diameter})
		})
}

// parseAlloyPart reads METAL=PARTS or METAL=PARTS@DENSITY.
func parseAlloyPart(s string) (costing.AlloyPart, *fault.Fault) {
	bad := func(why string) *fault.Fault {
		return fault.New(fault.Usage, "alloy-part", "a part of an alloy is METAL=PARTS, but is \""+s+"\": "+why,
			"write e.g. Au=583, or Xy=20@7.3 with a density of your own").AtField("part")
	}
	metal, rest, found := strings.Cut(s, "=")
	p := costing.AlloyPart{Metal: strings.TrimSpace(metal)}
	if !found || p.Metal == "" {
		return p, bad("there is no metal and =")
	}
	parts, density, own := strings.Cut(rest, "@")
	var f *fault.Fault
	if p.Parts, f = num.ParseDec(parts); f != nil {
		return p, bad(f.What)
	}
	if own {
		if p.Density, f = num.ParseDec(density); f != nil {
			return p, bad(f.What)
		}
	}
	return p, nil
}
