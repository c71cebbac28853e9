package calc

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"

	"lotpaper/internal/answer"
	"lotpaper/internal/chance"
	"lotpaper/internal/durability"
	"lotpaper/internal/identify"
	"lotpaper/internal/num"
)

// SGRequest is a hydrostatic weighing, as the balance shows it.
type SGRequest struct {
	Air, Water num.Carat // water: with the wire, when Wire is given
	Wire       num.Carat // weight of the wire in water
	Balance    num.Carat // resolution; 0: 0.01
	Repeats    int       // 0: once
	WaterC     num.Dec
	HasWaterC  bool
}

// resolution is that of a balance, by default 0.01 ct.
func resolution(balance num.Carat) num.Carat { return cmp.Or(balance, 10) }

// SG is the specific gravity of a weighing with its uncertainty.
func SG(r SGRequest) (answer.Calculation, error) {
	w := identify.Weighing{Air: r.Air.Float(), Water: (r.Water - r.Wire).Float(),
		Balance: resolution(r.Balance).Float(), Repeats: r.Repeats, WaterC: r.WaterC.Float(), TempKnown: r.HasWaterC}
	g, f := identify.SG(w)
	if f != nil {
		return none, f.AtField(map[string]string{"weight_air_ct": "air", "weight_water_ct": "water",
			"balance_ct": "balance", "water_c": "water_c"}[f.Where.Header])
	}
	c := calculation("SG = air / (air - water)", "A Text-Book of Precious Stones (F. B. Wade, 1918); uncertainty by "+
		"JCGM 100:2008 (GUM), 5.1.2")
	c.Input("air_ct", r.Air.String())
	c.Input("water_ct", (r.Water - r.Wire).String())
	if r.Wire != 0 {
		c.Input("wire_ct", r.Wire.String())
	}
	c.Input("balance_ct", resolution(r.Balance).String())
	c.Input("repeats", strconv.Itoa(max(1, r.Repeats)))
	if r.HasWaterC {
		c.Input("water_c", r.WaterC.String())
		c.Input("water_kg_m3", plain(identify.WaterDensity(r.WaterC.Float()), 3))
		c.Formula += " x density of the water / its greatest density"
		c.Source = sources(c.Source, "water: Jones and Harris, Journal of Research of NIST 97, 1992")
	} else {
		c.Note("no water temperature was given: no correction was made; at 20 °C the value is 0.2 % too high")
	}
	c.Result.Add("sg", plain(g.SG, 4))
	c.Result.Add("u", plain(g.U, 4))
	c.Result.Add("low", plain(g.SG-2*g.U, 4))
	c.Result.Add("high", plain(g.SG+2*g.U, 4))
	parts := []answer.Figures{}
	for _, p := range g.Parts {
		parts = append(parts, answer.Figures{fig("what", p.What), fig("u", plain(p.U, 4))})
	}
	c.Result.Add("parts", parts)
	c.Note("u is one standard uncertainty; low and high are 2 u either side, about 95 %")
	return *c, nil
}

// separation is the k at which a material counts as excluded, as identify has it.
const separation = 3

// SGBetweenRequest names two materials and the balance that is to tell them
// apart.
type SGBetweenRequest struct {
	A, B    string
	Balance num.Carat // resolution; 0: 0.01
	Repeats int       // 0: once
}

// SGBetween is the smallest weight at which a specific gravity on this
// balance tells two materials apart.
func SGBetween(r SGBetweenRequest) (answer.Calculation, error) {
	a, b := r.A, r.B
	c := calculation("the smallest weight at which a stone of either, wherever in its range, has at least a 95 % "+
		"chance that the other is excluded at 3 standard uncertainties of its SG", "JCGM 100:2008 (GUM), 5.1.2; "+
		"balance as given, wire and water as calc sg")
	first, err := material("between", a)
	if err != nil {
		return none, err
	}
	second, err := material("between", b)
	if err != nil {
		return none, err
	}
	c.Input("a", a)
	readAs(c, a, first)
	c.Input("b", b)
	c.Input("read_as_b", second.ReadAs)
	misleads(c, second)
	c.Input("balance_ct", resolution(r.Balance).String())
	c.Input("repeats", strconv.Itoa(max(1, r.Repeats)))
	rows := []answer.Figures{}
	worst, never := 0.0, false
	for _, x := range first.Materials {
		for _, y := range second.Materials {
			ct, ok := identify.SmallestWeight(x, y, resolution(r.Balance).Float(), r.Repeats, separation)
			worst, never = max(worst, ct), never || !ok
			c.Source = sources(c.Source, x.Source("sg"), y.Source("sg"))
			span := func(known bool, low, high float64) any {
				return optional(fmt.Sprintf("%s to %s", plain(low, 3), plain(high, 3)), known)
			}
			rows = append(rows, answer.Figures{
				fig("a", x.Name), fig("sg_a", span(x.SG.Known, x.SG.Min, x.SG.Max)), fig("b", y.Name),
				fig("sg_b", span(y.SG.Known, y.SG.Min, y.SG.Max)),
				fig("smallest_weight_ct", optional(plain(ct, 4), ok)),
			})
		}
	}
	c.Result.Add("smallest_weight_ct", optional(plain(worst, 4), !never))
	words := "from " + plain(worst, 4) + " ct on"
	if never {
		words = "never"
		c.Note("never: the ranges touch or overlap, one is unknown, or the gap is smaller than what water and air " +
			"leave in doubt at any weight")
	}
	c.Result.Add("separates", words)
	c.Result.Add("pairs", rows)
	return *c, nil
}

