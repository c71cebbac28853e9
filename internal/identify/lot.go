package identify

import (
	"cmp"
	"fmt"
	"slices"

	"lotpaper/internal/chance"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
)

// State is what the tests say of a lot's claim.
type State string

// The states, from the best to the worst.
const (
	// every tested stone is the claim, and so, nearly for certain, are nearly
	// all of the others, or all were tested
	Verified     State = "verified"
	Supported    State = "supported"    // the claim stands, and is not verified
	Stated       State = "stated"       // nothing was tested
	Doubted      State = "doubted"      // some test speaks against the claim, without deciding
	Mixed        State = "mixed"        // some tested stones are not the claim
	Contradicted State = "contradicted" // the lot is something else
)

// Fenced reports whether a lot of this state stays out of plans and proposals
// until it is sorted.
func (s State) Fenced() bool { return s == Mixed || s == Contradicted }

// Drawn is how a tested stone was taken from its lot.
type Drawn string

// Only random draws bound what was not tested.
const (
	Random Drawn = "random"
	Picked Drawn = "picked"
)

// TestedStone is one stone of a lot with its verdict.
type TestedStone struct {
	Stone   string
	Verdict Verdict
	Drawn   Drawn
	Stratum string // by appearance; empty: the lot is one
	// Lab is the species on a laboratory's report that matches the stone by
	// weight and size (LabReport.Matches); nil without one.
	Lab *facts.Material
}

// Lot is what was claimed and tested.
type Lot struct {
	Claim  []*facts.Material // one species, or the members of a group
	Pieces int
	Strata map[string]int // pieces of each stratum; nil: the lot is one
	Tested []TestedStone
}

// Trade is what is believed of a claim before any test: the chances that a lot
// is its claim with few strangers in it, a true mixture, or something else
// altogether, and the share of strangers in the first (common practice). The
// zero value is the default.
type Trade struct {
	Claim, Mixture, Other float64
	Strangers             chance.Beta
}

// NewVendor is the trade of a vendor of whom nothing is known.
var NewVendor = Trade{Claim: 0.6, Mixture: 0.2, Other: 0.2, Strangers: chance.Beta{A: 1, B: 5}}

func (t Trade) filled() Trade {
	if t == (Trade{}) {
		return Trade{Claim: 0.88, Mixture: 0.07, Other: 0.05, Strangers: chance.Beta{A: 0.5, B: 9.5}}
	}
	return t
}

// LotSettings say when a lot counts as verified. The zero value is the default.
type LotSettings struct {
	Confidence float64 // 0: 0.95
	MaxShare   float64 // greatest share of strangers; 0: 0.05
	Efficacy   float64 // chance that the bench recognises another material, for the exact bound; 0: 1
	All        string  // why no sample is enough for this lot; empty: one is
	Trade      Trade
	Vendor     Record // of the vendor's other lots: it moves Trade
}

func (s LotSettings) filled() LotSettings {
	s.Confidence = cmp.Or(s.Confidence, 0.95)
	s.MaxShare = cmp.Or(s.MaxShare, 0.05)
	s.Efficacy = cmp.Or(s.Efficacy, 1)
	s.Trade = s.Trade.With(s.Vendor)
	return s
}

// LotVerdict is the state of a lot.
type LotVerdict struct {
	State   State
	Tested  int
	Of      int
	Random  int // tested stones drawn at random
	Shown   int // tested stones that are the claim, nearly for certain
	Others  int // tested stones that are not the claim
	Open    int // tested stones that leave the claim standing beside others
	Bounded bool
	// Chance that the lot is its claim, with few strangers in it.
	Chance float64
	// Expected pieces that are not the claim: an expectation, over the tested
	// stones one by one and the rest as the random draws lead to expect.
	Expected float64
	// At most UpperCount pieces, UpperShare of the lot, are not the claim, at
	// the confidence asked for. Bounded says that a random draw stands behind it.
	UpperCount int
	UpperShare float64
	// ExactCount is the same bound when nothing is believed beforehand.
	ExactCount int
	Confidence float64
	// More stones, drawn at random and each shown to be the claim, would
	// verify the lot; 0 when it is verified or no number would.
	More    int
	Strata  []StratumVerdict
	Stones  []StoneStanding
	Reasons []string

	models []*lotModel
}

