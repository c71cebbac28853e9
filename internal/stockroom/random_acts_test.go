package stockroom_test

import (
	"slices"
	"testing"

	"lotpaper/internal/fault"
	"lotpaper/internal/store"
)

// act is something that a dealer does, drawn as often as its weight says.
type act struct {
	name   string
	weight int
	play   func() error
}

// acts are what the dealer draws from. An act that never writes anything tests
// nothing: everyAct compares.
func (d *dealer) acts() []act {
	buys := 1
	if d.quiet {
		buys = 0
	}
	acts := []act{
		{"buy", buys, d.buyMore},
		{"split", 2, d.split},
		{"sort", 2, d.sort},
		{"merge", 2, d.merge},
		{"memo out", 2, d.memoOut},
		{"memo back", 2, d.memoBack},
		{"work out", 1, d.workOut},
		{"work back", 2, d.workBack},
		{"adjust", 1, d.adjust},
		{"write down", 1, d.writeDown},
		{"reverse", 1, d.reverse},
	}
	acts = append(acts, d.officeActs()...)
	acts = append(acts, d.pieceActs()...)
	acts = append(acts, d.moneyActs()...)
	acts = append(acts, d.holdActs()...)
	acts = append(acts, d.orderActs()...)
	acts = append(acts, d.ownerActs()...)
	return acts
}

// everyAct holds that each act wrote something at least so often.
func (d *dealer) everyAct(t *testing.T, least int) {
	t.Helper()
	for _, a := range d.acts() {
		if a.weight > 0 && d.played[a.name] < least {
			t.Errorf("%q wrote %d times, want at least %d", a.name, d.played[a.name], least)
		}
	}
	t.Logf("written: %v", d.played)
}

// step plays acts until one writes or is refused, at most four: some find nothing to do.
func (d *dealer) step() {
	d.naive.on = string(d.write.On)
	var from []act
	for _, a := range d.acts() {
		from = append(from, slices.Repeat([]act{a}, a.weight)...)
	}
	before := d.head()
	for range 4 {
		if d.play(pick(d, "act", from), before) {
			return
		}
	}
}

// play plays an act, which writes or leaves the book as it was, and reports whether it
// did anything.
func (d *dealer) play(a act, before store.Head) bool {
	err := a.play()
	now := d.head()
	switch l, isFault := fault.From(err); {
	case isFault:
		d.refused[l[0].Code]++
		d.heldWrongly(l)
		if now != before {
			d.Fatalf("%v, and yet the book went from %v to %v", err, before, now)
		}
		return true
	case err != nil:
		d.Fatal(err)
	}
	if now != before {
		d.played[a.name]++
	}
	return now != before
}
