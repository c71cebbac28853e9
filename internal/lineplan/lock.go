package lineplan

import (
	"fmt"
	"strings"

	"lotpaper/internal/book"
)

// LockError says why locked stones cannot all go where they must.
type LockError struct {
	Lock Lock
	Why  string
}

func (e *LockError) Error() string {
	return fmt.Sprintf("%s cannot be locked in %s: %s", e.Lock.Lot, e.Lock.In, e.Why)
}

// String is the lock as it is asked for.
func (l Lock) String() string { return l.Lot + " in " + string(l.In) }

// ParseLock reads "LOT in DESIGN" or "LOT in DESIGN/POSITION".
func ParseLock(s string) (Lock, bool) {
	lot, in, found := strings.Cut(s, " in ")
	l := Lock{strings.TrimSpace(lot), book.SpotName(strings.TrimSpace(in))}
	return l, found && l.Lot != "" && l.In != ""
}

// locks gives every lock a piece of its design: for each design the pieces
// that have locked stones, by position. Locks of different positions share a
// piece; a pair shares one when its stones match.
func (m *Model) locks() (map[int][]map[int][]int, error) {
	out := map[int][]map[int][]int{}
	used := map[int]int64{}
	for _, l := range m.input.Locks {
		p, item, err := m.lockPlace(l)
		if err != nil {
			return nil, err
		}
		if used[item]++; used[item] > m.input.Stones[item].Free {
			return nil, &LockError{l, fmt.Sprintf("it has %d free pieces, and more are locked",
				m.input.Stones[item].Free)}
		}
		pieces := out[p.di]
		at := 0
		for at < len(pieces) && !m.joins(p, pieces[at][p.pi], item) {
			at++
		}
		if at == len(pieces) {
			if int64(at) >= p.design.Quantity {
				return nil, &LockError{l, fmt.Sprintf("%d pieces of %s are planned, and each has its locked stones "+
					"already", p.design.Quantity, p.design.Name)}
			}
			pieces = append(pieces, map[int][]int{})
		}
		pieces[at][p.pi] = append(pieces[at][p.pi], item)
		out[p.di] = pieces
	}
	return out, nil
}

// joins reports whether a locked stone can share a piece with those that are
// locked at the same position already.
func (m *Model) joins(p *place, have []int, item int) bool {
	if int64(len(have)) >= p.Count {
		return false
	}
	if !matched(p.Position) || len(have) == 0 || p.Match == "pair" && len(have)%2 == 0 {
		return true
	}
	a, b := m.candidate(p, item), m.candidate(p, have[len(have)-1])
	if item == have[len(have)-1] {
		return ownPair(a.s, tolerance(p.Position))
	}
	_, ok := m.mismatch(a, b, tolerance(p.Position))
	return ok || p.Match == "graduated"
}

func (m *Model) candidate(p *place, item int) candidate {
	return candidate{item, p.cost[item], &m.input.Stones[item]}
}

// lockPlace finds the position that a lock means: the first of the design that
// the stone fits, or the one named.
func (m *Model) lockPlace(l Lock) (*place, int, error) {
	item, ok := m.index[fold(l.Lot)]
	if !ok {
		return nil, 0, &LockError{l, "there is no lot " + l.Lot + " in stock"}
	}
	designs := make([]book.Design, len(m.input.Designs))
	for i, d := range m.input.Designs {
		designs[i] = d.Design
	}
	spot, f := l.In.Find(designs, true)
	if f != nil {
		return nil, 0, &LockError{l, f.What}
	}
	var whys []string
	for _, p := range m.places[spot.Design] {
		if spot.Position >= 0 && p.pi != spot.Position {
			continue
		}
		fit, _ := m.fit(item, p)
		why := fit.sentence(p)
		if fit.Stage == Fits {
			if !matched(p.Position) || matchable(&m.input.Stones[item]) {
				return p, item, nil
			}
			why = "it is neither one stone nor calibrated, so it cannot be matched"
		}
		whys = append(whys, p.name+": "+why)
	}
	return nil, 0, &LockError{l, strings.Join(whys, "; ")}
}
