package bench

import (
	"cmp"
	"slices"

	"lotpaper/internal/answer"
	"lotpaper/internal/identify"
	"lotpaper/internal/num"
)

// byPaper joins single stones that follow each other in a paper and were
// judged alike: the same state and the same materials left.
func byPaper(ids []LotIdentity) []LotIdentity {
	var out []LotIdentity
	var firsts, lasts []string
	for _, id := range ids {
		n := len(out) - 1
		if n < 0 || !answer.NextStone(lasts[n], id.Lot.Code) || !judgedAlike(&out[n], &id) {
			out = append(out, id)
			firsts, lasts = append(firsts, id.Lot.Code), append(lasts, id.Lot.Code)
			continue
		}
		joined := &out[n]
		if firsts[n] == lasts[n] {
			joined.Stones = named(joined.Stones, firsts[n])
			joined.Judged.Stones = standings(joined.Judged.Stones, firsts[n])
			joined.Judged.Reasons = slices.Clone(joined.Judged.Reasons)
			for i, r := range joined.Judged.Reasons {
				joined.Judged.Reasons[i] = "of each stone: " + r
			}
		}
		joined.Stones = append(joined.Stones, named(id.Stones, id.Lot.Code)...)
		joined.Judged.Stones = append(joined.Judged.Stones, standings(id.Judged.Stones, id.Lot.Code)...)
		joined.Risk = risk{expected: both(joined.Risk.expected, id.Risk.expected),
			bound: both(joined.Risk.bound, id.Risk.bound)}
		joined.Pieces += id.Pieces
		joined.Judged.Tested += id.Judged.Tested
		joined.Judged.Of += id.Judged.Of
		joined.Judged.Chance = min(joined.Judged.Chance, id.Judged.Chance)
		joined.Judged.Expected += id.Judged.Expected
		joined.Judged.UpperCount += id.Judged.UpperCount
		lasts[n] = id.Lot.Code
		joined.Lot.Code = answer.RunOf(firsts[n], id.Lot.Code)
	}
	return out
}

// named gives tested stones without a tag their lot's code.
func named(stones []TestedStone, code string) []TestedStone {
	out := slices.Clone(stones)
	for i := range out {
		out[i].Stone = cmp.Or(out[i].Stone, code)
	}
	return out
}

// both is the sum of two amounts; nil when one is not known.
func both(a, b *num.Money) *num.Money {
	if a == nil || b == nil {
		return nil
	}
	sum := a.Add(*b)
	return &sum
}

// standings gives the standings of stones without a tag their lot's code.
func standings(stones []identify.StoneStanding, code string) []identify.StoneStanding {
	out := slices.Clone(stones)
	for i := range out {
		out[i].Stone = cmp.Or(out[i].Stone, code)
	}
	return out
}

// judgedAlike reports whether two lots have one claim, one state, the same
// facets and the same materials left.
func judgedAlike(a, b *LotIdentity) bool {
	return a.Claim == b.Claim && a.Judged.State == b.Judged.State && a.Lot.Facets == b.Lot.Facets &&
		slices.Equal(left(a), left(b))
}

// left lists what the tests leave of a lot's first stone, by name, and which of
// that is likely.
func left(id *LotIdentity) []string {
	if len(id.Stones) == 0 {
		return nil
	}
	var out []string
	for _, c := range id.Stones[0].Account.Candidates {
		name := c.Material.Name
		if c.Share >= likely {
			name += ", likely"
		}
		out = append(out, name)
	}
	slices.Sort(out)
	return out
}
