package durability

import (
	"math"
	"slices"
	"strings"

	"lotpaper/internal/facts"
)

// Stone is what is known of the stone itself.
type Stone struct {
	Material *facts.Material
	Variety  *facts.Variety // nil: no variety named
	ReadAs   string         // how the name was read; empty: the material's own name
	// Treatment lists the treatments in words, ";" between them; "none" for an
	// untreated stone; empty when not stated: the usual ones are assumed.
	Treatment string
	Nature    string // as the papers or the tests say; empty when not stated
	// Inclusions are words: none, inner, open (fractures that reach the
	// surface), liquid; ";" between them; empty when not stated.
	Inclusions string
	Shape      string
	Length     float64 // mm; 0 not stated
	Width      float64 // mm; 0 not stated
	Girdle     string  // "thin", "medium", "thick"; empty when not stated
	Neighbours []*facts.Material
	// Chance that the stone is this one, and the share with which it is taken for
	// it, when it is one of several that it may be: see Weigh. Both 0: not known,
	// and it counts whole.
	Chance, Taken float64
}

// Position is how the stone is held, and how the jewel is worn.
type Position struct {
	Setting *facts.Setting // nil: not stated
	Piece   string
	Wear    string // daily, occasional, evening
}

// Display is where the jewel lies when it is not worn. A zero value is not
// stated, and a lit showcase is assumed for it; no light at all is Dark.
type Display struct {
	Lux         float64
	HoursPerDay float64
	DaysPerYear float64
	Lamp        string  // a row of data/rules_word_lamps.csv
	LimitMlxh   float64 // dose limit in million lux-hours, when a source or the user gives one
	Dark        bool    // kept in a closed box: no light at all
}

// Situation is everything that a verdict is about.
type Situation struct {
	Stone
	Position
	Display
	Bench []string // the steps planned with the stone in place: Steps
}

// Steps are the words for bench steps.
var Steps = [...]string{"torch", "ultrasonic", "steam", "pickle", "plating", "resize"}

// Wears are the words for wear, from the gentlest to the hardest.
var Wears = [...]string{"evening", "occasional", "daily"}

// stone fills the stone's attributes. said collects what was assumed; nil when
// nobody wants to know.
func (t *ruleTables) stone(p *profile, s *Stone, said *[]string) {
	m := s.Material
	if m == nil {
		for a := hardness; a < pieceScore; a++ {
			p[a] = unknown
		}
		return
	}
	p[hardness] = unknown
	if m.Hardness.Known {
		p[hardness] = int32(math.Floor(m.Hardness.Min*10 + 0.5))
	}
	p[toughness] = rank(toughness, m.Toughness)
	p[cleavage] = rank(cleavage, m.Cleavage)
	if p[directions] = int32(m.Directions); m.Directions == 0 && p[cleavage] > 0 {
		p[directions] = unknown
	}
	p[light] = rank(light, m.Light)
	p[heat] = rank(heat, m.Heat)
	p[acid] = rank(acid, m.Acid)
	p[alkali] = rank(alkali, m.Alkali)
	p[solvent] = rank(solvent, m.Solvent)
	p[ultrasonicBath] = rank(ultrasonicBath, m.Ultrasonic)
	p[steamBath] = rank(steamBath, m.Steam)
	p[porous] = rank(porous, m.Porous)
	p[dries] = rank(dries, m.Dries)
	p[fluoride] = yesNo(m.FluoridePickle)
	p[assembled] = yesNo(m.Nature == facts.Assembled)
	p[fills], p[coated], p[dyed] = 0, 0, 0
	stated := t.apart(split(s.Treatment))
	if v := s.Variety; v != nil {
		if v.Hardness.Known {
			p[hardness] = int32(math.Floor(v.Hardness.Min*10 + 0.5))
		}
		override(p, toughness, v.Toughness)
		override(p, light, v.Light)
		override(p, heat, v.Heat)
		override(p, ultrasonicBath, v.Ultrasonic)
		override(p, steamBath, v.Steam)
		override(p, porous, v.Porous)
		// Where the species stands solvents or dry heat, a variety's word against
		// it speaks of the filler: a stone stated as untreated stands them too.
		bare := t.untreated(stated)
		if !bare || p[solvent] != 0 {
			override(p, solvent, v.Solvent)
		}
		if !bare || p[dries] != 0 {
			override(p, dries, v.Dries)
		}
	}
	t.treat(p, s, stated, said)

	p[fractures], p[liquid] = 0, 0
	for _, w := range split(s.Inclusions) {
		switch w {
		case "inner", "open":
			p[fractures] = max(p[fractures], rank(fractures, w))
		case "liquid":
			p[liquid] = 1
		case "none":
		default:
			p[fractures] = unknown
		}
	}
	if s.Inclusions == "" {
		say(said,
			"inclusions not stated: no open fracture and no liquid inclusion assumed; look with a 10x loupe first")
	}

	p[points] = 0
	if s.Shape == "" {
		say(said, "shape not stated: a round outline without points assumed")
	} else if row, ok := t.shape(s.Shape); ok {
		p[points] = row.points
	} else {
		p[points] = unknown
	}
	p[length], p[slender], p[thinGirdle] = 0, 0, yesNo(s.Girdle == "thin")
	if l, w := max(s.Length, s.Width), min(s.Length, s.Width); l > 0 {
		p[length] = clamp(l * 10)
		if w > 0 {
			p[slender] = clamp(l / w * 10)
		}
	} else {
		say(said, "size not stated: a stone of usual size assumed")
	}
	p[harderNeighbour] = 0
	for _, n := range s.Neighbours {
		if n == nil || !n.Hardness.Known || p[hardness] == unknown {
			p[harderNeighbour] = a0(p[harderNeighbour])
			continue
		}
		if d := int32(math.Floor(n.Hardness.Max*10+0.5)) - p[hardness]; p[harderNeighbour] != unknown {
			p[harderNeighbour] = max(p[harderNeighbour], d)
		}
	}
}