// SampleRequest asks how many stones to test.
type SampleRequest struct {
	Pieces     int // of the lot; 0: endless, with Share
	Bad        int
	Share      num.Dec
	Confidence num.Dec
	Efficacy   num.Dec // chance that the test recognises a bad stone; 0: 1
}

// Sample is the smallest random sample that finds a bad stone.
func Sample(r SampleRequest) (answer.Calculation, error) {
	if r.Efficacy.IsZero() {
		r.Efficacy = num.Int(1)
	}
	c := calculation("", "")
	var n int
	var ok bool
	if r.Pieces > 0 {
		n, ok = chance.SampleToFind(r.Pieces, r.Bad, r.Confidence.Float(), r.Efficacy.Float())
		c.Input("pieces", strconv.Itoa(r.Pieces))
		c.Input("bad", strconv.Itoa(r.Bad))
		c.Formula = "smallest n with 1 - P(no bad stone among n drawn without putting back) >= confidence " +
			"(hypergeometric)"
		c.Source = "hypergeometric distribution: How many must you sample with no negatives (Cross Validated, 2020)"
	} else {
		n, ok = chance.SampleToFindShare(r.Share.Float(), r.Confidence.Float(), r.Efficacy.Float())
		c.Input("bad_share", r.Share.String())
		c.Formula = "n = ln(1 - confidence) / ln(1 - share x efficacy), rounded up"
		c.Source = "success-run sample size: Sample size for attributes when C = 0 (Westpak)"
	}
	c.Input("confidence", r.Confidence.String())
	c.Input("efficacy", r.Efficacy.String())
	c.Result.Add("n", optional(strconv.Itoa(n), ok))
	switch {
	case !ok:
		c.Note("not even testing every stone finds one with that confidence: the test misses too many; add another " +
			"test")
	case r.Pieces > 0:
		p := num.PercentOf(num.Int(int64(n)), num.Int(int64(r.Pieces)), 1)
		c.Result.Add("percent_of_lot", p.String())
	}
	c.Note("draw at random: picked stones give no bound")
	return *c, nil
}

// LightRequest is a display, and a material by name or none.
type LightRequest struct {
	Display durability.Display
	Species string
}

// lightOrder ranks the classes; a class that is not known is never fine.
var lightOrder = []string{"stable", "low", "unknown", "medium", "high"}

// Light is the light of a year on display, the years to a dose limit, and
// the class of a named stone.
func Light(r LightRequest) (answer.Calculation, error) {
	c := calculation("lux hours = lux x hours per day x days per year; years = limit / lux hours per year",
		"Luxtimme (Annell AB, glossary); dose is reciprocal: Illumination of light-sensitive exhibits (ERCO)")
	var stones []durability.Stone
	if r.Species == "" {
		stones = []durability.Stone{{}}
	} else {
		named, err := material("species", r.Species)
		if err != nil {
			return none, err
		}
		c.Input("species", r.Species)
		readAs(c, r.Species, named)
		stones = durability.StonesOf(named)
	}
	var worst durability.LightReport
	members := []answer.Figures{}
	for i, s := range stones {
		light := durability.LightOf(durability.Situation{Stone: s, Display: r.Display})
		if i == 0 || slices.Index(lightOrder, light.Class) > slices.Index(lightOrder, worst.Class) {
			worst = light
		}
		if s.Material != nil {
			members = append(members, answer.Figures{fig("material", s.Material.Name), fig("class", light.Class),
				fig("order", light.Order)})
			c.Source = sources(c.Source, s.Material.Source("light"))
			if s.Variety != nil {
				c.Source = sources(c.Source, s.Variety.Source)
			}
		}
	}
	c.Input("lux", given(r.Display.Lux))
	c.Input("hours_per_day", given(r.Display.HoursPerDay))
	c.Input("days_per_year", given(r.Display.DaysPerYear))
	c.Input("limit_mlxh", given(r.Display.LimitMlxh))
	c.Result.Add("lux_hours_per_year", plain(worst.LuxHoursPerYear, 0))
	known := func(f *float64, places int) any {
		if f == nil {
			return nil
		}
		return plain(*f, places)
	}
	c.Result.Add("years", known(worst.Years, 3))
	c.Result.Add("hours_left", known(worst.HoursLeft, 0))
	if worst.Years == nil {
		c.Note("years are worked out only from a dose limit: give the limit in megalux hours when a source names one")
	}
	if r.Species != "" {
		c.Result.Add("class", worst.Class)
		c.Result.Add("order", worst.Order)
		c.Result.Add("fade", worst.Fade)
		if len(members) > 1 {
			c.Result.Add("members", members)
		}
		rows := []answer.Figures{}
		for _, d := range worst.Table {
			rows = append(rows, answer.Figures{fig("place", d.Place), fig("lux", plain(d.Lux, 1)),
				fig("hours_per_year", plain(d.HoursPerYear, 1)), fig("lux_hours_per_year", plain(d.LuxHoursPerYear, 0)),
				fig("years", known(d.Years, 3)), fig("saves", d.Saves), fig("source", d.Source)})
		}
		c.Result.Add("table", rows)
		c.Note(worst.Assumed...)
	}
	return *c, nil
}

func given(f float64) string {
	if f == 0 {
		return ""
	}
	return plain(f, 6)
}
