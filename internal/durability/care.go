package durability

import (
	"slices"
	"strings"

	"lotpaper/internal/facts"
)

// CareCard is what the wearer is told: sentences by topic. Every finding that
// concerns the wearer is in it, in words as strong as its level.
type CareCard struct {
	Wear    []string `json:"wear"`
	Clean   []string `json:"clean"`
	Store   []string `json:"store"`
	Display []string `json:"display"`
	Repair  []string `json:"repair"`
}

// levelSay opens a sentence of care, so that it is never weaker than the finding.
var levelSay = [...]string{"", SayCare, SayCaution, SayAvoid}

// What opens a sentence of care, by its level.
const (
	SayCare    = "Take care: "
	SayCaution = "Caution: "
	SayAvoid   = "Above all: "
)

// How a care card tells of a bench step, before the step's name.
const (
	SayForbidden = "Never with the stone in place: "
	SayGuarded   = "Only with caution, by an experienced jeweller: "
)

// CareOf words the care that follows from a situation and its verdict.
func CareOf(s Situation, v Verdict) CareCard {
	t := tables()
	var p profile
	t.stone(&p, &s.Stone, nil)
	t.position(&p, &s.Position, s.Shape, nil)
	benchSteps(&p, s.Bench, nil)
	t.display(&p, s.Display, nil)
	var c CareCard
	add := func(list *[]string, words string) {
		if words != "" && !slices.Contains(*list, words) {
			*list = append(*list, words)
		}
	}
	said := map[string]bool{} // the same words at a stricter level come first
	for _, f := range v.Findings {
		if f.Care == "" || said[f.Care] {
			continue
		}
		said[f.Care] = true
		switch f.Part {
		case PartBench:
			add(&c.Repair, levelSay[f.Level]+f.Care)
		case PartDisplay:
			add(&c.Display, levelSay[f.Level]+f.Care)
		default:
			add(&c.Wear, levelSay[f.Level]+f.Care)
		}
	}
	for _, step := range v.Forbidden {
		name, _, _ := strings.Cut(step, ":")
		add(&c.Repair, SayForbidden+name+".")
	}
	for _, step := range v.Guarded {
		name, _, _ := strings.Cut(step, ":")
		add(&c.Repair, SayGuarded+name+".")
	}
	for _, n := range t.cares {
		if !n.holds(&p) {
			continue
		}
		switch n.topic {
		case "clean":
			add(&c.Clean, n.words)
		case "store":
			add(&c.Store, n.words)
		case "repair":
			add(&c.Repair, n.words)
		default:
			add(&c.Wear, n.words)
		}
	}
	return c
}

// Disclosure is what is told of a stone beside its name: nature, treatment and
// special care in words, as the published rules ask (US FTC 16 CFR 23.24 and
// 23.25; CIBJO Gemstone Book). Local law comes first.
type Disclosure struct {
	Nature    string   `json:"nature"`
	Treatment []string `json:"treatment"`
	Assumed   bool     `json:"assumed"`  // "usual treatment assumed": nobody stated it
	Specific  bool     `json:"specific"` // must be written on commercial documents
	Value     bool     `json:"value"`    // has a significant effect on value
	Care      []string `json:"care"`     // special care
	Words     string   `json:"words"`    // all of it in one line
	Sources   []string `json:"sources"`
}

// natureWords are the natures that a material has by itself.
var natureWords = map[facts.Nature]string{
	facts.Laboratory: "laboratory-grown", facts.Assembled: "assembled (composite)", facts.Imitation: "imitation",
}

// DisclosureOf words the disclosure of a stone.
func DisclosureOf(s Stone) Disclosure {
	t := tables()
	d := Disclosure{Nature: "nature not stated"}
	switch {
	case s.Nature != "":
		d.Nature = s.Nature
	case s.Material == nil, s.Material.Nature == facts.Natural, s.Material.Nature == facts.Organic:
		// the species says nothing of its nature: it is grown too
	default:
		d.Nature = natureWords[s.Material.Nature]
	}
	list := t.apart(split(s.Treatment))
	if len(list) == 0 {
		list, _ = t.usual(&s)
		d.Assumed = true
	}
	for _, w := range list {
		row, ok := t.treatment(w)
		if !ok {
			d.Treatment = append(d.Treatment, w+" (not a treatment that the tables know)")
			d.Specific = true
			continue
		}
		words := row.words
		if row.lasting != "permanent" {
			words += ", " + row.lasting
		}
		if slices.Contains(d.Treatment, words) {
			continue
		}
		d.Treatment = append(d.Treatment, words)
		d.Specific = d.Specific || row.specific
		d.Value = d.Value || row.value
		if row.special != "" {
			d.Care = append(d.Care, row.special)
		}
		d.Sources = append(d.Sources, row.source)
	}
	words := []string{d.Nature}
	switch {
	case len(d.Treatment) > 0 && d.Assumed:
		words = append(words, "treatment not stated: usual treatment assumed: "+strings.Join(d.Treatment, "; "))
	case len(d.Treatment) > 0:
		words = append(words, strings.Join(d.Treatment, "; "))
	default:
		words = append(words, "treatment not stated")
	}
	if d.Value {
		words = append(words, "the treatment affects the value")
	}
	if len(d.Care) > 0 {
		words = append(words, "special care: "+strings.Join(d.Care, " "))
	}
	d.Words = strings.Join(words, ". ")
	return d
}
