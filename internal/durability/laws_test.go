package durability

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lotpaper/internal/facts"
)

// worsen lists every fact of a situation with its values from the best to the
// worst, and how to set it.
type fact struct {
	name   string
	values int
	set    func(*Situation, int)
}

func choice[W ~string](list ...W) []W { return list }

var (
	hardnesses  = []float64{10, 9, 8.5, 8, 7.5, 7, 6.5, 6, 5.5, 5, 4, 3, 2}
	toughnesses = choice[facts.Toughness]("exceptional", "excellent", "good", "fair", "poor")
	cleavages   = choice[facts.Cleavage]("none", "indistinct", "poor", "distinct", "good", "perfect")
	lights      = choice[facts.Light]("stable", "low", "medium", "high")
	heats       = choice[facts.Heat]("high", "moderate", "low", "never")
	attacks     = choice[facts.Attack]("none", "slow", "yes")
	baths       = choice[facts.Bath]("yes", "caution", "no")
	doses       = []float64{0, 50, 200, 500, 1500, 3000, 20000}
	treatments  = []string{"none", "oil", "oil; resin", "oil; resin; glass"}
	fracture    = []string{"none", "inner", "inner; open", "open; liquid"}
	pieceOrder  = []string{"object", "pendant", "anklet", "watch", "ring"} // knocks and cosmetics both rise
	shapeOrder  = []string{"round", "octagon", "marquise"}
)

var facets = []fact{
	{"hardness", len(hardnesses), func(s *Situation, i int) {
		s.Material.Hardness = facts.Span(hardnesses[i],
			hardnesses[i])
	}},
	{"toughness", len(toughnesses), func(s *Situation, i int) { s.Material.Toughness = toughnesses[i] }},
	{"cleavage", len(cleavages), func(s *Situation, i int) { s.Material.Cleavage = cleavages[i] }},
	{"directions", 4, func(s *Situation, i int) { s.Material.Directions = i + 1 }},
	{"light", len(lights), func(s *Situation, i int) { s.Material.Light = lights[i] }},
	{"heat", len(heats), func(s *Situation, i int) { s.Material.Heat = heats[i] }},
	{"acid", 3, func(s *Situation, i int) { s.Material.Acid = attacks[i] }},
	{"alkali", 3, func(s *Situation, i int) { s.Material.Alkali = attacks[i] }},
	{"solvent", 3, func(s *Situation, i int) { s.Material.Solvent = attacks[i] }},
	{"ultrasonic bath", 3, func(s *Situation, i int) { s.Material.Ultrasonic = baths[i] }},
	{"steam bath", 3, func(s *Situation, i int) { s.Material.Steam = baths[i] }},
	{"porous", 2, func(s *Situation, i int) { s.Material.Porous = noYes[i] }},
	{"dries", 2, func(s *Situation, i int) { s.Material.Dries = noYes[i] }},
	{"fluoride", 2, func(s *Situation, i int) { s.Material.FluoridePickle = i == 1 }},
	{"treatment", len(treatments), func(s *Situation, i int) { s.Treatment = treatments[i] }},
	{"inclusions", len(fracture), func(s *Situation, i int) { s.Inclusions = fracture[i] }},
	{"shape", len(shapeOrder), func(s *Situation, i int) { s.Shape = shapeOrder[i] }},
	{"length", 4, func(s *Situation, i int) { s.Length, s.Width = float64(6+6*i), float64(6+6*i) }},
	{"girdle", 2, func(s *Situation, i int) { s.Girdle = []string{"medium", "thin"}[i] }},
	{"girdle exposed", 3, func(s *Situation, i int) { s.Setting.GirdleExposed = i }},
	{"crown exposed", 4, func(s *Situation, i int) { s.Setting.CrownExposed = i }},
	{"closed back", 2, func(s *Situation, i int) { s.Setting.PavilionOpen = i == 0 }},
	{"corners exposed", 2, func(s *Situation, i int) { s.Setting.CornersExposed = i == 1 }},
	{"impact", 4, func(s *Situation, i int) { s.Setting.Impact = i }},
	{"force", 4, func(s *Situation, i int) { s.Setting.Force = i }},
	{"side pressure", 2, func(s *Situation, i int) { s.Setting.SidePressure = i == 1 }},
	{"heat near", 2, func(s *Situation, i int) { s.Setting.HeatNear = i == 1 }},
	{"piece", len(pieceOrder), func(s *Situation, i int) { s.Piece = pieceOrder[i] }},
	{"wear", 3, func(s *Situation, i int) { s.Wear = Wears[i] }},
	{"lux", len(doses), func(s *Situation, i int) { s.Lux, s.Dark = doses[i], i == 0 }},
	{"hours", 4, func(s *Situation, i int) { s.HoursPerDay = float64(1 + 7*i) }},
	{"lamp", 3, func(s *Situation, i int) { s.Lamp = []string{"led", "fluorescent", "halogen"}[i] }},
	{"neighbour", 3, func(s *Situation, i int) {
		s.Neighbours = []*facts.Material{{Hardness: facts.Span(float64(2+4*i), float64(2+4*i))}}
	}},
}

func drawSituation(t *rapid.T) Situation {
	s := Situation{Stone: Stone{Material: &facts.Material{Name: "m"}},
		Position: Position{Setting: &facts.Setting{Name: "s"}}, Display: Display{DaysPerYear: 300}}
	for _, f := range facets {
		f.set(&s, rapid.IntRange(0, f.values-1).Draw(t, f.name))
	}
	s.Bench = rapid.SliceOfDistinct(rapid.SampledFrom(Steps[:]), rapid.ID).Draw(t, "bench")
	return s
}

