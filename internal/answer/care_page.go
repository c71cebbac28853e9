package answer

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/durability"
	paper "lotpaper/internal/page"
)

// Layout is the cards as a paper, four to a sheet. A card whose words need more
// room goes on upon the next.
func (c *CareCards) Layout() *paper.Paper {
	out := &paper.Paper{Number: c.Number, Title: c.Title, Author: c.Dealer, Language: "en", On: string(c.On),
		Format: paper.CareCards()}
	for _, card := range c.Cards {
		out.Parts = append(out.Parts, c.part(card))
	}
	if len(c.Cards) == 0 {
		out.Parts = []paper.Part{{Blocks: lines(paper.Body, "No pieces are planned."), Foot: c.foot(CareCard{})}}
	}
	return out
}

func (c *CareCards) part(card CareCard) paper.Part {
	out := paper.Part{Foot: c.foot(card), Again: lines(paper.Note, card.Design+", continued")}
	blocks := func(text paper.Style, apart, topics float64) []paper.Block {
		all := []paper.Block{card.head()}
		for _, s := range card.Stones {
			all = append(all, c.stone(s, apart))
		}
		return append(all, card.advice(text, topics))
	}
	out.Blocks, out.Tight = blocks(paper.Body, 3, 1.4), blocks(paper.Fine, 1.4, 1)
	return out
}

// lines is a block of paragraphs of one style.
func lines(style paper.Style, words ...string) []paper.Block {
	var b paper.Block
	for _, w := range words {
		b.Rows = append(b.Rows, paper.Row{Cells: []paper.Cell{say(style, w)}})
	}
	return []paper.Block{b}
}

func say(style paper.Style, words string) paper.Cell {
	return paper.Cell{Text: []paper.Text{{Style: style, Words: words}}}
}

// head names the piece and its metal, with its stones drawn beside.
func (card CareCard) head() paper.Block {
	names := paper.Cell{Text: []paper.Text{{Style: paper.Piece, Words: card.Design},
		{Style: paper.Small, Words: strings.Join(fields(card.Piece, card.Metal), ", ")}}}
	drawing, scale := card.drawing()
	if drawing == nil {
		return paper.Block{Rows: []paper.Row{{Cells: []paper.Cell{names}}}}
	}
	names.Text = append(names.Text, paper.Text{Style: paper.Note, Words: scale})
	return paper.Block{Columns: []paper.Column{{}, {Width: drawnWidth, Align: paper.Right}},
		Rows: []paper.Row{{Cells: []paper.Cell{names, {Drawing: drawing}}}}}
}

// stone says what one kind of stone is: its name, its measures, and its nature
// and treatment with the special care that they ask for.
func (c *CareCards) stone(s CareStone, space float64) paper.Block {
	name, _, _ := strings.Cut(s.Name, " (") // a wearer's word, without the mineralogist's
	var facts []string
	if s.Pieces > 1 {
		facts = append(facts, fmt.Sprintf("%d stones", s.Pieces))
	}
	facts = append(facts, fields(s.Shape, measureWords(s.Shape, s.Size))...)
	if s.Carats > 0 {
		weight, _, _ := strings.Cut(s.Carats.Stated(c.Carats), " ") // the scale's reading is the trade's
		weight += noBreak + "carats"
		if s.Pieces > 1 {
			weight += " together"
		}
		facts = append(facts, weight)
	}
	rows := []paper.Row{{Space: space, Keep: true, Cells: []paper.Cell{say(paper.Heading, capital(name))}}}
	if len(facts) > 0 {
		rows = append(rows, paper.Row{Keep: true, Cells: []paper.Cell{say(paper.Small, strings.Join(facts, ", "))}})
	}
	told := strings.Join(fields(natureSentence(s.Nature), s.treatmentSentence(), sentence(s.SpecialCare)), " ")
	return paper.Block{Rows: append(rows, paper.Row{Cells: []paper.Cell{say(paper.Body, told)}})}
}

// noBreak is a space at which no line ends.
const noBreak = "\u00a0"

// measureWords are a size as it is printed: "7.90-8.10 x 5.90" becomes
// "7.90–8.10 × 5.90 mm" on one line. The length and width of a round stone are
// said once when they are the same: its diameter.
func measureWords(shape, size string) string {
	if size == "" {
		return ""
	}
	if sides := strings.Split(size, " x "); len(sides) == 3 && sides[0] == sides[1] && isRound(shape) {
		size = strings.Join(sides[1:], " x ")
	}
	return strings.NewReplacer(" x ", noBreak+"×"+noBreak, "-", "–").Replace(size) + noBreak + "mm"
}

// reported is said of what a laboratory's report states; everything else on a
// card is as it was stated to the house.
func reported(f Facet, words string) string {
	if f.Basis == book.LabReported {
		words += " (laboratory report)"
	}
	return sentence(words)
}

