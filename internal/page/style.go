package page

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

// Style is what a paragraph is for; it decides how it looks.
type Style uint8

// The styles.
const (
	Body      Style = iota
	Strong          // a word that must not be overlooked
	Label           // names what stands beside it
	Fine            // text where Body would take a second frame
	FineLabel       // names what stands beside such text
	Small           // what only completes a line above it
	Note            // small print
	Sender          // who the paper is from
	Heading         // begins a group
	Piece           // names a piece of jewelry
)

// Look is how a style is set.
type Look struct {
	Face    Face
	Points  float64 // the size of the type, 8 at least
	Leading float64 // mm from one line to the next
	Ink     Ink
}

var looks = [...]Look{
	Body:      {Regular, 9, 4.4, black},
	Strong:    {SemiBold, 9, 4.4, black},
	Label:     {Italic, 9, 4.4, black},
	Fine:      {Regular, 8, 3.9, black},
	FineLabel: {Italic, 8, 3.9, black},
	Small:     {Regular, 8, 3.9, grey},
	Note:      {Italic, 8, 3.9, grey},
	Sender:    {SemiBold, 8, 3.9, black},
	Heading:   {SemiBold, 11.5, 5, black},
	Piece:     {Regular, 14, 6.4, accent},
}

// Look is how the style is set.
func (s Style) Look() Look { return looks[s] }

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

// The rules, from the finest. Facet lines of a stone are finer than its outline.
const (
	NoRule   Rule = iota
	Facet         // inside a drawn stone
	Outline       // around a drawn stone
	Hairline      // between rows, and where a sheet is cut
	Firm          // under a head and above a foot
)

var rules = [...]struct {
	width float64
	ink   Ink
}{Facet: {0.08, black}, Outline: {0.15, black}, Hairline: {0.15, pale}, Firm: {0.35, black}}

// Width is the breadth of the line in millimetres.
func (r Rule) Width() float64 { return rules[r].width }

// Ink is the colour of the line.
func (r Rule) Ink() Ink { return rules[r].ink }
