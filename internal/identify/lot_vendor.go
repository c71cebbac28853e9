package identify

import (
	"lotpaper/internal/chance"
	"lotpaper/internal/facts"
)

// Record is how the tested stones of a vendor's lots turned out: those that are
// not what his parcel claimed, and those that are, each on its own evidence.
type Record struct {
	Strangers, Plain int
}

// Tested is the number of stones of the record.
func (r Record) Tested() int { return r.Strangers + r.Plain }

// Plus is the record of both.
func (r Record) Plus(other Record) Record {
	return Record{r.Strangers + other.Strangers, r.Plain + other.Plain}
}

// Less is the record without another that is part of it.
func (r Record) Less(other Record) Record {
	return Record{r.Strangers - other.Strangers, r.Plain - other.Plain}
}

// RecordOf counts the stones of a lot. Only those drawn at random count, unless
// nothing was left untested: a picked stone says nothing of the others. A stone
// that is neither flagged nor the claim nearly for certain counts as none.
func RecordOf(claim []*facts.Material, stones []TestedStone, all bool) Record {
	var r Record
	for i := range stones {
		if stones[i].Drawn != Random && !all {
			continue
		}
		switch e := evidenceOf(&stones[i], claim); {
		case e.flagged:
			r.Strangers++
		case e.share >= plainChance:
			r.Plain++
		}
	}
	return r
}

// recordMost is the weight, in stones, that the belief about strangers has at
// most with a vendor's record: no vendor is believed without a test.
const recordMost = 30

// With is the trade of a vendor with a record: the strangers and plain stones
// found move what is expected within a lot of his.
func (t Trade) With(r Record) Trade {
	t = t.filled()
	if r.Tested() == 0 {
		return t
	}
	b := t.Strangers
	b.A, b.B = b.A+float64(r.Strangers), b.B+float64(r.Plain)
	if sum := b.A + b.B; sum > recordMost {
		b.A, b.B = b.A*recordMost/sum, b.B*recordMost/sum
	}
	t.Strangers = b
	return t
}

// untested is the share of strangers expected of a lot before any test: all three
// states count, so that it is 12.8 % by the usual trade.
func (w *tradeWeights) untested() float64 {
	sum := 0.0
	for k, theta := range gridShares {
		sum += (w.claimed[k]+w.mixed[k])*theta + w.other[k]*restIf(theta)
	}
	return sum
}

// tradeWeights are the weights of each share of strangers, and of each share of
// another material, by the state of a lot; they add up to 1.
type tradeWeights struct{ claimed, mixed, other [gridSteps]float64 }

func (t Trade) weights() tradeWeights {
	w := tradeWeights{gridWeights(t.Strangers), gridWeights(chance.Beta{A: 1, B: 1}),
		gridWeights(chance.Beta{A: 9.5, B: 0.5})}
	total := t.Claim + t.Mixture + t.Other
	for k := range gridShares {
		w.claimed[k] *= t.Claim / total
		w.mixed[k] *= t.Mixture / total
		w.other[k] *= t.Other / total
	}
	return w
}
