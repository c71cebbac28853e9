package fitting

import (
	"context"
	"math"
	"strconv"

	"lotpaper/internal/durability"
	"lotpaper/internal/store"
)

// LightAnswer is what light does to one stone, or to the most sensitive of the
// stones that it may be.
type LightAnswer struct {
	Stone  string `json:"stone"`
	ReadAs string `json:"read_as"`
	durability.LightReport
	If []string `json:"if"` // the class of each stone that it may be, when there are several
}

// SettingLight reports what light does to a lot of the book.
func (room *Room) SettingLight(ctx context.Context, r SettingCheck) (LightAnswer, error) {
	var out LightAnswer
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		lot, s, stones, err := room.lotStones(ctx, tx, &r)
		if err != nil {
			return err
		}
		out = lightOf(lot.Code+" "+lot.Name(), s, stones)
		return nil
	})
	return out, err
}

// LightSetting reports what light does to a stone that is in no book.
func LightSetting(r SettingCheck) (LightAnswer, error) {
	named, s, err := r.stone()
	if err != nil {
		return LightAnswer{}, err
	}
	stones := namedStones(named, s.Stone)
	s.Stone = stones[0]
	if l := durability.Check(s); l.Blocks() {
		return LightAnswer{}, asFlags(l)
	}
	out := lightOf(r.Species, s, stones)
	out.ReadAs = named.ReadAs
	return out, nil
}

// lightOf reports the most sensitive of the stones; an unknown class counts
// between medium and high.
func lightOf(name string, s durability.Situation, stones []durability.Stone) LightAnswer {
	rank := map[string]int{"stable": 0, "low": 1, "medium": 2, "unknown": 3, "high": 4}
	out := LightAnswer{Stone: name, If: []string{}}
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
