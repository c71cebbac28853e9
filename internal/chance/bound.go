package chance

import (
	"math"
	"sort"
)

// UpperCount is the exact upper bound on the number of bad pieces in a lot of
// `lot` pieces when `bad` of `tested` pieces, drawn at random without putting
// back, were found bad, and each bad piece that is tested is recognised with
// chance efficacy (0 < efficacy <= 1): the greatest number that would show
// this few with a chance above 1 - confidence. It counts the pieces found. All
// tested with efficacy 1 gives bad itself. ok is false for arguments out of
// their domain.
func UpperCount(lot, tested, bad int, confidence, efficacy float64) (count int, ok bool) {
	if lot < 0 || tested < 0 || tested > lot || bad < 0 || bad > tested ||
		!(confidence > 0 && confidence < 1) || !(efficacy > 0 && efficacy <= 1) {
		return 0, false
	}
	most := lot
	if efficacy == 1 {
		most = lot - (tested - bad) // those seen good are good
	}
	// The chance to see at most `bad` falls as the number of bad pieces rises:
	// find the first number that is refuted.
	n := sort.Search(most-bad+1, func(i int) bool {
		h := Hypergeometric{Lot: lot, Bad: bad + i, Drawn: tested}
		return h.found(bad, efficacy) <= 1-confidence+slack
	})
	return bad + max(n-1, 0), true
}

// SampleToFind is the smallest number of pieces to draw at random from a lot
// of `lot` so that at least one bad piece is found with the given confidence
// when `bad` of them are bad and each is recognised with chance efficacy. ok
// is false when even testing all is not enough, or an argument is out of its
// domain.
func SampleToFind(lot, bad int, confidence, efficacy float64) (n int, ok bool) {
	if lot < 1 || bad < 1 || bad > lot || !(confidence > 0 && confidence < 1) || !(efficacy > 0 && efficacy <= 1) {
		return 0, false
	}
	n = sort.Search(lot+1, func(n int) bool {
		h := Hypergeometric{Lot: lot, Bad: bad, Drawn: n}
		return 1-h.found(0, efficacy) >= confidence-slack
	})
	return n, n <= lot
}

// SampleToFindShare is SampleToFind for an endless lot of which the share
// `share` is bad.
func SampleToFindShare(share, confidence, efficacy float64) (n int, ok bool) {
	p := share * efficacy
	if !(share > 0 && share <= 1) || !(confidence > 0 && confidence < 1) || !(efficacy > 0 && efficacy <= 1) {
		return 0, false
	}
	if p == 1 {
		return 1, true
	}
	x := math.Log1p(-confidence) / math.Log1p(-p)
	if near := math.Round(x); math.Abs(x-near) < 1e-9*near {
		x = near // a confidence met exactly counts as met
	}
	return int(math.Ceil(x)), true
}