// StratumVerdict is what is known of one stratum.
type StratumVerdict struct {
	Name                   string
	Pieces, Tested, Others int
	UpperCount             int
}

// StoneStanding is how one tested stone stands to the claim.
type StoneStanding struct {
	Stone    string
	Standing string  // "claim", "claim among others", NotClaim
	Share    float64 // of the claim on the stone's own evidence
	Chance   float64 // that it is the claim, the lot's claim and its other stones counted
	Why      string
}

// JudgeLot draws the state of a lot from its tested stones. One bad stone is
// never averaged away, the claim never washes a stone, and a picked stone says
// nothing about the rest. Strata are judged apart.
func JudgeLot(l Lot, settings LotSettings) (LotVerdict, fault.List) {
	s := settings.filled()
	if faults := l.validate(s); faults.Blocks() {
		return LotVerdict{}, faults
	}
	v := LotVerdict{Tested: len(l.Tested), Of: l.Pieces, Confidence: s.Confidence, Chance: 1}
	names, pieces := l.strata()
	each := s
	each.Confidence = 1 - (1-s.Confidence)/float64(len(names)) // all hold together (Bonferroni)
	sure, enough := 1.0, true
	for _, name := range names {
		stones := l.Tested
		if len(l.Strata) > 0 {
			stones = slices.DeleteFunc(slices.Clone(stones), func(t TestedStone) bool { return t.Stratum != name })
		}
		m := newLotModel(l.Claim, pieces[name], stones, each)
		v.models = append(v.models, m)
		upper := m.upper(each.Confidence)
		if m.tested() == m.pieces { // the stones themselves say it, not what lots are like
			v.Chance *= m.within(s.MaxShare)
		} else {
			v.Chance *= m.chance
		}
		v.Expected += m.expected()
		v.UpperCount += upper
		v.ExactCount += m.exact(each)
		v.Stones = append(v.Stones, m.standings()...)
		sure = min(sure, m.within(s.MaxShare))
		enough = enough && (m.random >= min(3, m.pieces) || m.tested() == m.pieces)
		if len(l.Strata) > 0 {
			v.Strata = append(v.Strata, StratumVerdict{Name: name, Pieces: pieces[name], Tested: m.tested(),
				Others: m.flagged(), UpperCount: upper})
		}
	}
	v.UpperShare = float64(v.UpperCount) / float64(v.Of)
	for _, t := range l.Tested {
		if t.Drawn == Random {
			v.Random++
		}
	}
	for _, t := range v.Stones {
		switch t.Standing {
		case isClaim:
			v.Shown++
		case NotClaim:
			v.Others++
		default:
			v.Open++
		}
	}
	v.Bounded = v.Random > 0 || v.Tested == v.Of
	v.State = v.state(s, sure, enough)
	if v.State == Supported || v.State == Stated {
		v.More = v.more(s)
	}
	v.reasons(s)
	return v, nil
}

