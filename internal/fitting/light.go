package fitting

import (
	"context"
	"math"
	"strconv"

	"lotpaper/internal/answer"
	"lotpaper/internal/durability"
)

// Light asks what light does to a stone where it is shown.
type Light struct {
	Stone
	Display durability.Display
}

// Light says what light does to a stone, and what would spare it. A lot counts
// as the most sensitive of what more than one in twenty of its pieces are.
func (room *Room) Light(ctx context.Context, r Light) (answer.SettingLight, error) {
	var out answer.SettingLight
	err := room.about(ctx, r.Stone, Situation{Display: r.Display}, func(a asked) error {
		out = lightOf(a.name, a.situation, durability.Likely(a.stones))
		if a.readAs != "" {
			out.ReadAs = a.readAs
		}
		return nil
	})
	return out, err
}

// lightOf reports the most sensitive of the stones; an unknown class counts
// between medium and high.
func lightOf(name string, s durability.Situation, stones []durability.Stone) answer.SettingLight {
	rank := map[string]int{"stable": 0, "low": 1, "medium": 2, "unknown": 3, "high": 4}
	out := answer.SettingLight{Stone: name, If: []string{}}
	for i, stone := range stones {
		s.Stone = stone
		r := durability.LightOf(s)
		if len(stones) > 1 {
			out.If = append(out.If, "if this is "+stone.ReadAs+", then "+r.Class+": "+r.Order)
		}
		if i == 0 || rank[r.Class] > rank[out.Class] {
			out.LightReport, out.ReadAs = r, stone.ReadAs
		}
	}
	if out.Assumed == nil {
		out.Assumed = []string{}
	}
	for _, v := range []*float64{out.Years, out.HoursLeft} {
		round3(v)
	}
	for _, d := range out.Table {
		round3(d.Years)
	}
	return out
}

// round3 keeps three significant digits: no dose limit is known better.
func round3(v *float64) {
	if v != nil && *v > 0 {
		unit := math.Pow(10, math.Floor(math.Log10(*v))-2)
		*v, _ = strconv.ParseFloat(strconv.FormatFloat(math.Round(*v/unit)*unit, 'g', 3, 64), 64)
	}
}
