package cli

import (
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/calc"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

func (r *root) calcSG() *cobra.Command {
	return r.calc("sg", "Specific gravity of a hydrostatic weighing, and what it can tell apart",
		`  lotpaper calc sg --air 4.02 --water 3.02
  lotpaper calc sg --air 4.020 --water 3.320 --wire 0.300 --water-c 20 --balance 0.001 --repeats 3
  lotpaper calc sg --between topaz,danburite --balance 0.01

Without --water-c no temperature correction is made. --between gives the
smallest weight for which the specific gravity separates two materials on this
balance, or never.
`, []string{
			"air=ct in air", "water=ct in water", "wire=ct of the wire in water, taken off --water",
			"balance=resolution in ct (default 0.01)", "repeats=weighings averaged (default 1)",
			"water-c=water temperature, degrees Celsius", "between=A,B: two materials by name",
		}, func(k *calculator) (answer.Calculation, error) {
			s := calc.SGRequest{Balance: read(k, "balance", above0(num.ParseCarat)), Repeats: read(k, "repeats",
				parseCount(1))}
			if k.has("between") {
				a, b, two := strings.Cut(k.text("between"), ",")
				if !two || strings.TrimSpace(a) == "" || strings.TrimSpace(b) == "" || strings.Contains(b, ",") {
					k.faults.Add(fault.New(fault.Usage, "between-form", "--between names two materials, but is \""+
						k.text("between")+"\"", "write --between A,B, e.g. topaz,danburite").AtField("between"))
				}
				for _, other := range []string{"air", "water", "wire", "water-c"} {
					if k.has(other) {
						k.faults.Add(fault.New(fault.Usage, "flags-together", "--between and --"+other+
							" do not go together", "leave out --"+other).AtField(other))
					}
				}
				if err := k.ready(); err != nil {
					return noAnswer, err
				}
				return calc.SGBetween(calc.SGBetweenRequest{A: strings.TrimSpace(a), B: strings.TrimSpace(b),
					Balance: s.Balance, Repeats: s.Repeats})
			}
			s.Air, s.Water, s.Wire = must(k, "air", above0(num.ParseCarat)), must(k, "water", num.ParseCarat),
				read(k, "wire", num.ParseCarat)
			s.WaterC, s.HasWaterC = read(k, "water-c", num.ParseDec), k.has("water-c")
			if err := k.ready(); err != nil {
				return noAnswer, err
			}
			return calc.SG(s)
		})
}

func (r *root) calcSample() *cobra.Command {
	return r.calc("sample", "How many stones to test so that a bad one is found",
		`  lotpaper calc sample --pieces 1000 --bad 1 --confidence 0.95
  lotpaper calc sample --bad-share 0.01 --confidence 0.95 --efficacy 0.9

The smallest random sample that finds at least one bad stone when at least
--bad of the pieces, or --bad-share of an endless lot, are bad.
`, []string{"pieces=in the lot", "bad=bad stones in the lot, at least", "bad-share=bad share of an endless lot, e.g. " +
			"0.01", "confidence=e.g. 0.95", "efficacy=chance that the test recognises a bad stone (default 1)"},
		func(k *calculator) (answer.Calculation, error) {
			var s calc.SampleRequest
			if k.only("pieces", "bad-share") == "pieces" {
				s.Pieces, s.Bad = read(k, "pieces", parseCount(1)), must(k, "bad", parseCount(1))
				if s.Pieces > 0 && s.Bad > s.Pieces {
					k.faults.Add(fault.New(fault.Usage, "bad-range", "more stones are bad than there are pieces",
						"give at most as many as --pieces").AtField("bad"))
				}
			} else {
				s.Share = read(k, "bad-share", parseShare(true))
			}
			s.Confidence, s.Efficacy = must(k, "confidence", parseShare(false)), read(k, "efficacy", parseShare(true))
			if err := k.ready(); err != nil {
				return noAnswer, err
			}
			return calc.Sample(s)
		})
}

func (r *root) calcLight() *cobra.Command {
	return r.calc("light", "Light dose of a display, years to a limit, and a stone's class",
		`  lotpaper calc light --lux 1500 --hours-per-day 12 --days-per-year 313 --limit-mlxh 3
  lotpaper calc light --species kunzite

For a named stone, what is not stated is assumed (a lit showcase) and said.
Years are worked out only from a limit that you or a source give.
`, []string{"lux=light on the stone", "hours-per-day=hours a day in it", "days-per-year=days a year in it",
			"limit-mlxh=dose limit in million lux-hours", "species=species, variety, group or trade name",
			"variety=as --species", "lamp=kind of lamp"}, func(k *calculator) (answer.Calculation, error) {
			var l calc.LightRequest
			number := read[num.Dec]
			if !k.has("species") && !k.has("variety") {
				number = must[num.Dec]
			}
			l.Display.Lux = number(k, "lux", parsePositive(false)).Float()
			l.Display.HoursPerDay = number(k, "hours-per-day", upTo(24)).Float()
			l.Display.DaysPerYear = number(k, "days-per-year", upTo(366)).Float()
			l.Display.LimitMlxh = read(k, "limit-mlxh", parsePositive(false)).Float()
			l.Display.Lamp = k.text("lamp")
			l.Species = k.text("species")
			if k.has("variety") {
				l.Species = k.text("variety")
			}
			if err := k.ready(); err != nil {
				return noAnswer, err
			}
			return calc.Light(l)
		})
}

// upTo reads a number above 0 and at most limit.
func upTo(limit int64) func(string) (num.Dec, *fault.Fault) {
	return func(s string) (num.Dec, *fault.Fault) {
		d, f := parsePositive(false)(s)
		if f == nil && d.Cmp(num.Int(limit)) > 0 {
			f = fault.New(fault.Usage, "number-range", "at most "+num.Int(limit).String()+" is possible, but found "+
				d.String(), "correct it")
		}
		return d, f
	}
}
