package cutting

import (
	"fmt"
	"strings"

	"lotpaper/internal/chance"
	"lotpaper/internal/num"
)

// CutterRecord is what a cutter was given and what came back.
type CutterRecord struct {
	Material  string // as the lot is named; empty: not known
	Shape     string // that was cut; empty: not known
	Stones    int64  // given, worked on, and back or broken
	Broken    int64  // of these, lost to breakage
	Rejected  int64  // of these, not as wanted
	Lost      int64  // beside these: never came back
	CaratsIn  num.Carat
	CaratsOut num.Carat
	Days      int64 // from sending to coming back; 0: not known
}

// RecordFor is the part of a cutter's record that speaks most closely of a
// material and a shape: of both, else of the material, else of the shape, else
// all of it. Words say which.
func RecordFor(record []CutterRecord, material, shape string) (part []CutterRecord, words string) {
	for _, by := range []struct {
		material, shape string
	}{{material, shape}, {material, ""}, {"", shape}} {
		if by.material == "" && by.shape == "" {
			continue
		}
		part = nil
		stones := int64(0)
		for _, r := range record {
			if (by.material == "" || strings.EqualFold(by.material, r.Material)) &&
				(by.shape == "" || strings.EqualFold(by.shape, r.Shape)) {
				part = append(part, r)
				stones += r.Stones + r.Lost
			}
		}
		if stones > 0 {
			return part, strings.TrimSpace(by.material + " " + by.shape)
		}
	}
	return record, "all that the cutter was given"
}

// Prior is a rate from 0 to 1 that is believed as much as if Stones stones
// had been watched. Without stones nothing is believed.
type Prior struct {
	Rate   float64
	Stones float64
}

// belief is the estimate as a Beta; without one the prior of Jeffreys (1946),
// half a stone either way, which a record soon outweighs.
func (e Prior) belief() chance.Beta {
	if e.Stones <= 0 || e.Rate <= 0 || e.Rate >= 1 {
		return chance.Beta{A: 0.5, B: 0.5}
	}
	return chance.BetaOf(e.Rate, e.Stones)
}

// Skill is the belief about a cutter: breakage per stone, and weight yield. A
// zero belief means that there is neither estimate nor record.
type Skill struct {
	Breakage chance.Beta
	Yield    chance.Beta
	Stones   int64 // of the record
	Broken   int64
	Rejected int64
	Lost     int64
	Days     int64  // from sending to coming back, the mean of the batches; 0: not known
	Words    string // which part is estimate and which is record
}

// SkillOf joins estimates of breakage and yield with a cutter's own record.
// The yield counts each stone given as one trial.
func SkillOf(breakage, yield Prior, record []CutterRecord) Skill {
	s := Skill{Breakage: breakage.belief(), Yield: yield.belief()}
	in, out := num.Carat(0), num.Carat(0)
	days, batches := int64(0), int64(0)
	for _, r := range record {
		s.Lost += r.Lost
		if r.Days > 0 {
			days, batches = days+r.Days, batches+1
		}
		if r.Stones <= 0 || r.CaratsIn <= 0 {
			continue
		}
		s.Stones += r.Stones
		s.Broken += r.Broken
		s.Rejected += r.Rejected
		in, out = in+r.CaratsIn, out+r.CaratsOut
		s.Breakage = s.Breakage.Update(float64(r.Broken), float64(r.Stones))
		s.Yield = s.Yield.Update(float64(r.Stones)*r.CaratsOut.Float()/r.CaratsIn.Float(), float64(r.Stones))
	}
	if batches > 0 {
		s.Days = (days + batches/2) / batches
	}
	s.Words = "no record yet"
	if s.Stones > 0 || s.Lost > 0 {
		s.Words = fmt.Sprintf("record of %d stones: %d broke, %s ct came of %s ct", s.Stones, s.Broken, out, in)
		if s.Rejected > 0 {
			s.Words += fmt.Sprintf(", %d were not as wanted", s.Rejected)
		}
		if s.Lost > 0 {
			s.Words += fmt.Sprintf(", %d more never came back", s.Lost)
		}
		if s.Days > 0 {
			s.Words += fmt.Sprintf(", %d days on average", s.Days)
		}
	}
	if breakage.Stones > 0 {
		s.Words += fmt.Sprintf("; estimate of breakage %.1f %%, weighing as much as %g stones", 100*breakage.Rate,
			breakage.Stones)
	} else if s.Stones == 0 {
		s.Breakage = chance.Beta{}
	}
	if yield.Stones > 0 {
		s.Words += fmt.Sprintf("; expected yield %.0f %%, weighing as much as %g stones", 100*yield.Rate, yield.Stones)
	} else if s.Stones == 0 {
		s.Yield = chance.Beta{}
	}
	return s
}