func (l *Lot) validate(s LotSettings) fault.List {
	var faults fault.List
	bad := func(code, what, mend string) { faults.Add(fault.New(fault.Invalid, code, what, mend)) }
	if l.Pieces < 1 {
		bad("pieces-not-positive", fmt.Sprintf("a lot must have at least one piece, but has %d", l.Pieces),
			"count the lot")
	}
	if len(l.Tested) > l.Pieces {
		bad("tested-above-pieces", fmt.Sprintf("%d stones tested of a lot of %d", len(l.Tested), l.Pieces),
			"give each stone one tag")
	}
	if len(l.Claim) == 0 {
		bad("claim-missing", "the lot claims no species", "state the species of the lot")
	}
	if !(s.Confidence > 0 && s.Confidence < 1) || !(s.MaxShare > 0 && s.MaxShare < 1) ||
		!(s.Efficacy > 0 && s.Efficacy <= 1) {
		bad("sampling-settings", fmt.Sprintf("confidence %g, greatest share %g and efficacy %g lie between 0 and 1",
			s.Confidence, s.MaxShare, s.Efficacy), "use e.g. 0.95, 0.05 and 1")
	}
	if t := s.Trade; !(t.Claim > 0 && t.Mixture > 0 && t.Other > 0 && t.Strangers.A > 0 && t.Strangers.B > 0) {
		bad("trade-settings", "what is believed of a trade must be more than 0",
			"use e.g. 0.88, 0.07, 0.05 and strangers of 0.5 to 9.5")
	}
	if len(l.Strata) > 0 {
		sum := 0
		for _, n := range l.Strata {
			sum += n
		}
		if sum != l.Pieces {
			bad("strata-sum", fmt.Sprintf("the strata hold %d pieces, the lot %d", sum, l.Pieces),
				"count the strata again")
		}
	}
	tested := map[string]int{}
	for _, t := range l.Tested {
		if t.Drawn != Random && t.Drawn != Picked {
			bad("drawn-unknown", fmt.Sprintf("stone %s was drawn %q", t.Stone, t.Drawn), "say random or picked")
		}
		if len(l.Strata) == 0 {
			continue
		}
		pieces, ok := l.Strata[t.Stratum]
		if !ok {
			bad("stratum-unknown", fmt.Sprintf("stone %s is of the stratum %q, which the lot has not", t.Stone,
				t.Stratum), "use one of the lot's strata")
		}
		if tested[t.Stratum]++; ok && tested[t.Stratum] == pieces+1 {
			bad("tested-above-pieces", fmt.Sprintf("more stones of the stratum %q were tested than it has pieces",
				t.Stratum), "count the strata again")
		}
	}
	return faults
}

// strata are the names and pieces of the parts of the lot, in order.
func (l *Lot) strata() (names []string, pieces map[string]int) {
	if len(l.Strata) == 0 {
		return []string{""}, map[string]int{"": l.Pieces}
	}
	for name := range l.Strata {
		names = append(names, name)
	}
	slices.Sort(names)
	return names, l.Strata
}

// state is drawn from the stones' own evidence first. sure is the chance that no
// more than the greatest share of any stratum are strangers.
func (v *LotVerdict) state(s LotSettings, sure float64, enough bool) State {
	doubt := v.Chance < 0.5
	most := 1.0
	for _, m := range v.models {
		doubt = doubt || m.doubted()
		most = min(most, m.mostly())
	}
	switch {
	case v.Tested == 0:
		return Stated
	case v.Others == v.Tested, v.Others > 0 && most >= s.Confidence:
		return Contradicted
	case v.Others > 0:
		return Mixed
	case doubt:
		return Doubted
	case v.verified(s, sure, enough):
		return Verified
	}
	return Supported
}

// verified: every stone is the claim nearly for certain, one of them by its own
// evidence, and the sample is enough.
func (v *LotVerdict) verified(s LotSettings, sure float64, enough bool) bool {
	established := false
	for _, m := range v.models {
		for i := range m.stones {
			e := &m.stones[i]
			if !e.plain() {
				return false
			}
			established = established || e.established
		}
	}
	return established && (v.Tested == v.Of || s.All == "" && enough && sure >= s.Confidence)
}

// quarrels reports whether the readings of some stone cannot all be right.
func (v *LotVerdict) quarrels() bool {
	for _, m := range v.models {
		for i := range m.stones {
			if m.stones[i].stone.Verdict.bench.clash {
				return true
			}
		}
	}
	return false
}

// more is how many further random stones, each shown to be the claim, verify the
// lot.
func (v *LotVerdict) more(s LotSettings) int {
	left := v.Of - v.Tested
	if s.All != "" {
		return left
	}
	if v.Open > 0 || len(v.models) > 1 {
		return 0
	}
	m := v.models[0]
	return m.until(func(n int) bool {
		return m.random+n >= min(3, m.pieces) && m.withinAfter(n, s.MaxShare) >= s.Confidence
	})
}

