package durability

import (
	"slices"
	"strings"
	"testing"

	"lotpaper/internal/facts"
)

var jewels = []string{"ring", "bracelet", "pendant", "necklace", "brooch", "earrings"}

func TestAdvise(t *testing.T) {
	s := Situation{Stone: stones(t, "kunzite")[0], Position: Position{setting(t, "prong"), "ring", "daily"},
		Bench:   []string{"torch", "pickle"},
		Display: Display{Lux: 1500, HoursPerDay: 12, DaysPerYear: 313}}
	a := AdviseAll(s, nil, facts.Settings(), jewels, nil)
	if len(a.Fits) == 0 {
		t.Fatal("a kunzite fits nowhere")
	}
	for i, o := range a.Fits {
		set := setting(t, o.Setting)
		x := s
		x.Position = Position{set, o.Piece, o.Wear}
		if got := Judge(x).Setting; got != o.Level || got > Care {
			t.Errorf("%+v is judged %s", o, got)
		}
		if i > 0 && a.Fits[i-1].Level > o.Level {
			t.Error("not best first")
		}
		if len(set.Pieces) > 0 && !slices.Contains(set.Pieces, o.Piece) {
			t.Errorf("%s is no setting for %s", o.Setting, o.Piece)
		}
		if set.Force == 0 {
			t.Errorf("a faceted stone on a peg or a thread: %+v", o)
		}
		if o.Piece == "ring" {
			t.Errorf("a kunzite ring: %+v", o)
		}
	}
	lifted := map[Part][]string{}
	for _, l := range a.Lifts {
		if l.To >= Avoid {
			t.Errorf("%+v lifts nothing", l)
		}
		lifted[l.Part] = append(lifted[l.Part], l.Change)
	}
	for part, want := range map[Part]string{PartSetting: "earrings instead", PartBench: "no torch with the stone in " +
		"place", PartDisplay: "keep it as in a closed box"} {
		if a.Asked.Of(part) == Avoid && !slices.Contains(lifted[part], want) {
			t.Errorf("%s: %q not in %q", part, want, lifted[part])
		}
	}
	if len(a.Stuck) != 0 {
		t.Errorf("stuck: %v", a.Stuck)
	}
}

// Every avoid of every species in every setting gets the smallest change that
// lifts it, or is named as stuck; what is called single is single.
func TestAdvise_EveryAvoid(t *testing.T) {
	for _, m := range facts.Materials() {
		for _, name := range []string{"prong", "flush", "tension"} {
			set := setting(t, name)
			s := Situation{Stone: Stone{Material: m}, Position: Position{set, "ring", "daily"}, Bench: []string{"torch",
				"steam", "pickle"}}
			a := AdviseAll(s, nil, facts.Settings(), jewels, nil)
			for _, part := range parts {
				n := 0
				size := 0
				for _, l := range a.Lifts {
					if l.Part == part {
						n++
						if size != 0 && l.Size != size {
							t.Fatalf("%s in %s: %+v beside changes of size %d", m.Name, set.Name, l, size)
						}
						size = l.Size
					}
				}
				avoid := a.Asked.Of(part) == Avoid
				if avoid != (n > 0 || slices.Contains(a.Stuck, part)) {
					t.Fatalf("%s in %s: %s is %s with %d lifts, stuck %v", m.Name, set.Name, part,
						a.Asked.Of(part), n, a.Stuck)
				}
			}
			if slices.Contains(a.Stuck, PartBench) || slices.Contains(a.Stuck, PartDisplay) {
				t.Errorf("%s in %s: stuck %v", m.Name, set.Name, a.Stuck)
			}
		}
	}
}

