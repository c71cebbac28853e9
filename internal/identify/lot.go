package identify

import (
	"cmp"
	"fmt"
	"slices"
	"sort"

	"lotpaper/internal/chance"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
)

// State is what the tests say of a lot's claim.
type State string

// The states, from the best to the worst.
const (
	// every tested stone is the claim, and the bound on others is small, or all were tested
	Verified     State = "verified"
	Supported    State = "supported"    // the claim is left standing in every tested stone
	Stated       State = "stated"       // nothing was tested
	Mixed        State = "mixed"        // some tested stones exclude the claim
	Contradicted State = "contradicted" // all do
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

// LotSettings say when a lot counts as verified. The zero value is the default.
type LotSettings struct {
	Confidence float64 // 0: 0.95
	MaxShare   float64 // greatest share of others; 0: 0.05
	Efficacy   float64 // chance that the bench recognises another material; 0: 1
	All        string  // why no sample is enough for this lot; empty: one is
}

func (s LotSettings) filled() LotSettings {
	s.Confidence = cmp.Or(s.Confidence, 0.95)
	s.MaxShare = cmp.Or(s.MaxShare, 0.05)
	s.Efficacy = cmp.Or(s.Efficacy, 1)
	return s
}

// LotVerdict is the state of a lot.
type LotVerdict struct {
	State   State
	Tested  int
	Of      int
	Random  int // tested stones drawn at random
	Shown   int // tested stones that are the claim and nothing else
	Others  int // tested stones that exclude the claim
	Open    int // tested stones that leave the claim standing beside others
	Bounded bool
	// At most UpperCount pieces, UpperShare of the lot, are not the claim, at
	// the confidence asked for. Open stones count as if they were not. Only
	// when Bounded: picked stones bound nothing but themselves.
	UpperCount int
	UpperShare float64
	Confidence float64
	// Expected pieces that are not the claim: those found, and of the rest what
	// the random draws lead to expect (rule of succession). Only when Bounded.
	Expected float64
	// More stones, drawn at random and each shown to be the claim, would
	// verify the lot; 0 when it is verified or no number would.
	More    int
	Strata  []StratumVerdict
	Stones  []StoneStanding
	Reasons []string
}

// StratumVerdict is the bound within one stratum.
type StratumVerdict struct {
	Name                   string
	Pieces, Tested, Others int
	UpperCount             int
}

// StoneStanding is how one tested stone stands to the claim.
type StoneStanding struct {
	Stone    string
	Standing string // "claim", "claim among others", NotClaim
	Why      string
}

// JudgeLot draws the state of a lot from its tested stones. One bad stone is
// never averaged away, and a picked stone says nothing about the rest.
func JudgeLot(l Lot, settings LotSettings) (LotVerdict, fault.List) {
	s := settings.filled()
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
	for _, t := range l.Tested {
		if t.Drawn != Random && t.Drawn != Picked {
			bad("drawn-unknown", fmt.Sprintf("stone %s was drawn %q", t.Stone, t.Drawn), "say random or picked")
		}
		if _, ok := l.Strata[t.Stratum]; len(l.Strata) > 0 && !ok {
			bad("stratum-unknown", fmt.Sprintf("stone %s is of the stratum %q, which the lot has not", t.Stone,
				t.Stratum), "use one of the lot's strata")
		}
	}
	if faults.Blocks() {
		return LotVerdict{}, faults
	}

	v := LotVerdict{Tested: len(l.Tested), Of: l.Pieces, Confidence: s.Confidence}
	by := map[string]*tally{}
	for _, t := range l.Tested {
		standing := stand(t, l.Claim)
		v.Stones = append(v.Stones, standing)
		c := by[t.Stratum]
		if c == nil {
			c = &tally{}
			by[t.Stratum] = c
		}
		c.add(t.Drawn, standing.Standing)
		switch standing.Standing {
		case isClaim:
			v.Shown++
		case NotClaim:
			v.Others++
		default:
			v.Open++
		}
		if t.Drawn == Random {
			v.Random++
		}
	}
	v.bound(l, s, by)
	v.State = v.state(s)
	for _, t := range v.Strata {
		v.Reasons = append(v.Reasons, fmt.Sprintf("of the %d %s pieces %d were tested: at most %d are not the claim",
			t.Pieces, t.Name, t.Tested, t.UpperCount))
	}
	if v.State == Supported || v.State == Stated {
		v.More = v.more(l, s, by)
	}
	v.reasons(s)
	return v, nil
}

// How a tested stone stands to the claim of its lot.
const (
	isClaim   = "claim"
	openClaim = "claim among others"
	NotClaim  = "not the claim"
)

// tally counts the tested stones of one stratum.
type tally struct {
	random, randomDoubt int // doubt: not shown to be the claim
	picked, pickedDoubt int
	others              int
}

func (c *tally) add(d Drawn, standing string) {
	doubt := 0
	if standing != isClaim {
		doubt = 1
	}
	if standing == NotClaim {
		c.others++
	}
	if d == Random {
		c.random++
		c.randomDoubt += doubt
	} else {
		c.picked++
		c.pickedDoubt += doubt
	}
}

// upper is the exact bound on the pieces of a stratum that are not the claim.
// The picked stones are known one by one; the random ones bound the rest.
func (c *tally) upper(pieces int, confidence, efficacy float64) int {
	rest := pieces - c.picked
	n, ok := chance.UpperCount(rest, c.random, c.randomDoubt, confidence, efficacy)
	if !ok {
		n = rest
	}
	return c.pickedDoubt + n
}

// expected is the mean number of pieces that are not the claim, every number
// of them in the rest being equally likely beforehand: the rule of succession
// for a finite lot.
func (c *tally) expected(pieces int) float64 {
	rest := pieces - c.picked - c.random
	return float64(c.pickedDoubt+c.randomDoubt) + float64(rest)*float64(c.randomDoubt+1)/float64(c.random+2)
}

// strata are the names and pieces of the parts of the lot, in order.
func (l Lot) strata() (names []string, pieces map[string]int) {
	if len(l.Strata) == 0 {
		return []string{""}, map[string]int{"": l.Pieces}
	}
	for name := range l.Strata {
		names = append(names, name)
	}
	slices.Sort(names)
	return names, l.Strata
}

// bound sums exact bounds over the strata; each is drawn at a confidence so
// much higher that all hold together at the one asked for (Bonferroni).
func (v *LotVerdict) bound(l Lot, s LotSettings, by map[string]*tally) {
	names, pieces := l.strata()
	if len(l.Strata) == 0 { // stones may carry stratum notes in a lot that is one
		all := &tally{}
		for _, c := range by {
			all.random, all.randomDoubt = all.random+c.random, all.randomDoubt+c.randomDoubt
			all.picked, all.pickedDoubt = all.picked+c.picked, all.pickedDoubt+c.pickedDoubt
			all.others += c.others
		}
		by[""] = all
	}
	each := 1 - (1-s.Confidence)/float64(len(names))
	for _, name := range names {
		c := by[name]
		if c == nil {
			c = &tally{}
		}
		n := c.upper(pieces[name], each, s.Efficacy)
		v.UpperCount += n
		v.Expected += c.expected(pieces[name])
		if len(l.Strata) > 0 {
			v.Strata = append(v.Strata, StratumVerdict{Name: name, Pieces: pieces[name], Tested: c.random + c.picked,
				Others: c.others, UpperCount: n})
		}
	}
	v.UpperShare = float64(v.UpperCount) / float64(v.Of)
	v.Bounded = v.Random > 0 || v.Tested == v.Of
}

func (v *LotVerdict) state(s LotSettings) State {
	switch {
	case v.Tested == 0:
		return Stated
	case v.Others == v.Tested:
		return Contradicted
	case v.Others > 0:
		return Mixed
	case v.Open > 0:
		return Supported
	case v.Tested == v.Of && s.Efficacy == 1, s.All == "" && v.Bounded && v.Random == v.Tested &&
		v.UpperShare <= s.MaxShare:
		return Verified
	}
	return Supported
}

// more is how many further random stones, each shown to be the claim, bring
// the bound within the setting.
func (v *LotVerdict) more(l Lot, s LotSettings, by map[string]*tally) int {
	if s.All != "" {
		return l.Pieces - v.Tested
	}
	if v.Open > 0 || len(l.Strata) > 0 {
		return 0
	}
	c := *by[""]
	if v.Random < v.Tested {
		return l.Pieces - v.Tested // picked stones among the tested: only testing all verifies
	}
	free := l.Pieces - v.Tested
	n := sort.Search(free, func(n int) bool {
		d := c
		d.random += n
		return float64(d.upper(l.Pieces, s.Confidence, s.Efficacy)) <= s.MaxShare*float64(l.Pieces)
	})
	return n
}

func (v *LotVerdict) reasons(s LotSettings) {
	say := func(format string, args ...any) { v.Reasons = append(v.Reasons, fmt.Sprintf(format, args...)) }
	switch v.State {
	case Stated:
		say("nothing was tested: the species is what the seller states")
	case Contradicted:
		say("every one of the %d tested stones excludes the claim", v.Tested)
	case Mixed:
		say("%d of %d tested stones exclude the claim: sort the lot by identity before it is used", v.Others, v.Tested)
	case Verified:
		if v.Tested == v.Of {
			say("all %d pieces were tested and are the claim", v.Of)
		} else {
			say("all %d tested stones, drawn at random from %d, are the claim", v.Tested, v.Of)
		}
	case Supported:
		if v.Open > 0 {
			say("the claim is left standing in all %d tested stones, but %d of them could be something else",
				v.Tested, v.Open)
		} else {
			say("all %d tested stones are the claim, but they bound the rest too loosely", v.Tested)
		}
	}
	if v.Tested > v.Random && v.Tested < v.Of {
		say("%d of the tested stones were picked, not drawn at random: they say nothing about the rest",
			v.Tested-v.Random)
	}
	if v.Bounded && v.Tested < v.Of {
		say("at most %d of %d pieces (%.1f %%) are not the claim, at %g %% confidence", v.UpperCount, v.Of,
			100*v.UpperShare, 100*s.Confidence)
	}
	if s.Efficacy < 1 {
		say("the tests are taken to recognise another material with a chance of %g", s.Efficacy)
	}
	if s.All != "" && v.Tested < v.Of {
		say("test them all: %s", s.All)
	}
	if v.More > 0 {
		if v.Tested+v.More == v.Of {
			say("verified only when all of the %d left are tested too", v.More)
		} else {
			say("verified when %d more, drawn at random, all turn out to be the claim", v.More)
		}
	}
}