func natureSentence(f Facet) string {
	if f.Value == "" {
		return "Nature not stated."
	}
	return reported(f, f.Value)
}

// treatmentSentence says the treatment once: "heating" that is "heated" is heated,
// but "heating" that is "permanent" is both.
func (w StoneWords) treatmentSentence() string {
	switch {
	case w.Treatment.Value == "none":
		return reported(w.Treatment, cmp.Or(w.Permanence, "no treatment"))
	case w.Treatment.Value != "":
		words := cmp.Or(w.Permanence, w.Treatment.Value)
		if stem := []rune(w.Treatment.Value); !strings.Contains(words, string(stem[:min(3, len(stem))])) {
			words = w.Treatment.Value + ": " + words
		}
		return reported(w.Treatment, words)
	case w.Assumed != "":
		return sentence("No treatment was stated to us, so we call it " + w.Assumed)
	}
	return "Treatment not stated."
}

// foot is what every card ends with: the usual caution, what the words on nature
// and treatment rest on, and whose card it is.
func (c *CareCards) foot(card CareCard) []paper.Block {
	basis := "Nature and treatment: as stated to us."
	if slices.ContainsFunc(card.Stones, func(s CareStone) bool {
		return s.Nature.Basis == book.LabReported || s.Treatment.Basis == book.LabReported
	}) {
		basis = "Nature and treatment: as stated to us, where no laboratory report is named."
	}
	return []paper.Block{{Rows: []paper.Row{
		{Space: 1.5, Cells: []paper.Cell{say(paper.Note, careYearly+" "+cautionCare+" "+basis)}},
		{Space: 1.4, Rule: paper.Firm},
		{Space: 1, Cells: []paper.Cell{say(paper.FineStrong, c.Dealer)}}}}}
}

// careYearly stands at the foot of every card, and is not said again above it.
const careYearly = "Have the setting checked once a year."

// topicWidth is the column of the topics, mm: the widest is "Danger".
const topicWidth = 15

// advice is what the wearer does and never does, by topic, in text of a style.
func (card CareCard) advice(text paper.Style, apart float64) paper.Block {
	b := paper.Block{Columns: []paper.Column{{Width: topicWidth}, {}},
		Rows: []paper.Row{{Space: 1.4, Rule: paper.Hairline,
			Keep: true}}}
	add := func(style paper.Style, topic string, words ...string) {
		if len(words) == 0 {
			return
		}
		cell := paper.Cell{}
		for _, w := range words {
			cell.Text = append(cell.Text, paper.Text{Style: text, Words: w})
		}
		b.Rows = append(b.Rows, paper.Row{Space: apart, Cells: []paper.Cell{say(style, topic), cell}})
	}
	label, strong := paper.Label, paper.Strong
	if text == paper.Fine {
		label, strong = paper.FineLabel, paper.FineStrong
	}
	never, repair := card.never()
	said := card.said()
	var danger []string
	for _, words := range card.Safety {
		danger = append(danger, sentence(words))
	}
	if len(danger) > 0 {
		danger = []string{strings.Join(danger, " ") + " Local rules come first."}
	}
	add(strong, "Danger", danger...)
	add(label, "Wear", wearerWords(said.Wear...)...)
	add(label, "Clean", wearerWords(said.Cleaning...)...)
	add(label, "Keep", wearerWords(slices.Concat(said.Storage, said.Light)...)...)
	add(strong, "Never", never...)
	add(label, "Repair", repair...)
	return b
}

// wearerWords are sentences of care as one paragraph. A sentence at the mildest
// level stands alone, being a plain order; a stricter one keeps a word for its
// level, and the strictest come first.
func wearerWords(sentences ...string) []string {
	var first, out []string
	for _, s := range sentences {
		s = strings.TrimPrefix(s, durability.SayCare)
		if how, ok := strings.CutPrefix(s, "Clean by"); ok { // the topic says it
			s = "By" + how
		}
		if strict, ok := strings.CutPrefix(s, durability.SayAvoid); ok {
			first = append(first, durability.SayAvoid+strings.ToLower(strict[:1])+strict[1:])
			continue
		}
		out = append(out, s)
	}
	return fields(strings.Join(append(first, out...), " "))
}

// Sentences that others say too: a pouch of its own keeps a jewel apart, and
// what is only wiped is not washed.
const (
	sayPouch = "Keep it in a pouch of its own: harder stones scratch it and it scratches softer ones."
	sayWipe  = "Do not soak it: wipe with a damp cloth and dry at once."
	sayDry   = "Keep it away from heaters, hot lamps and very dry places."
)