// A verdict never gets better when one fact gets worse: harder, tougher, less
// cleavable, less exposed, less light, gentler wear never hurt, whatever the
// rest of the situation is.
func TestLaw_WorseFactNeverBetter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSituation(t)
		for _, f := range facets {
			m, set := *s.Material, *s.Setting
			x := s
			x.Material, x.Setting = &m, &set
			before := Levels{}
			for i := range f.values {
				f.set(&x, i)
				now := LevelsOf(x)
				if now.Setting < before.Setting || now.Bench < before.Bench || now.Display < before.Display {
					t.Fatalf("%s from step %d to %d: %+v became %+v", f.name, i-1, i, before, now)
				}
				before = now
			}
		}
	})
}

// One more bench step never makes a verdict better, and leaves the setting
// verdict alone.
func TestLaw_BenchStep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSituation(t)
		for _, step := range Steps {
			x := s
			x.Bench = append(slices.Clone(s.Bench), step)
			a, b := LevelsOf(s), LevelsOf(x)
			if b.Bench < a.Bench || b.Setting != a.Setting || b.Display != a.Display {
				t.Fatalf("with %s: %+v became %+v", step, a, b)
			}
		}
	})
}

// The fast path says exactly what the full verdict says, and the verdict is the
// worst of its findings, each with a reason, numbers and a source.
func TestLaw_FastIsFull(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSituation(t)
		v := Judge(s)
		if got := LevelsOf(s); got != v.Levels {
			t.Fatalf("LevelsOf %+v, Judge %+v", got, v.Levels)
		}
		worst := Levels{}
		for _, f := range v.Findings {
			switch f.Part {
			case PartSetting:
				worst.Setting = max(worst.Setting, f.Level)
			case PartBench:
				worst.Bench = max(worst.Bench, f.Level)
			case PartDisplay:
				worst.Display = max(worst.Display, f.Level)
			}
			if f.Reason == "" || f.Source == "" || len(f.Numbers) == 0 ||
				strings.ContainsAny(f.Reason, "{}") {
				t.Fatalf("%+v", f)
			}
			if f.Part != PartBench && f.Level >= Caution && f.Care == "" && lossOf(*ruleNamed(f.Rule)) == LossReturn {
				t.Fatalf("%s: no words for the wearer", f.Rule)
			}
		}
		if worst != v.Levels {
			t.Fatalf("findings give %+v, verdict %+v", worst, v.Levels)
		}
	})
}

func ruleNamed(id string) *rule {
	rules := book().rules
	return &rules[slices.IndexFunc(rules, func(r rule) bool { return r.id == id })]
}

// The intersection of columns is the same as asking every rule.
func TestLaw_CompiledIsPlain(t *testing.T) {
	b := book()
	rapid.Check(t, func(t *rapid.T) {
		var p profile
		for a := range p {
			p[a] = rapid.OneOf(rapid.Just(int32(unknown)), rapid.Int32Range(0, 12), rapid.Int32Range(0, 20000)).
				Draw(t, scales[a].name)
		}
		fired := b.fired(&p, 0, attributes)
		for i, r := range b.rules {
			plain := true
			for _, c := range r.when {
				plain = plain && c.holds(p[c.of])
			}
			if compiled := fired[i/64]>>(i%64)&1 == 1; plain != compiled {
				t.Fatalf("rule %s: plain %v, compiled %v", r.id, plain, compiled)
			}
		}
	})
}

// The engine knows no gem and no setting by name: a verdict on renamed facts
// is the same.
func TestRenamed(t *testing.T) {
	for i, m := range facts.Materials() {
		for j, set := range facts.Settings() {
			s := Situation{Stone: Stone{Material: m}, Position: Position{set, "ring", "daily"}, Bench: []string{"torch",
				"ultrasonic"}}
			renamed, held := *m, *set
			renamed.Name, renamed.Short, renamed.Group = fmt.Sprintf("species %d", i), fmt.Sprintf("s%d", i), "group"
			held.Name, held.Aliases, held.HeldBy = fmt.Sprintf("setting %d", j), nil, ""
			x := s
			x.Material, x.Setting = &renamed, &held
			a, b := Judge(s), Judge(x)
			// words that repeat the names
			a.ReadAs, b.ReadAs, a.Assumed, b.Assumed, a.Disputed, b.Disputed = "", "", nil, nil, nil, nil
			if fmt.Sprint(a) != fmt.Sprint(b) {
				t.Fatalf("%s in %s changes with its name", m.Name, set.Name)
			}
		}
	}
	for _, v := range facts.Varieties() {
		m := facts.MaterialNamed(v.Species)
		s := Situation{Stone: Stone{Material: m, Variety: v}, Position: Position{facts.Settings()[0], "ring", "daily"},
			Bench: Steps[:]}
		renamed := *v
		renamed.Name, renamed.Species = "variety", "species"
		x := s
		x.Variety = &renamed
		a, b := Judge(s), Judge(x)
		a.ReadAs, b.ReadAs, a.Disputed, b.Disputed = "", "", nil, nil
		if fmt.Sprint(a) != fmt.Sprint(b) {
			t.Errorf("%s changes with its name", v.Name)
		}
	}
}