func TestJudgeAll(t *testing.T) {
	left := append(stones(t, "topaz"), stones(t, "andalusite")...)
	left = append(left, stones(t, "apatite")...)
	s := Situation{Position: Position{setting(t, "prong"), "ring", "daily"}, Bench: []string{"torch"}}
	c := JudgeAll(s, left)
	if c.Setting != Avoid || c.Deciding.Name != "apatite" || len(c.If) != 3 {
		t.Fatalf("%+v", c)
	}
	for _, words := range c.If {
		if !strings.HasPrefix(words, "if this is ") || !strings.Contains(words, ", then ") {
			t.Errorf("%q", words)
		}
	}
	v := c.Verdict()
	for _, part := range parts {
		worst := Sound
		for _, e := range c.Each {
			worst = max(worst, e.Verdict.Of(part))
		}
		told := Sound
		for _, f := range v.Findings {
			if f.Part == part {
				told = max(told, f.Level)
			}
		}
		if v.Of(part) != worst || told != worst {
			t.Errorf("%s: verdict %s, told %s, worst candidate %s", part, v.Of(part), told, worst)
		}
	}
	for _, e := range c.Each {
		at := -1
		for _, step := range e.Verdict.WorkOrder { // the work order of each is a part of the whole, in its order
			i := slices.Index(v.WorkOrder, step)
			if i <= at {
				t.Errorf("%s: %q stands at %d, after %d", e.Name, step, i, at)
			}
			at = i
		}
		for _, f := range e.Verdict.Forbidden {
			if !slices.ContainsFunc(v.Forbidden, func(w string) bool { return stepOf(w) == stepOf(f) }) {
				t.Errorf("%s forbids %s, the whole does not", e.Name, f)
			}
		}
	}
	if one := JudgeAll(s, nil); one.Setting < Care || len(one.Each) != 1 {
		t.Errorf("nothing left: %+v", one.Levels)
	}
}

// What fits a lot that may be several stones fits each of them, what lifts an
// avoid lifts it for each, and nothing that fits all of them is left out.
func TestAdviseAll(t *testing.T) {
	left := append(stones(t, "topaz"), stones(t, "apatite")...)
	left = append(left, stones(t, "opal")...)
	s := Situation{Stone: left[0], Position: Position{setting(t, "tension"), "ring", "daily"}, Bench: []string{"torch"}}
	all := AdviseAll(s, left, facts.Settings(), jewels, nil)
	if len(all.Fits) == 0 || len(all.Lifts) == 0 {
		t.Fatalf("%d fits, %d lifts", len(all.Fits), len(all.Lifts))
	}
	fits := map[[3]string]int{}
	for _, stone := range left {
		one := s
		one.Stone = stone
		for _, o := range AdviseAll(one, nil, facts.Settings(), jewels, nil).Fits {
			fits[[3]string{o.Setting, o.Piece, o.Wear}]++
		}
	}
	common := 0
	for _, n := range fits {
		if n == len(left) {
			common++
		}
	}
	for _, o := range all.Fits {
		if fits[[3]string{o.Setting, o.Piece, o.Wear}] != len(left) {
			t.Errorf("%+v does not fit all of them", o)
		}
	}
	if common != len(all.Fits) {
		t.Errorf("%d fit all of them, %d are told", common, len(all.Fits))
	}
	if all.Asked.Setting != Avoid || all.Asked.Bench != Avoid {
		t.Errorf("asked: %+v", all.Asked.Levels)
	}
}

// The card of a lot that may be several stones says what the card of each
// would say.
func TestCandidates_Care(t *testing.T) {
	left := append(stones(t, "spinel"), stones(t, "opal")...)
	s := Situation{Position: Position{setting(t, "bezel"), "ring", "daily"}, Stone: left[0]}
	c := JudgeAll(s, left)
	all := c.Care(s)
	for _, e := range c.Each {
		one := s
		one.Stone = e.Stone
		card := CareOf(one, e.Verdict)
		for _, x := range []struct{ some, of []string }{{card.Wear, all.Wear}, {card.Clean, all.Clean},
			{card.Store, all.Store}, {card.Display, all.Display}, {card.Repair, all.Repair}} {
			for _, w := range x.some {
				if !slices.Contains(x.of, w) {
					t.Errorf("%s: %q is not on the card", e.Name, w)
				}
			}
		}
	}
	if len(all.Store) < 2 || !slices.ContainsFunc(all.Clean, func(w string) bool {
		return strings.Contains(w,
			"closed")
	}) {
		t.Errorf("%+v", all)
	}
}