// TestsUntil is how many further random stones, each shown to be the claim,
// bring the expected share of strangers to at most that; false when not even
// testing all does.
func (v *LotVerdict) TestsUntil(share float64) (n int, ok bool) {
	if len(v.models) != 1 {
		return 0, false
	}
	m := v.models[0]
	reached := func(n int) bool { return m.expectedAfter(n) <= share*float64(m.pieces) }
	return m.until(reached), reached(m.pieces - m.tested())
}

func (v *LotVerdict) reasons(s LotSettings) {
	say := func(format string, args ...any) { v.Reasons = append(v.Reasons, fmt.Sprintf(format, args...)) }
	switch v.State {
	case Stated:
		say("nothing was tested: the species is what the seller states")
	case Contradicted:
		if v.Of == 1 {
			say("its one stone is not the claim")
		} else if v.Others == v.Tested {
			say("none of the %d tested stones is the claim", v.Tested)
		} else {
			say("%d of %d tested stones are not the claim, and more than half of the lot is something else", v.Others,
				v.Tested)
		}
	case Mixed:
		say("%d of %d tested stones are not the claim: sort the lot by identity before it is used; test those again "+
			"first", v.Others, v.Tested)
	case Doubted:
		if v.quarrels() {
			say("readings that cannot be right decide nothing: read those stones again")
			break
		}
		say("no tested stone is shown to be something else, but the tests speak against the claim: test on")
	case Verified:
		switch {
		case v.Of == 1:
			say("its one stone was tested and is the claim")
		case v.Tested == v.Of:
			say("all %d pieces were tested and are the claim", v.Of)
		default:
			say("all %d tested stones are the claim, and so are nearly all of %d", v.Tested, v.Of)
		}
	case Supported:
		if v.Of == 1 {
			say("its one stone is not established as the claim, and nothing speaks against it")
		} else if v.Open > 0 {
			say("the claim stands in all %d tested stones, but %d of them could be something else", v.Tested, v.Open)
		} else if v.Tested == 1 {
			say("the one tested stone is the claim, but it says too little of the rest")
		} else {
			say("all %d tested stones are the claim, but they say too little of the rest", v.Tested)
		}
	}
	if v.Tested > v.Random && v.Tested < v.Of {
		say("%d of the tested stones were picked, not drawn at random: they say nothing about the rest",
			v.Tested-v.Random)
	}
	switch {
	case v.Bounded && v.Expected < 0.005:
		say("chance that the lot is what it claims %s", percent(v.Chance))
	case v.Bounded:
		say("chance that the lot is what it claims %s; %.2g of %d pieces are expected to be something else",
			percent(v.Chance), v.Expected, v.Of)
	}
	if v.Bounded && v.Tested < v.Of {
		say("at most %d of %d pieces (%.1f %%) are not the claim, at %g %% confidence; %d when nothing is believed "+
			"beforehand", v.UpperCount, v.Of, 100*v.UpperShare, 100*s.Confidence, v.ExactCount)
	}
	for _, t := range v.Strata {
		say("of the %d %s pieces %d were tested: at most %d are not the claim", t.Pieces, t.Name, t.Tested,
			t.UpperCount)
	}
	if r := s.Vendor; r.Tested() > 0 {
		say("of %d tested stones of the vendor's other lots %d were not what he claimed: that counts", r.Tested(),
			r.Strangers)
	}
	if s.Efficacy < 1 {
		say("for the bound without beliefs the tests are taken to recognise another material with a chance of %g",
			s.Efficacy)
	}
	if s.All != "" && v.Tested < v.Of {
		say("test them all: %s", s.All)
	}
	if v.More > 0 {
		switch {
		case v.Of == 1:
			say("verified when its one stone is tested and is the claim")
		case v.Tested+v.More == v.Of:
			say("verified only when all of the %d left are tested too", v.More)
		default:
			say("verified when %d more, drawn at random, all turn out to be the claim", v.More)
		}
	}
}
