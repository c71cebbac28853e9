package calc

import (
	"fmt"
	"slices"
	"strconv"

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

func (s SGRequest) balance() num.Carat {
	if s.Balance == 0 {
		return 10
	}
	return s.Balance
}

// SG is the specific gravity of a weighing with its uncertainty.
func SG(s SGRequest) (*Calculation, error) {
	w := identify.Weighing{Air: s.Air.Float(), Water: (s.Water - s.Wire).Float(), Balance: s.balance().Float(),
		Repeats: s.Repeats, WaterC: s.WaterC.Float(), TempKnown: s.HasWaterC}
	g, f := identify.SG(w)
	if f != nil {
		return nil, f.AtField(map[string]string{"weight_air_ct": "air", "weight_water_ct": "water",
			"balance_ct": "balance", "water_c": "water-c"}[f.Where.Header])
	}
	c := calculation("SG = air / (air - water)", "A Text-Book of Precious Stones (F. B. Wade, 1918); uncertainty by "+
		"JCGM 100:2008 (GUM), 5.1.2")
	c.in("air_ct", s.Air.String())
	c.in("water_ct", (s.Water - s.Wire).String())
	if s.Wire != 0 {
		c.in("wire_ct", s.Wire.String())
	}
	c.in("balance_ct", s.balance().String())
	c.in("repeats", strconv.Itoa(max(1, s.Repeats)))
	if s.HasWaterC {
		c.in("water_c", s.WaterC.String())
		c.in("water_kg_m3", plain(identify.WaterDensity(s.WaterC.Float()), 3))
		c.Formula += " x density of the water / its greatest density"
		c.Source = sources(c.Source, "water: Jones and Harris, Journal of Research of NIST 97, 1992")
	} else {
		c.note("no water temperature was given: no correction was made; at 20 °C the value is 0.2 % too high")
	}
	c.Result.Add("sg", plain(g.SG, 4))
	c.Result.Add("u", plain(g.U, 4))
	c.Result.Add("low", plain(g.SG-2*g.U, 4))
	c.Result.Add("high", plain(g.SG+2*g.U, 4))
	parts := []Figures{}
	for _, p := range g.Parts {
		parts = append(parts, Figures{{"what", p.What}, {"u", plain(p.U, 4)}})
	}
	c.Result.Add("parts", parts)
	c.note("u is one standard uncertainty; low and high are 2 u either side, about 95 %")
	return c, nil
}

// separation is the k at which a material counts as excluded, as identify has it.
const separation = 3

// SGBetween is the smallest weight at which a specific gravity on this
// balance tells two materials apart.
func SGBetween(a, b string, s SGRequest) (*Calculation, error) {
	c := calculation("the smallest weight at which a stone of either, wherever in its range, has at least a 95 % "+
		"chance that the other is excluded at 3 standard uncertainties of its SG", "JCGM 100:2008 (GUM), 5.1.2; "+
		"balance as given, wire and water as calc sg")
	first, err := material("between", a)
	if err != nil {
		return nil, err
	}
	second, err := material("between", b)
	if err != nil {
		return nil, err
	}
	c.in("a", a)
	c.readAs(a, first)
	c.in("b", b)
	c.in("read_as_b", second.ReadAs)
	c.in("balance_ct", s.balance().String())
	c.in("repeats", strconv.Itoa(max(1, s.Repeats)))
	rows := []Figures{}
	worst, never := 0.0, false
	for _, x := range first.Materials {
		for _, y := range second.Materials {
			ct, ok := identify.SmallestWeight(x, y, s.balance().Float(), s.Repeats, separation)
			worst, never = max(worst, ct), never || !ok
			c.Source = sources(c.Source, x.Source("sg"), y.Source("sg"))
			span := func(known bool, low, high float64) any {
				return optional(fmt.Sprintf("%s to %s", plain(low, 3), plain(high, 3)), known)
			}
			rows = append(rows, Figures{
				{"a", x.Name}, {"sg_a", span(x.SG.Known, x.SG.Min, x.SG.Max)}, {"b", y.Name},
				{"sg_b", span(y.SG.Known, y.SG.Min, y.SG.Max)},
				{"smallest_weight_ct", optional(plain(ct, 4), ok)},
			})
		}
	}
	c.Result.Add("smallest_weight_ct", optional(plain(worst, 4), !never))
	answer := "from " + plain(worst, 4) + " ct on"
	if never {
		answer = "never"
		c.note("never: the ranges touch or overlap, one is unknown, or the gap is smaller than what water and air " +
			"leave in doubt at any weight")
	}
	c.Result.Add("separates", answer)
	c.Result.Add("pairs", rows)
	return c, nil
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
func Sample(s SampleRequest) (*Calculation, error) {
	if s.Efficacy.IsZero() {
		s.Efficacy = num.Int(1)
	}
	c := calculation("", "")
	var n int
	var ok bool
	if s.Pieces > 0 {
		n, ok = chance.SampleToFind(s.Pieces, s.Bad, s.Confidence.Float(), s.Efficacy.Float())
		c.in("pieces", strconv.Itoa(s.Pieces))
		c.in("bad", strconv.Itoa(s.Bad))
		c.Formula = "smallest n with 1 - P(no bad stone among n drawn without putting back) >= confidence " +
			"(hypergeometric)"
		c.Source = "hypergeometric distribution: How many must you sample with no negatives (Cross Validated, 2020)"
	} else {
		n, ok = chance.SampleToFindShare(s.Share.Float(), s.Confidence.Float(), s.Efficacy.Float())
		c.in("bad_share", s.Share.String())
		c.Formula = "n = ln(1 - confidence) / ln(1 - share x efficacy), rounded up"
		c.Source = "success-run sample size: Sample size for attributes when C = 0 (Westpak)"
	}
	c.in("confidence", s.Confidence.String())
	c.in("efficacy", s.Efficacy.String())
	c.Result.Add("n", optional(strconv.Itoa(n), ok))
	switch {
	case !ok:
		c.note("not even testing every stone finds one with that confidence: the test misses too many; " +
			"add another test")
	case s.Pieces > 0:
		p := num.PercentOf(num.Int(int64(n)), num.Int(int64(s.Pieces)), 1)
		c.Result.Add("percent_of_lot", p.String())
	}
	c.note("draw at random: picked stones give no bound")
	return c, nil
}

// LightRequest is a display, and a material by name or none.
type LightRequest struct {
	Display  durability.Display
	HasLight bool // lux, hours and days were all given
	Species  string
}

// lightOrder ranks the classes; a class that is not known is never fine.
var lightOrder = []string{"stable", "low", "unknown", "medium", "high"}

// Light is the light of a year on display, the years to a dose limit, and
// the class of a named stone.
func Light(l LightRequest) (*Calculation, error) {
	c := calculation("lux hours = lux x hours per day x days per year; years = limit / lux hours per year",
		"Luxtimme (Annell AB, glossary); dose is reciprocal: Illumination of light-sensitive exhibits (ERCO)")
	var stones []durability.Stone
	if l.Species == "" {
		stones = []durability.Stone{{}}
	} else {
		named, err := material("species", l.Species)
		if err != nil {
			return nil, err
		}
		c.in("species", l.Species)
		c.readAs(l.Species, named)
		stones = durability.StonesOf(named)
	}
	var worst durability.LightReport
	members := []Figures{}
	for i, s := range stones {
		r := durability.LightOf(durability.Situation{Stone: s, Display: l.Display})
		if i == 0 || slices.Index(lightOrder, r.Class) > slices.Index(lightOrder, worst.Class) {
			worst = r
		}
		if s.Material != nil {
			members = append(members, Figures{{"material", s.Material.Name}, {"class", r.Class}, {"order", r.Order}})
			c.Source = sources(c.Source, s.Material.Source("light"))
			if s.Variety != nil {
				c.Source = sources(c.Source, s.Variety.Source)
			}
		}
	}
	c.in("lux", given(l.Display.Lux))
	c.in("hours_per_day", given(l.Display.HoursPerDay))
	c.in("days_per_year", given(l.Display.DaysPerYear))
	c.in("limit_mlxh", given(l.Display.LimitMlxh))
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
		c.note("years are worked out only from a dose limit: give the limit in megalux hours when a source names one")
	}
	if l.Species != "" {
		c.Result.Add("class", worst.Class)
		c.Result.Add("order", worst.Order)
		c.Result.Add("fade", worst.Fade)
		if len(members) > 1 {
			c.Result.Add("members", members)
		}
		rows := []Figures{}
		for _, d := range worst.Table {
			rows = append(rows, Figures{{"place", d.Place}, {"lux", plain(d.Lux, 1)},
				{"hours_per_year", plain(d.HoursPerYear, 1)}, {"lux_hours_per_year", plain(d.LuxHoursPerYear, 0)},
				{"years", known(d.Years, 3)}, {"saves", d.Saves}, {"source", d.Source}})
		}
		c.Result.Add("table", rows)
		c.note(worst.Assumed...)
	}
	return c, nil
}

func given(f float64) string {
	if f == 0 {
		return ""
	}
	return plain(f, 6)
}
