package bench

import "lotpaper/internal/identify"

// MayBe returns what a piece of the lot, taken at random, may be.
func (id *LotIdentity) MayBe() []identify.Possible {
	bare, faults := lookedAt(id.Lot, nil)
	if id.by == nil || faults.Blocks() {
		return nil
	}
	v := identify.Stone(id.by.table, &bare, &id.by.settings)
	tested := make([]identify.TestedStone, len(id.Stones))
	for i, t := range id.Stones {
		tested[i] = identify.TestedStone{Stone: t.Stone, Verdict: t.Verdict, Drawn: t.Drawn}
	}
	return id.Judged.MayBe(&v, tested)
}
