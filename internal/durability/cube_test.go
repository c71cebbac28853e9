package durability

import (
	"fmt"
	"strings"
	"testing"

	"lotpaper/internal/facts"
)

// The whole cube, every species in every setting, piece and wear: no level
// holds more than 60 % of it, and every rule is reached by something that a
// user can write. A tool that flags everything is as useless as one that flags
// nothing.
func TestCube(t *testing.T) {
	var all [4]int
	byPiece := map[string]*[4]int{}
	reached := map[string]int{}
	note := func(s Situation) Levels {
		b, tb := book(), tables()
		var p profile
		tb.stone(&p, &s.Stone, nil)
		tb.position(&p, &s.Position, s.Shape, nil)
		benchSteps(&p, s.Bench, nil)
		tb.display(&p, s.Display, nil)
		fired := b.fired(&p, 0, attributes)
		fired.each(func(i int) { reached[b.rules[i].id]++ })
		return b.levels(fired)
	}
	var pieces []string
	for _, piece := range facts.Pieces() {
		pieces = append(pieces, piece.Name)
		byPiece[piece.Name] = &[4]int{}
	}
	for _, m := range facts.Materials() {
		for _, set := range facts.Settings() {
			for _, piece := range pieces {
				for _, w := range Wears {
					l := note(Situation{Stone: Stone{Material: m}, Position: Position{set, piece, w}})
					all[l.Setting]++
					byPiece[piece][l.Setting]++
				}
			}
		}
	}
	total := all[0] + all[1] + all[2] + all[3]
	var out strings.Builder
	fmt.Fprintf(&out, "Setting verdicts over %d species, %d settings, %d pieces, %d wears, in per cent\n\n%-12s %7s "+
		"%7s %7s %7s\n",
		len(facts.Materials()), len(facts.Settings()), len(pieces), len(Wears), "piece", "sound", "care",
		"caution", "avoid")
	line := func(name string, n *[4]int) {
		sum := float64(n[0] + n[1] + n[2] + n[3])
		fmt.Fprintf(&out, "%-12s %7.1f %7.1f %7.1f %7.1f\n", name, 100*float64(n[0])/sum, 100*float64(n[1])/sum,
			100*float64(n[2])/sum, 100*float64(n[3])/sum)
	}
	for _, piece := range pieces {
		line(piece, byPiece[piece])
	}
	line("all", &all)
	for l, n := range all {
		if 10*n > 6*total {
			t.Errorf("%s holds %d of %d", Level(l), n, total)
		}
	}

	// What the plain cube does not hold: treatments, inclusions, outlines,
	// sizes, neighbours, bench steps, lamps, unknown facts.
	prong, bezel, channel, tension, flush := setting(t, "prong"), setting(t, "bezel"), setting(t, "channel"),
		setting(t, "tension"), setting(t, "flush")
	blank := &facts.Material{Name: "unknown"}
	half := *facts.MaterialNamed("topaz")
	half.Directions = 0
	half.Hardness = facts.Span(7, 7)
	stones := []*facts.Material{blank, &half}
	stones = append(stones, facts.Materials()...)
	shapes := []Stone{
		{}, {Shape: "marquise", Girdle: "thin"}, {Shape: "a word that nobody knows"}, {Length: 20, Width: 5},
		{Inclusions: "inner"}, {Inclusions: "open"}, {Inclusions: "liquid"}, {Inclusions: "cloudy"},
		{Neighbours: []*facts.Material{facts.MaterialNamed("diamond")}}, {Neighbours: []*facts.Material{blank}},
	}
	for _, tr := range tables().treatments {
		shapes = append(shapes, Stone{Treatment: tr.name})
	}
	shapes = append(shapes, Stone{Treatment: "a treatment that nobody knows"})
	for _, m := range stones {
		for _, s := range shapes {
			s.Material = m
			for _, set := range []*facts.Setting{prong, bezel, channel, tension, flush} {
				x := Situation{Stone: s, Position: Position{set, "ring", "daily"}, Bench: Steps[:],
					Display: Display{Lux: 3000, HoursPerDay: 24, DaysPerYear: 365, Lamp: "halogen"}}
				note(x)
				x.Piece, x.Display = "earrings", Display{Lux: 500, HoursPerDay: 8, Lamp: "a lamp that nobody knows"}
				note(x)
			}
		}
	}
	byHazard := map[Hazard]int{}
	for _, r := range book().rules {
		byHazard[r.hazard]++
		if reached[r.id] == 0 {
			t.Errorf("rule %s is never reached", r.id)
		}
	}
	fmt.Fprintf(&out, "\n%d rules, all of them reached:", len(book().rules))
	for _, h := range hazards {
		fmt.Fprintf(&out, " %s %d", h, byHazard[h])
	}
	out.WriteByte('\n')
	golden(t, "cube.txt", out.String())
}