// a0 keeps a known finding of a harder neighbour; otherwise nothing is known.
func a0(v int32) int32 {
	if v > 0 {
		return v
	}
	return unknown
}

func override[W ~string](p *profile, a attribute, word W) {
	if v := rank(a, word); v != unknown {
		p[a] = v
	}
}

// untreated reports whether the stone is stated to have no treatment, or only
// such as leave its durability alone.
func (t *ruleTables) untreated(stated []string) bool {
	for _, w := range stated {
		if row, ok := t.treatment(w); !ok || len(row.effects) > 0 {
			return false
		}
	}
	return len(stated) > 0
}

// treat adds what the stated treatments, or the usual ones, do to the stone.
func (t *ruleTables) treat(p *profile, s *Stone, list []string, said *[]string) {
	assumed := len(list) == 0
	if assumed {
		var ask []string
		list, ask = t.usual(s)
		if said != nil {
			if len(list) == 0 {
				say(said, "treatment not stated: none is usual for it as far as the tables know")
			} else {
				say(said, "treatment not stated: usual treatment assumed ("+strings.Join(list, ", ")+")")
			}
			if len(ask) > 0 {
				say(said, "not assumed, but met in some goods: "+strings.Join(ask, ", ")+
					"; ask the vendor or have it tested")
			}
		}
	}
	for _, w := range list {
		row, ok := t.treatment(w)
		if !ok {
			p[fills] = a0(p[fills]) // a treatment that nobody knows may be anything
			continue
		}
		for _, e := range row.effects {
			if !assumed || !spoken(s.Variety, e.of) {
				p[e.of] = e.of.worse(p[e.of], e.limit)
			}
		}
	}
}

// spoken reports whether a variety has its own published word on a fact: that
// word is of the stone as it is traded, its usual treatment included.
func spoken(v *facts.Variety, a attribute) bool {
	if v == nil {
		return false
	}
	switch a {
	case toughness:
		return v.Toughness != ""
	case light:
		return v.Light != ""
	case heat:
		return v.Heat != ""
	case solvent:
		return v.Solvent != ""
	case ultrasonicBath:
		return v.Ultrasonic != ""
	case steamBath:
		return v.Steam != ""
	}
	return false
}

// usual are the treatments that the trade takes for granted when none is
// stated. Two sorts are only asked about: those that the tables list with a
// qualifier, "coating (multicolour)", for some sorts of the species, and those
// with which the bare gem name may not be used at all.
func (t *ruleTables) usual(s *Stone) (assumed, ask []string) {
	if s.Material == nil {
		return nil, nil
	}
	list := s.Material.UsualTreatments
	if s.Variety != nil {
		list = s.Variety.UsualTreatments
	}
	for _, w := range list {
		row, ok := t.treatment(w)
		if (!ok && strings.Contains(w, "(")) || row.mustSay {
			ask = append(ask, w)
		} else {
			assumed = append(assumed, w)
		}
	}
	return assumed, ask
}

