package answer

import (
	"fmt"
	"strings"

	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// Workbook is the cards as a workbook, one sheet and one printed page each.
func (c *CareCards) Workbook() (*sheet.Workbook, error) {
	var pages []*page
	names := map[string]bool{}
	for _, card := range c.Cards {
		name := sheet.SheetName(card.Design)
		for n := 2; names[strings.ToLower(name)]; n++ {
			suffix := fmt.Sprintf(" %d", n)
			r := []rune(sheet.SheetName(card.Design))
			name = string(r[:min(len(r), 31-len(suffix))]) + suffix
		}
		names[strings.ToLower(name)] = true
		pages = append(pages, c.cardPage(name, card))
	}
	if len(pages) == 0 {
		empty := &page{Sheet: sheet.Sheet{Name: "Care cards", Title: c.Title, Columns: []sheet.Col{{Width: 60}}}}
		empty.add(text("No pieces are planned."))
		pages = append(pages, empty)
	}
	return assemble(c.Head, newTally(c.Currency), pages)
}

func (c *CareCards) cardPage(name string, card CareCard) *page {
	const wide = 3
	s := &page{Sheet: sheet.Sheet{Name: name, Title: card.Design, Columns: []sheet.Col{{Width: 20}, {Width: 34},
		{Width: 40}}}}
	s.pairs(wide-1, withValue([][2]string{{"Piece", card.Piece}, {"Metal", card.Metal}, {"Line", c.Line},
		{"From", c.Dealer}, {"Card", strings.Join(fields(c.Number, string(c.On)), ", ")}}))
	s.gap()
	s.section("The stones", wide)
	for i, x := range card.Stones {
		if i > 0 {
			s.gap()
		}
		for _, l := range x.lines(c.Carats) {
			style := sheet.Label
			if l[0] == "" {
				s.add(styled(l[1], sheet.Strong).across(wide)...)
				continue
			}
			s.add(append([]cell{styled(l[0], style)}, text(l[1]).across(wide-1)...)...)
		}
	}
	for _, w := range card.CareWords.lines() {
		if len(w.words) == 0 {
			continue
		}
		s.gap()
		s.section(w.topic, wide)
		for _, x := range w.words {
			s.add(text("-  " + sentence(x)).across(wide)...)
		}
	}
	s.gap()
	s.notes(wide, cautionCare)
	return s
}

// lines are what a card says of one kind of stone; the first, without a label,
// names it.
func (x CareStone) lines(rule num.CaratRule) [][2]string {
	name := x.fullName()
	if x.Pieces > 1 {
		name = fmt.Sprintf("%d x %s", x.Pieces, name)
	}
	out := [][2]string{{"", capital(strings.Join(fields(name, x.Shape, sizeWords(x.Size), x.Color), ", "))}}
	if x.Carats > 0 {
		weight := x.Carats.Stated(rule) + " ct"
		if x.Pieces > 1 {
			weight += " in total"
		}
		out = append(out, [2]string{"Weight", weight})
	}
	out = append(out, [2]string{"Nature", capital(x.Nature.Words())}, [2]string{"Treatment",
		capital(x.treatmentWords())})
	if x.SpecialCare != "" {
		out = append(out, [2]string{"Special care", sentence(x.SpecialCare)})
	}
	return append(out, [2]string{"Value and origin", x.valueWords()})
}

func sizeWords(size string) string {
	if size == "" {
		return ""
	}
	return size + " mm"
}

// Text is the cards for a terminal.
func (c *CareCards) Text() string {
	var b strings.Builder
	c.heading(&b)
	for _, card := range c.Cards {
		fmt.Fprintf(&b, "\n%s, %s, %s\n", card.Design, card.Piece, card.Metal)
		for _, x := range card.Stones {
			for _, l := range x.lines(c.Carats) {
				fmt.Fprintf(&b, "  %s\n", strings.Join(fields(l[0], l[1]), ": "))
			}
		}
		for _, w := range card.CareWords.lines() {
			for _, x := range w.words {
				fmt.Fprintf(&b, "  %s: %s\n", w.topic, sentence(x))
			}
		}
	}
	fmt.Fprintf(&b, "\n%s\n", cautionCare)
	return b.String()
}