// Wade, A Text-Book of Precious Stones (1918), lesson XVII: even a sapphire is
// not worn beside a diamond.
func TestClashes(t *testing.T) {
	one := func(name string) BoxStone { return BoxStone{name, []*facts.Material{facts.MaterialNamed(name)}} }
	got := Clashes([]BoxStone{one("corundum"), one("opal"), one("diamond"), {"new", []*facts.Material{{Name: "new"}}},
		{"nothing", nil}})
	if len(got) != 4 || got[0].Softer != "opal" || got[0].Harder != "diamond" || got[1].Softer != "corundum" ||
		got[2].Softer != "new" || got[3].Softer != "nothing" {
		t.Errorf("%+v", got)
	}
	if got := Clashes([]BoxStone{one("diamond")}); len(got) != 0 {
		t.Errorf("alone: %+v", got)
	}
	// What one paper may be does not scratch itself, nor does it scratch its kind.
	garnet, _ := facts.Resolve("garnet")
	if got := Clashes([]BoxStone{one("quartz"), one("quartz")}); len(got) != 0 {
		t.Errorf("quartz beside quartz: %+v", got)
	}
	if got := Clashes([]BoxStone{{"garnet", garnet.Materials}, one("talc")}); len(got) != 1 ||
		got[0].Softer != "talc" || got[0].Harder != "garnet" {
		t.Errorf("garnet beside talc: %+v", got)
	}
}

// Every dispute names a material or variety of the fact tables, and is told
// with both sources.
func TestDisputes(t *testing.T) {
	for _, d := range tables().disputes {
		m := facts.MaterialNamed(d.material)
		if m == nil {
			t.Errorf("no material %q", d.material)
			continue
		}
		s := Stone{Material: m}
		if d.variety != "" {
			at := slices.IndexFunc(facts.Varieties(), func(v *facts.Variety) bool {
				return v.Name == d.variety &&
					v.Species == d.material
			})
			if at < 0 {
				t.Errorf("no variety %q of %s", d.variety, d.material)
				continue
			}
			s.Variety = facts.Varieties()[at]
		}
		if v := Judge(Situation{Stone: s}); !slices.Contains(v.Disputed, d.Dispute) {
			t.Errorf("%s: %v", d.material, v.Disputed)
		}
	}
	if v := Judge(Situation{Stone: stones(t, "spinel")[0]}); len(v.Disputed) != 0 {
		t.Errorf("spinel: %v", v.Disputed)
	}
}

// What a lot may also be without being told one by one is told together: its
// chance, and the level that at least half of it reaches.
func TestJudgeAll_Rarer(t *testing.T) {
	left := stones(t, "sapphire")
	left[0].Chance, left[0].Taken = 0.9, 1
	for _, name := range []string{"kyanite", "apatite", "fluorite", "topaz", "quartz", "spinel"} {
		one := stones(t, name)[0]
		one.Chance = 0.1 / 6
		left = append(left, one)
	}
	s := Situation{Position: Position{setting(t, "prong"), "ring", "daily"}}
	c := JudgeAll(s, left)
	// Kyanite, apatite and fluorite are told; of topaz (caution) and quartz (care)
	// half reaches caution; a spinel is no worse than a sapphire.
	if c.Setting > Care || len(c.Others) != 3 || c.Rarer.Stones != 2 || c.Rarer.Level != Caution ||
		c.Rarer.Chance < 0.033 || c.Rarer.Chance > 0.034 {
		t.Errorf("%s, %d others, %+v", c.Setting, len(c.Others), c.Rarer)
	}
	if named := JudgeAll(s, stones(t, "garnet")); named.Rarer.Stones != 0 {
		t.Errorf("of a group without chances: %+v", named.Rarer)
	}
}
