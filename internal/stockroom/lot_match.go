package stockroom

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/lineplan"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// LotMatch asks for stones that go with a lot's as a pair.
type LotMatch struct {
	Lot       string
	Tolerance num.Millimetre // in each measure; 0: 0.10 mm
	Weight    num.Carat      // 0: a twentieth of the stone, at least 0.02 ct
}

// What a mate may be apart when nobody says (common practice for calibrated
// stones under 1 ct, as in a plan).
const (
	mateTolerance num.Millimetre = 10
	leastWeight   num.Carat      = 20
)

// LotMatch returns the stones in stock that are claimed to be the same material,
// nature and treatment as a lot's and have its shape, the nearest in measures,
// weight, colour, clarity and cut first. A customer's own stones are none.
func (room *Room) LotMatch(ctx context.Context, r LotMatch) (answer.LotMatch, error) {
	var out answer.LotMatch
	if r.Tolerance < 0 || r.Weight < 0 {
		return out, fault.New(fault.Usage, "match-tolerance", "a tolerance must not be negative", "give it like 0.10").
			AtField("tolerance")
	}
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		lot, err := desk.StockOf(ctx, tx, r.Lot)
		if err != nil {
			return err
		}
		if lot.Pieces == 0 {
			return fault.New(fault.Refused, "match-nothing", lot.Code+" has no stone left", "see where they went").
				AtRef(lot.Code).Do("lot", "history", lot.Code)
		}
		m := matcher{lot: lot, tolerance: cmp.Or(r.Tolerance, mateTolerance),
			weight: cmp.Or(r.Weight, max(leastWeight, lot.Mean()/20)), color: lineplan.ParseColor(lot.Color)}
		holds, err := desk.HoldsOn(ctx, tx, "", room.desk.Today(tx, ""))
		if err != nil {
			return err
		}
		var mates []mate
		err = desk.StockFilter{}.Each(ctx, tx, func(s answer.StockLot) error {
			if m.goesWith(&s) {
				mates = append(mates, m.mate(&s, holds))
			}
			return nil
		})
		slices.SortStableFunc(mates, compareMates)
		out = answer.LotMatch{Lot: lot.Code, Stone: lot.Called(), Length: lot.Length, Width: lot.Width,
			Depth: lot.Depth,
			Each:  lot.Mean(), Color: lot.Color, Tolerance: m.tolerance, Weight: m.weight, Mates: []answer.Mate{}}
		for _, x := range mates {
			out.Mates = append(out.Mates, x.Mate)
		}
		return err
	})
	return out, err
}

// matcher looks for mates of a lot's stones.
type matcher struct {
	lot       answer.StockLot
	tolerance num.Millimetre
	weight    num.Carat
	color     lineplan.Color
}

// mate is a lot with how far its stones are from what is matched: 1 for each whole
// tolerance.
type mate struct {
	answer.Mate
	far float64
}

// compareMates puts mates within the tolerance that can be had first, then those
// within it, then the others, the nearest first.
func compareMates(a, b mate) int {
	class := func(m mate) int {
		switch {
		case m.Within && m.Held == "":
			return 0
		case m.Within:
			return 1
		}
		return 2
	}
	return cmp.Or(cmp.Compare(class(a), class(b)), cmp.Compare(a.far, b.far))
}

// goesWith reports whether the stones of a lot may make a pair with those that are
// matched at all.
func (m *matcher) goesWith(s *answer.StockLot) bool {
	if s.Owner.Kind() == book.AtCustomer || strings.EqualFold(s.Code, m.lot.Code) && s.Pieces < 2 {
		return false
	}
	for _, same := range [][2]string{{s.Species, m.lot.Species}, {s.Variety, m.lot.Variety}, {s.Shape, m.lot.Shape},
		{s.Facets.Nature.Value, m.lot.Facets.Nature.Value}, {s.Facets.Treatment.Value, m.lot.Facets.Treatment.Value}} {
		if !strings.EqualFold(same[0], same[1]) {
			return false
		}
	}
	return true
}

