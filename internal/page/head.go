package page

import (
	"fmt"
	"math"
)

// The places of a head, mm: the feet of its lines from the sheet's upper edge,
// and what stands at the right from the margin there.
const (
	logoTop, logoWide, logoHigh = 14, 20, 14
	nameFeet, nameIndent        = 20, 25
	addressFeet, addressPitch   = 18.7, 3.9
	readerFeet, readerPitch     = 53, 4.6
	readerLines                 = 7 // of the reader's address, and of the facts
	labelsAt, valuesAt          = 76, 52
	titleFeet                   = 88
	leadFeet                    = titleFeet + 6.4

	compactFeet, compactLabels = 22, 18.5
	compactValues              = 22.6
	compactLead, compactRule   = 27.6, 31
	factGap                    = 6

	againFeet, againEnd = 15, 18.5
)

// begins sets the head of the paper on the first sheet, and the line that the
// others begin with.
func (l *layout) begins() {
	h := l.paper.Head
	switch {
	case h == nil:
	case len(l.sheets) > 1:
		l.lay(Text{Style: Small, Words: h.Again}, l.margin(), againFeet, l.textWidth(), 0)
	case h.House != nil:
		l.letter(h)
	default:
		l.compact(h)
	}
}

// margin is the left margin, and column what is between it and the right
// one.
func (l *layout) margin() float64    { return l.format.Frames[0].X }
func (l *layout) textWidth() float64 { return l.format.Frames[0].Width }

// lay sets a paragraph outside the frames, the feet of its first line on feet. It
// returns where the feet of a further line stand.
func (l *layout) lay(t Text, x, feet, width, pitch float64) float64 {
	if pitch == 0 {
		pitch = t.Style.Look().Leading
	}
	for _, words := range l.text(t, width, "the head or foot of the paper", false) {
		l.sheet().Words = append(l.sheet().Words, Placed{X: x, Y: feet, Width: l.advance.width(t.Style.Look(), words),
			Style: t.Style, Words: words})
		feet += pitch
	}
	return feet
}

// letter sets the head of a letter.
func (l *layout) letter(h *Head) {
	left, right := l.margin(), l.margin()+l.textWidth()
	name := left
	if logo := h.House.Logo; logo != nil {
		wide, high := logo.within(logoWide, logoHigh)
		l.sheet().Pictures = append(l.sheet().Pictures, PlacedPicture{Frame{left, logoTop, wide, high}, logo})
		name += nameIndent
	}
	feet := l.lay(Text{Style: Heading, Words: h.House.Name}, name, nameFeet, right-valuesAt-gutter-name, 0)
	l.lay(Text{Style: Small, Words: h.House.Trade}, name, feet-0.4, right-valuesAt-gutter-name, 0)
	feet = addressFeet
	for _, words := range h.House.Address {
		feet = l.lay(Text{Style: Small, Words: words}, right-valuesAt, feet, valuesAt, addressPitch)
	}
	feet = readerFeet
	for _, words := range h.Reader {
		feet = l.lay(Text{Style: Body, Words: words}, left, feet, right-labelsAt-gutter-left, readerPitch)
	}
	l.fits(feet, "address")
	feet = readerFeet
	for _, f := range h.Facts {
		l.lay(Text{Style: Note, Words: f.Label}, right-labelsAt, feet, labelsAt-valuesAt-1, readerPitch)
		feet = l.lay(f.Text, right-valuesAt, feet, valuesAt, readerPitch)
	}
	l.fits(feet, "facts")
	l.title(h, titleFeet, right)
	l.first = titleFeet + 6.5
	if h.Lead != "" {
		l.first = l.lay(Text{Style: Body, Words: h.Lead}, left, leadFeet, right-left, 0) + 1
	}
}

// fits adds a fault when what stands beside the reader's address runs into the
// paper's word.
func (l *layout) fits(feet float64, what string) {
	if feet > readerFeet+readerPitch*readerLines+slack {
		l.fault("paper-room", fmt.Sprintf("the %s at the head of the paper have room for %d lines", what, readerLines),
			"make them shorter")
	}
}

// compact sets a compact head.
func (l *layout) compact(h *Head) {
	left, right := l.margin(), l.margin()+l.textWidth()
	x := right
	for i := len(h.Facts) - 1; i >= 0; i-- {
		f := h.Facts[i]
		label := Text{Style: Note, Words: f.Label}
		wide := max(l.advance.width(label.Style.Look(), label.Words),
			l.advance.width(f.Text.Style.Look(), l.paper.words(f.Text)))
		x -= wide
		l.lay(label, x, compactLabels, wide, 0)
		l.lay(f.Text, x, compactValues, wide, 0)
		x -= factGap
	}
	l.title(h, compactFeet, x)
	feet := l.lay(Text{Style: Small, Words: h.Lead}, left, compactLead, right-left, 0)
	rule := math.Max(compactRule, feet-0.5)
	l.sheet().rule(Firm, left, rule, right)
	l.first = rule + 1.2
}

// title sets what the paper is, its number, and its stamp, up to the right edge.
func (l *layout) title(h *Head, feet, right float64) {
	const gap, inset, high = 4, 2.6, 6.2
	x := l.margin()
	put := func(style Style, words string) {
		if words != "" && l.printable(style.Look().Face, words) {
			wide := l.advance.width(style.Look(), words)
			l.sheet().Words = append(l.sheet().Words, Placed{X: x, Y: feet, Width: wide, Style: style, Words: words})
			x += wide
		}
	}
	put(Title, h.Word)
	x += gap
	put(Number, h.Number)
	if h.Stamp != "" {
		from := x + gap
		x = from + inset
		put(Strong, h.Stamp)
		x += inset
		cap := Strong.Look().Points * mmPerPoint * capHeight
		l.sheet().Lines = append(l.sheet().Lines, box(Firm, from, feet-cap/2-high/2, x-from, high))
	}
	if x > right+slack {
		l.fault("paper-wide", fmt.Sprintf("%q and its number are too wide for the head of the paper", h.Word),
			"make the facts at its right shorter")
	}
}

// capHeight is the height of a capital beside the size of its type.
const capHeight = 0.67

// footers sets the footers, when the sheets can be counted.
func (l *layout) footers() {
	f := l.paper.Footer
	if f == (Footer{}) {
		return
	}
	for i := range l.sheets {
		right := f.Right
		if len(l.sheets) > 1 {
			right = fmt.Sprintf("%s, page %d of %d", right, i+1, len(l.sheets))
		}
		if !l.printable(Small.Look().Face, right) {
			return
		}
		sheet, look := &l.sheets[i], Small.Look()
		feet, wide := sheet.Height-footerFeet, l.advance.width(look, right)
		room := l.textWidth() - wide - 2*gutter
		lines := l.text(Text{Style: Small, Words: f.Left}, room, "the foot of the paper", false)
		if len(lines) > 2 || l.paper.Landscape && len(lines) > 1 { // a list ends just above
			l.fault("paper-room", fmt.Sprintf("%q is too long for the foot of the paper", f.Left), "make it shorter")
		}
		for n, words := range lines {
			sheet.Words = append(sheet.Words, Placed{X: l.margin(), Y: feet - float64(len(lines)-1-n)*look.Leading,
				Width: l.advance.width(look, words), Style: Small, Words: words})
		}
		sheet.Words = append(sheet.Words, Placed{X: l.margin() + l.textWidth() - wide, Y: feet, Width: wide,
			Style: Small, Words: right})
	}
}
