package page

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"lotpaper/internal/fault"
)

// Face is one of the three faces that every paper is set in.
type Face uint8

// The faces. There is no bold italic.
const (
	Regular Face = iota
	Italic
	SemiBold
)

// Ink is a colour, red, green and blue.
type Ink [3]uint8

// The inks. The accent is petrol; nothing depends on it, so that a paper reads
// the same when it is printed in grey.
var (
	black  = Ink{0, 0, 0}
	grey   = Ink{95, 95, 95}
	pale   = Ink{150, 150, 150}
	accent = Ink{18, 82, 92}
)

// lightest is the lightness, in percent of white, that an accent must not pass:
// so it stays at 4.5 to 1 against the paper, which WCAG 2.2 asks of text of its
// size (success criterion 1.4.3).
const lightest = 45

// ParseInk reads the accent of a house, "18/82/92": red, green and blue from 0 to
// 255. A colour lighter than a grey of 45 % is refused: it would be lost in print.
func ParseInk(s string) (Ink, *fault.Fault) {
	var ink Ink
	parts := strings.Split(s, "/")
	for i, part := range parts {
		n, err := strconv.ParseUint(strings.TrimSpace(part), 10, 8)
		if err != nil || len(parts) != len(ink) {
			return ink, fault.New(fault.Invalid, "ink-unreadable",
				fmt.Sprintf("a colour is three numbers from 0 to 255, red/green/blue, but is %q", s),
				"write it like 18/82/92")
		}
		ink[i] = uint8(n)
	}
	if light := ink.lightness(); light > lightest {
		return ink, fault.New(fault.Invalid, "ink-light",
			fmt.Sprintf("the colour must not be lighter than a grey of %d %%, but %s is as light as one of %.0f %%",
				lightest, s, light), "choose a darker one")
	}
	return ink, nil
}

// lightness is the grey that is as light as the colour, in percent of white: of
// the same relative luminance (WCAG 2.2; sRGB, IEC 61966-2-1).
func (i Ink) lightness() float64 {
	light := 0.0
	for n, weight := range [...]float64{0.2126, 0.7152, 0.0722} {
		c := float64(i[n]) / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		light += weight * c
	}
	if light <= 0.0031308 {
		return 100 * 12.92 * light
	}
	return 100 * (1.055*math.Pow(light, 1/2.4) - 0.055)
}

// Style is what a paragraph is for; it decides how it looks.
type Style uint8

// The styles.
const (
	Body       Style = iota
	Strong           // a word that must not be overlooked
	Label            // names what stands beside it
	Fine             // text where Body would take a second frame
	FineLabel        // names what stands beside such text
	Small            // what only completes a line above it
	Note             // small print
	FineStrong       // a word of such text that must not be overlooked
	Heading          // begins a group
	Piece            // names a piece of jewelry
	Job              // names a piece to be made
	Title            // what the paper is
	Number           // which one it is
	Figure           // one of the few numbers that count
	Best             // the one of them that counts most
	ToPay            // the one amount of an invoice
)

// Look is how a style is set.
type Look struct {
	Face    Face
	Points  float64 // the size of the type, 8 at least
	Leading float64 // mm from one line to the next
	Ink     Ink
}

var looks = [...]Look{
	Body:       {Regular, 9, 4.4, black},
	Strong:     {SemiBold, 9, 4.4, black},
	Label:      {Italic, 9, 4.4, black},
	Fine:       {Regular, 8, 3.9, black},
	FineLabel:  {Italic, 8, 3.9, black},
	Small:      {Regular, 8, 3.9, grey},
	Note:       {Italic, 8, 3.9, grey},
	FineStrong: {SemiBold, 8, 3.9, black},
	Heading:    {SemiBold, 11.5, 5, black},
	Piece:      {Regular, 14, 6.4, accent},
	Job:        {SemiBold, 14, 6.4, black},
	Title:      {Regular, 21, 9, accent},
	Number:     {Regular, 11.5, 5, grey},
	Figure:     {Regular, 16, 7, black},
	Best:       {Regular, 16, 7, accent},
	ToPay:      {SemiBold, 11.5, 5, accent},
}

// Look is how the style is set, with the accent petrol.
func (s Style) Look() Look { return looks[s] }

// Look is how the paper sets a style: with its own accent.
func (p *Paper) Look(s Style) Look {
	l := looks[s]
	if l.Ink == accent && p.Accent != nil {
		l.Ink = *p.Accent
	}
	return l
}

// mmPerPoint is the length of a typographic point: 1/72 of an inch of 25.4 mm.
const mmPerPoint = 25.4 / 72

// baseline is the distance from the top of a line to the feet of its letters:
// 0.83 of the type's height and half of what the leading leaves over.
func (l Look) baseline() float64 {
	height := l.Points * mmPerPoint
	return 0.83*height + (l.Leading-height)/2
}

// Rule is a line's breadth and ink.
type Rule uint8

// The rules. Facet lines of a stone are finer than its outline.
const (
	NoRule   Rule = iota
	Facet         // inside a drawn stone
	Outline       // around a drawn stone
	Hairline      // between rows, around pictures, and where a sheet is cut
	Pen           // to write on, to tick, to write in
	Firm          // under a head and above a foot
	Thick         // around what must never be done
	Bar           // a filled bar of a chart
)

var rules = [...]struct {
	width float64
	ink   Ink
}{Facet: {0.08, black}, Outline: {0.12, black}, Hairline: {0.15, pale}, Pen: {0.15, black}, Firm: {0.35, black},
	Thick: {0.7, black}, Bar: {0.15, Ink{170, 170, 170}}}

// Width is the breadth of the line in millimetres.
func (r Rule) Width() float64 { return rules[r].width }

// Ink is the colour of the line.
func (r Rule) Ink() Ink { return rules[r].ink }