// saidBy are sentences, each with those that say as much or more: beside one of
// them it is left out, if it stands at the mildest level.
var saidBy = map[string][]string{
	"Clean by hand: lukewarm water, mild soap, a soft brush; rinse and dry.": {sayWipe},
	"Where the back of the setting is closed, do not put the jewel into water: water and soap stay behind the " +
		"stone; wipe it and dry it.": {sayWipe},
	"Dry it well: water stays behind the stone.": {"Dry it well: soap and water stay behind the stone."},
	"An assembled stone: never soak it.": {"An assembled stone: never soak it; take it off before washing " +
		"hands."},
	"Keep it apart from other jewels.": {sayPouch},
	"Keep this jewel apart from harder stones.": {sayPouch,
		"Keep this jewel apart from harder stones; do not wear it beside a harder ring."},
	"Rinse it before you wipe it: dust scratches.": {
		"Take it off for work with the hands; rinse it before you wipe it: dust scratches."},
	"Wipe it after wear.":                       {"Put it on after cosmetics and perfume; wipe it after wear."},
	"Keep it away from heaters and hot lamps.":  {sayDry},
	"Do not keep it in very dry or hot places.": {sayDry},
}

// said is the card without what its foot or another sentence says: a wearer is
// told a thing once.
func (w CareWords) said() CareWords {
	all := map[string]bool{}
	for _, t := range w.lines() {
		for _, s := range t.words {
			all[unleveled(s)] = true
		}
	}
	keep := func(sentences []string) []string {
		var out []string
		for _, s := range sentences {
			mild := strings.TrimPrefix(s, durability.SayCare)
			if mild == careYearly || slices.ContainsFunc(saidBy[mild], func(by string) bool { return all[by] }) {
				continue
			}
			out = append(out, s)
		}
		return out
	}
	return CareWords{Wear: keep(w.Wear), Cleaning: keep(w.Cleaning), Storage: keep(w.Storage), Light: keep(w.Light),
		Repair: w.Repair}
}

// unleveled is a sentence of care without the word of its level.
func unleveled(s string) string {
	for _, word := range []string{durability.SayCare, durability.SayCaution, durability.SayAvoid} {
		s = strings.TrimPrefix(s, word)
	}
	return s
}

// stepWords are bench steps in the wearer's words, baths for cleaning first: a
// wearer meets those at home too.
var stepWords = []struct {
	step, words string
	cleaning    bool
}{{"ultrasonic", "an ultrasonic bath", true}, {"steam", "steam", true}, {"torch", "a torch", false},
	{"pickle", "pickle", false}, {"plating", "plating", false}, {"resize", "resizing", false}}

// forbiddenSays are sentences that say no more, at any level, than that a step is
// forbidden.
var forbiddenSays = map[string]string{
	"Before any repair with heat the stone must be taken out.":    "torch",
	"Tell any workshop: the stone must be taken out before heat.": "torch",
	"Never in an ultrasonic bath.":                                "ultrasonic",
	"No ultrasonic bath.":                                         "ultrasonic",
	"Never with steam.":                                           "steam",
	"No steam.":                                                   "steam",
}

// never parts the words on repair into what must never happen to the piece and
// what else a workshop must know.
func (card CareCard) never() (never, repair []string) {
	forbidden, guarded := map[string]bool{}, map[string]bool{}
	var sentences []string
	for _, s := range card.Repair {
		if step, ok := strings.CutPrefix(s, durability.SayForbidden); ok {
			forbidden[strings.TrimSuffix(step, ".")] = true
		} else if step, ok := strings.CutPrefix(s, durability.SayGuarded); ok {
			guarded[strings.TrimSuffix(step, ".")] = true
		} else {
			sentences = append(sentences, s)
		}
	}
	for _, s := range sentences {
		order, found := strings.CutPrefix(unleveled(s), "Never ")
		switch {
		case forbidden[forbiddenSays[unleveled(s)]]:
		case found:
			never = append(never, strings.TrimSuffix(order, "."))
		default:
			repair = append(repair, s)
		}
	}
	var cleaning, bench, caution []string
	for _, w := range stepWords {
		switch {
		case forbidden[w.step] && w.cleaning:
			cleaning = append(cleaning, w.words)
		case forbidden[w.step]:
			bench = append(bench, w.words)
		case guarded[w.step]:
			caution = append(caution, w.words)
		}
	}
	if len(cleaning) > 0 {
		never = append(never, either(cleaning))
	}
	if len(bench) > 0 {
		never = append(never, either(bench)+" with the stone in place")
	}
	repair = wearerWords(repair...)
	if len(caution) > 0 {
		repair = append(repair, "Only by an expert: "+either(caution)+".")
	}
	return never, repair
}

// either names some things, of which none is meant: "a, b or c".
func either(words []string) string {
	last := len(words) - 1
	if last == 0 {
		return words[0]
	}
	return strings.Join(words[:last], ", ") + " or " + words[last]
}
