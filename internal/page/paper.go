// Package page is what a paper is before anything draws it: blocks of rows and
// cells, and drawings in millimetres. It says where on its sheets each letter and
// each line stands; it knows no file format and holds no library. The widths of
// letters come from whoever draws the paper.
package page

// Paper is one paper, for one reader, in the order in which it is read.
type Paper struct {
	Number    string
	Title     string // of the file; it stands nowhere on the paper
	Author    string // whose paper it is
	Language  string // of its words: "en"
	On        string // YYYY-MM-DD
	Size      Size
	Landscape bool   // for lists of more than nine columns
	Format    Format // of sheets that are cut; none: one frame between the margins
	Accent    *Ink   // the house's own; nil: petrol
	Dates     Dates
	Head      *Head // none: what cards and labels have
	Footer    Footer
	Parts     []Part
}

// Head stands at the top of a paper's first sheet. With a house it is a letter:
// the house's name and address, below it the reader's, where the window of an
// envelope shows it, and facts beside that. Without one it is compact, with its
// facts at the right.
type Head struct {
	House  *House
	Reader []string // of a letter: the name and the address
	Word   string   // what the paper is: "Quote"
	Number string   // beside the word
	Stamp  string   // in a frame beside the number: DRAFT or VOID
	Facts  []Fact   // of a letter at most seven lines, else four facts
	Lead   string   // of a letter: what to do with it; else from whom to whom
	Again  string   // the line at the top of every further sheet
}

// House is who a letter is from.
type House struct {
	Name    string
	Trade   string   // what it deals in
	Address []string // with the telephone and whatever else reaches it
	Logo    *Picture
}

// Fact is a label and what stands beside or below it.
type Fact struct {
	Label string
	Text  Text
}

// Footer stands at the bottom of each sheet. Where there are several sheets,
// each is counted at the right.
type Footer struct{ Left, Right string }

// Part begins in a frame of its own, and takes further frames as it needs them.
type Part struct {
	Blocks []Block
	Tight  []Block // the same in smaller type, set when that spares a second frame
	End    []Block // totals, terms, signatures: all together, with the last row of Blocks
	Again  []Block // at the top of its further frames
	Foot   []Block // at the bottom of each of its frames
}

// Block is rows that share their columns.
type Block struct {
	Table      Table    // how the rows are padded and ruled; none: as each row says
	Columns    []Column // none: one column as wide as the frame
	Rows       []Row
	Signatures []Signature // below the rows, side by side
}

// Column is a column of a block. Its text keeps off the next column by a gutter
// that lies inside its width.
type Column struct {
	Header string
	Width  float64 // mm; 0: an equal part of what the others leave
	Fit    bool    // as wide as what it holds; the widest gives way first
	Align  Align
	Edge   Rule // along the left side of each row; of the last column along both
}

// Align is where in its column a text, a drawing or a picture stands.
type Align uint8

// The alignments.
const (
	Left Align = iota
	Right
	Centre
)

// Row is cells side by side. It is never split.
type Row struct {
	Space float64 // above the row; none at the top of a frame
	Rule  Rule    // the line over the row
	Pad   float64 // between the rule and the text, and below the text; 0 in a table: its own
	Keep  bool    // stays in one frame with the row below it
	Group bool    // of a table: heads the rows below it
	Total bool    // of a table: below the last rule, with the row above it
	Cells []Cell
}

// Cell holds what is given of it, one below the other.
type Cell struct {
	Picture *Picture
	Drawing *Drawing
	Text    []Text
	Blocks  []Block
	Span    int     // columns that it covers; 0 is one
	Rule    Rule    // over this cell alone
	Frame   Rule    // around the cell; what it holds stands in its middle
	Inset   float64 // from the frame to what it holds
	Height  float64 // at least; a picture is fitted into it
}

// Text is a paragraph in one style.
type Text struct {
	Style Style
	Words string
	Value *Value  // the number or date that it states, in place of words
	Mark  Mark    // before the words
	Write float64 // mm of a line to write on, at the right end
}

// Mark is a sign that is drawn before a paragraph.
type Mark uint8

// The marks.
const (
	NoMark Mark = iota
	Tick        // a box to tick
	Cross
)

// Signature is a line to sign on, and what stands below it.
type Signature struct{ Who, What string }

// Picture is a photograph. It is scaled to fit where it stands, never stretched.
type Picture struct {
	Data       []byte // a JPEG or PNG file
	Wide, High int    // pixels
}

// Drawing is lines and words in a box, from its upper left corner.
type Drawing struct {
	Width, Height float64
	Lines         []Line
	Captions      []Caption
}

// Line is a line through points, as broad as its rule.
type Line struct {
	Rule   Rule
	Points []Point
	Closed bool
	Curved bool // after the first point each three are a Bezier curve: two handles and its end
	Dashed bool
	Filled bool // the area inside, in the ink of the rule, without the line
}

// Point is a place in millimetres, to the right and down.
type Point struct{ X, Y float64 }

// Caption is a word in a drawing, aligned at X, with its feet on Y.
type Caption struct {
	X, Y  float64
	Align Align
	Text  Text
}
