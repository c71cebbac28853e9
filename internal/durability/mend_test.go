package durability

import (
	"slices"
	"strings"
	"testing"

	"lotpaper/internal/chance"
	"lotpaper/internal/facts"
)

// proved holds every mend of a situation to the rules: each choice that it
// leaves is judged anew and stands where the mend says, better than before.
func proved(t *testing.T, name string, s Situation, stones []Stone, m *Mender) (mends, kept int) {
	t.Helper()
	now := JudgeAll(s, stones)
	v := now.Verdict()
	m.Mend(s, &v)
	for _, part := range parts {
		list := m.Mends(s, part)
		for i, x := range list {
			if x.To >= now.Of(part) || x.Change == "" || len(x.Situations) == 0 {
				t.Fatalf("%s: %s is %s, the mend %+v", name, part, now.Of(part), x)
			}
			for _, changed := range x.Situations {
				of := slices.Clone(stones)
				for j := range of {
					if changed.Treatment != s.Treatment {
						of[j].Treatment = changed.Treatment
					}
				}
				if got := JudgeAll(changed, of).Of(part); got != x.To {
					t.Fatalf("%s: %s after %q is %s, not %s", name, part, x.Change, got, x.To)
				}
				if changed.Piece != s.Piece && !strings.Contains(x.Change, changed.Piece) ||
					changed.Wear != s.Wear && part != PartDisplay && !strings.Contains(x.Change, changed.Wear) ||
					changed.Setting != s.Setting && !strings.Contains(x.Change, changed.Setting.Name) {
					t.Fatalf("%s: %q does not say what changes: %+v", name, x.Change, changed.Position)
				}
				if i == 1 && changed.Piece != s.Piece {
					t.Fatalf("%s: %q does not keep the piece", name, x.Change)
				}
			}
			mends++
		}
		if len(list) > 1 {
			kept++
		}
		for _, f := range v.Findings {
			decides := f.Part == part && f.Level == now.Of(part) && f.Level >= Caution
			if f.Part == part && decides != (f.Mend != "") && len(list) > 0 {
				t.Fatalf("%s: %s %s at %s has the mend %q", name, part, f.Rule, f.Level, f.Mend)
			}
		}
	}
	return mends, kept
}

// No mend leaves a verdict as bad as it was: of every material and variety in
// every setting, for two pieces and ways of wear, with and without steps at the
// bench, in strong light.
func TestMends_EveryMaterialInEverySetting(t *testing.T) {
	t.Parallel()
	var all []Stone
	for _, m := range facts.Materials() {
		all = append(all, Stone{Material: m})
	}
	for _, v := range facts.Varieties() {
		all = append(all, Stone{Material: facts.MaterialNamed(v.Species), Variety: v})
	}
	tried, mends, kept := 0, 0, 0
	for _, stone := range all {
		m := NewMender([]Stone{stone}, facts.Settings(), jewels)
		for _, set := range facts.Settings() {
			for i, pos := range []Position{{set, "ring", "daily"}, {set, "bracelet", "occasional"}} {
				s := Situation{Stone: stone, Position: pos, Display: Display{Lux: 1500}}
				if i > 0 {
					s.Bench = []string{"torch", "ultrasonic", "pickle"}
				}
				n, k := proved(t, readAs(&stone)+" in "+set.Name, s, []Stone{stone}, m)
				tried, mends, kept = tried+1, mends+n, kept+k
			}
		}
	}
	t.Logf("%d verdicts, %d mends, %d beside one that keeps the piece", tried, mends, kept)
	if tried < 9_000 || mends < tried/2 {
		t.Errorf("%d mends of %d verdicts", mends, tried)
	}
}

// A lot that may be several stones is mended by the chances of all of them.
func TestMends_Lots(t *testing.T) {
	t.Parallel()
	stream := chance.NewStream(12, "mends of lots")
	materials := facts.Materials()
	for range 200 {
		var stones []Stone
		left := 1.0
		for left > 0.02 {
			x := Stone{Material: materials[stream.IntN(len(materials))], Chance: left * stream.Float64()}
			x.Taken = x.Chance
			left -= x.Chance
			stones = append(stones, x)
		}
		s := Situation{Stone: stones[0], Bench: []string{"steam"}, Position: Position{
			facts.Settings()[stream.IntN(len(facts.Settings()))], jewels[stream.IntN(len(jewels))], "daily"}}
		proved(t, "a lot", s, stones, NewMender(stones, facts.Settings(), jewels))
	}
}

// Topaz, zircon and benitoite in a daily prong ring: what protects them there
// is named with the level that it leads to.
func TestMends_OfProng(t *testing.T) {
	for _, name := range []string{"topaz", "zircon (high type)", "benitoite"} {
		one := stones(t, name)
		s := Situation{Stone: one[0], Position: Position{setting(t, "prong"), "ring", "daily"}}
		words := NewMender(one, facts.Settings(), jewels).Words(s, PartSetting)
		if !strings.Contains(words, "pendant or earrings instead: ") {
			t.Errorf("%s: %q", name, words)
		}
	}
}

// The advice of a rule is what is done where the stone is set all the same: it
// names no other place, which only a mend may promise.
func TestAdvice_NamesNoOtherPlace(t *testing.T) {
	names := []string{"earrings", "pendant", "brooch", "occasional", "evening"}
	for _, s := range facts.Settings() {
		if s.Name != "prong" { // "no prong on a cleavage"
			names = append(names, s.Name)
		}
	}
	for _, r := range book().rules {
		for _, name := range names {
			if r.part == PartSetting && strings.Contains(" "+r.advice+" ", " "+name+" ") {
				t.Errorf("%s: %q", r.id, r.advice)
			}
		}
	}
}