// What else differs weighs in tolerances: a step of colour as in a plan, the rest a
// judgement.
const (
	perColorStep = 0.6
	perUnknown   = 0.5
	perGrade     = 0.25
)

// mate compares a lot's stones with those that are matched.
func (m *matcher) mate(s *answer.StockLot, holds []book.Hold) mate {
	x := mate{Mate: answer.Mate{Lot: s.Code, Where: s.Where(), Owner: s.Owner, Pieces: s.Pieces, Length: s.Length,
		Width: s.Width, Depth: s.Depth, Each: s.Mean(), Within: true, Differs: []string{}}}
	say := func(far float64, format string, args ...any) {
		x.far += far
		x.Differs = append(x.Differs, fmt.Sprintf(format, args...))
	}
	oneSize := func(l *answer.StockLot) bool { return l.Pieces == 1 || l.Calibrated }
	measured := false
	for _, d := range []struct {
		what      string
		mine, its book.Size
	}{{"length", m.lot.Length, s.Length}, {"width", m.lot.Width, s.Width}, {"depth", m.lot.Depth, s.Depth}} {
		switch {
		case d.mine.IsZero() && d.its.IsZero():
			continue
		case d.mine.IsZero() || d.its.IsZero():
			say(perUnknown, "%s not known", d.what)
			x.Within = x.Within && d.what == "depth" // a pair is seen from above
			continue
		}
		measured = true
		apart := max(d.mine.Max, d.its.Max) - min(d.mine.Min, d.its.Min)
		if !oneSize(s) || !oneSize(&m.lot) { // stones are chosen out of the range
			apart = max(0, d.mine.Min-d.its.Max, d.its.Min-d.mine.Max)
		}
		x.Apart = max(x.Apart, apart)
	}
	x.CaratsApart = max(x.Each-m.lot.Mean(), m.lot.Mean()-x.Each)
	x.far += float64(x.Apart)/float64(max(1, m.tolerance)) + float64(x.CaratsApart)/float64(max(1, m.weight))
	if !oneSize(s) {
		say(perUnknown, "choose among %d stones", s.Pieces)
	} else if x.CaratsApart > m.weight {
		x.Within = false
	}
	x.Within = x.Within && measured && x.Apart <= m.tolerance
	switch {
	case m.lot.Color == "" || s.Color == "":
		say(perUnknown, "colour not stated: compare by eye")
	default:
		color := lineplan.ParseColor(s.Color)
		x.ColorSteps = m.color.Apart(color)
		if !strings.EqualFold(m.lot.Color, s.Color) {
			say(perColorStep*x.ColorSteps, "%s beside %s", s.Color, m.lot.Color)
		}
		x.Within = x.Within && m.color.GoesWith(color)
	}
	for _, grade := range []struct{ what, mine, its string }{{"clarity", m.lot.Clarity, s.Clarity},
		{"cut", m.lot.Cut, s.Cut}} {
		if !strings.EqualFold(grade.mine, grade.its) {
			say(perGrade, "%s %s beside %s", grade.what, cmp.Or(grade.its, "not stated"),
				cmp.Or(grade.mine, "not stated"))
		}
	}
	if !s.Owner.IsOwn() {
		say(0, "belongs to %s", s.Owner)
	}
	if s.Fenced != "" {
		say(perUnknown, "%s", s.Fenced)
	}
	x.Held = m.held(s, holds)
	return x
}

// held is why no stone of a lot can be had at once; empty when one can.
func (m *matcher) held(s *answer.StockLot, holds []book.Hold) string {
	var free int64
	for _, b := range s.Places {
		if b.Place == book.Safe || b.Place.Kind() == book.AtOffice {
			free += b.Pieces
		}
	}
	wanted := int64(1)
	if strings.EqualFold(s.Code, m.lot.Code) {
		wanted = 2
	}
	if free < wanted {
		return "at " + s.Where()
	}
	for _, h := range holds {
		if strings.EqualFold(h.Lot, s.Code) {
			if free -= h.Pieces; free < wanted {
				return "held for " + h.For
			}
		}
	}
	return ""
}