// position fills the attributes of setting, piece and wear for a stone of a shape.
func (t *ruleTables) position(p *profile, s *Position, shape string, said *[]string) {
	p[wear] = 2
	if s.Wear == "" {
		say(said, "wear not stated: daily assumed")
	} else if w, f := facts.WearNamed(s.Wear); f == nil {
		p[wear] = int32(w.Knocks - 1)
	} else {
		say(said, "wear "+s.Wear+" is not known: daily assumed")
	}
	jewel := &facts.Piece{Knocks: 3, Cosmetics: 3}
	if s.Piece == "" {
		say(said, "piece not stated: knocks as on a hand assumed")
	} else if row, f := facts.PieceNamed(s.Piece); f == nil {
		jewel = row
	} else {
		say(said, "piece "+s.Piece+" is not known: knocks as on a hand assumed")
	}
	set := openest
	if s.Setting != nil {
		held := t.heldBy(s.Setting, shape)
		if set = *held; held != s.Setting {
			say(said, "a "+s.Setting.Name+" around a cabochon: a "+set.Name)
		}
	} else {
		say(said, "setting not stated: the most exposed one assumed")
	}
	p[pieceScore], p[impactScore], p[crownScore] = int32(jewel.Knocks), int32(set.Impact), int32(set.CrownExposed)
	if s.Setting != nil && jewel.Name != "" && !suits(s.Setting, jewel.Name) {
		say(said, "the "+s.Setting.Name+" setting is not usual for "+jewel.Name)
	}
	worn := 3*p[pieceScore] + p[wear] // a ring in the evening is knocked more than a pendant by day
	p[knocks] = worn + p[impactScore]
	p[rub] = worn + p[crownScore]
	p[cosmetics] = int32(jewel.Cosmetics)
	p[girdleOpen] = int32(set.GirdleExposed)
	p[closedBack] = yesNo(!set.PavilionOpen && set.GirdleExposed < 3) // a bead or a pearl on a peg has no back
	p[corners] = yesNo(set.CornersExposed)
	p[force] = int32(set.Force)
	p[sidePressure] = yesNo(set.SidePressure)
	p[heatNear] = yesNo(set.HeatNear)
}

// heldBy is the setting as it is around a stone of a shape: a bezel around a
// cabochon is a cabochon bezel.
func (t *ruleTables) heldBy(set *facts.Setting, shape string) *facts.Setting {
	if set == nil || set.Domed == "" {
		return set
	}
	if row, ok := t.shape(shape); !ok || !row.dome {
		return set
	}
	if domed, f := facts.SettingNamed(set.Domed); f == nil {
		return domed
	}
	return set
}

// openest stands for a setting that is not stated: open on all sides.
var openest = facts.Setting{GirdleExposed: 3, CrownExposed: 3, PavilionOpen: true, CornersExposed: true, Impact: 3,
	Force: 2, HeatNear: true}

// benchSteps fills the planned steps. A step that nobody knows is taken for
// the hardest one, the torch.
func benchSteps(p *profile, steps []string, said *[]string) {
	for i := range Steps {
		p[torch+attribute(i)] = 0
	}
	for _, w := range steps {
		at := slices.Index(Steps[:], strings.ToLower(strings.TrimSpace(w)))
		if at < 0 {
			say(said, "bench step "+w+" is not known: torch assumed")
			at = 0
		}
		p[torch+attribute(at)] = 1
	}
}

// display fills the light of the place where the jewel lies.
func (t *ruleTables) display(p *profile, d Display, said *[]string) {
	d = t.assume(d, said)
	p[lux] = clamp(d.Lux)
	p[dose] = clamp(d.LuxHours() / 1000)
	if row, ok := t.lamp(d.Lamp); ok {
		p[lampHeat], p[uv] = row.heat, yesNo(row.uvRich)
	} else {
		p[lampHeat], p[uv] = unknown, unknown
	}
	if d.Dark {
		p[lampHeat], p[uv] = 0, 0
	}
}

func clamp(v float64) int32 {
	switch {
	case math.IsNaN(v) || v < 0:
		return 0
	case v > 1e9:
		return 1e9
	}
	return int32(math.Round(v))
}

func say(said *[]string, words string) {
	if said != nil {
		*said = append(*said, words)
	}
}
