package cutting

import (
	"fmt"

	"lotpaper/internal/chance"
	"lotpaper/internal/num"
)

// CutterRecord is what a cutter was given and what came back.
type CutterRecord struct {
	Stones    int64 // given
	Broken    int64 // lost to breakage
	CaratsIn  num.Carat
	CaratsOut num.Carat
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
	Words    string // which part is estimate and which is record
}

// SkillOf joins estimates of breakage and yield with a cutter's own record.
// The yield counts each stone given as one trial.
func SkillOf(breakage, yield Prior, record []CutterRecord) Skill {
	s := Skill{Breakage: breakage.belief(), Yield: yield.belief()}
	in, out := num.Carat(0), num.Carat(0)
	for _, r := range record {
		if r.Stones <= 0 || r.CaratsIn <= 0 {
			continue
		}
		s.Stones += r.Stones
		s.Broken += r.Broken
		in, out = in+r.CaratsIn, out+r.CaratsOut
		s.Breakage = s.Breakage.Update(float64(r.Broken), float64(r.Stones))
		s.Yield = s.Yield.Update(float64(r.Stones)*r.CaratsOut.Float()/r.CaratsIn.Float(), float64(r.Stones))
	}
	s.Words = "no record yet"
	if s.Stones > 0 {
		s.Words = fmt.Sprintf("record of %d stones: %d broke, %s ct came of %s ct", s.Stones, s.Broken, out, in)
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
