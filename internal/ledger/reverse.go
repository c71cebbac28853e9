package ledger

// Blockers returns which of the later entries keep e from being taken back.
// later holds the entries after e that are neither reversals nor reversed. One
// of them blocks when it touches the same lot at the same place, or derives
// from e: e changed what its lot is worth on average, and the later entry took
// cost out of that lot somewhere else.
func (e Entry) Blockers(later []Entry) []Entry {
	touched := map[Spot]bool{}
	whole := map[string]Total{}
	for _, p := range e.Postings {
		touched[Spot{p.Lot, p.Place}] = true
		if p.Place.IsReal() {
			whole[p.Lot] = whole[p.Lot].Add(p)
		}
	}
	blocks := func(p Posting) bool {
		return touched[Spot{p.Lot, p.Place}] || p.Place.IsReal() && p.takes() && !whole[p.Lot].IsZero()
	}
	var out []Entry
	for _, x := range later {
		for _, p := range x.Postings {
			if blocks(p) {
				out = append(out, x)
				break
			}
		}
	}
	return out
}

// takes reports whether the posting takes something away.
func (p Posting) takes() bool { return p.Pieces < 0 || p.Carats < 0 || p.Cost.Sign() < 0 }

// Lots returns the lots that the entry touches, in order of first mention.
func (e Entry) Lots() []string {
	var out []string
	seen := map[string]bool{}
	for _, p := range e.Postings {
		if !seen[p.Lot] {
			seen[p.Lot] = true
			out = append(out, p.Lot)
		}
	}
	return out
}
