// Package page is what a paper is before anything draws it: blocks of rows and
// cells, and drawings in millimetres. It says where on its sheets each letter and
// each line stands; it knows no file format and holds no library. The widths of
// letters come from whoever draws the paper.
package page

// Paper is one paper, for one reader, in the order in which it is read.
type Paper struct {
	Number   string
	Title    string // of the file; it stands nowhere on the paper
	Author   string // whose paper it is
	Language string // of its words: "en"
	On       string // YYYY-MM-DD
	Format   Format
	Parts    []Part
}

// Format is the sheet that a paper is printed on. All measures are millimetres
// from its upper left corner.
type Format struct {
	Width, Height float64
	Frames        []Frame // where the parts stand, in the order in which they are filled
	Marks         []Line  // on every sheet, outside the frames: where it is cut
}

// Frame is a part of a sheet that text may stand in.
type Frame struct{ X, Y, Width, Height float64 }

// Part begins in a frame of its own, and takes further frames as it needs them.
type Part struct {
	Blocks []Block
	Tight  []Block // the same in smaller type, set when that spares a second frame
	Again  []Block // at the top of its further frames
	Foot   []Block // at the bottom of each of its frames
}

// Block is rows that share their columns.
type Block struct {
	Columns []Column // none: one column as wide as the frame
	Rows    []Row
}

// Column is a column of a block. Its text keeps off the next column by a gutter
// that lies inside its width.
type Column struct {
	Width float64 // mm; 0: what the others leave
	Right bool    // what it holds ends at its right edge
}

// Row is cells side by side. It is never split.
type Row struct {
	Space float64 // above the row; none at the top of a frame
	Rule  Rule    // the line over the row
	Pad   float64 // between the rule and the text, and below the text
	Keep  bool    // stays in one frame with the row below it
	Cells []Cell
}

// Cell is a drawing, or paragraphs one below the other.
type Cell struct {
	Text    []Text
	Drawing *Drawing
}

// Text is a paragraph in one style.
type Text struct {
	Style Style
	Words string
}

// Drawing is lines in a box, from its upper left corner.
type Drawing struct {
	Width, Height float64
	Lines         []Line
}

// Line is a line through points, as broad as its rule.
type Line struct {
	Rule   Rule
	Points []Point
	Closed bool
}

// Point is a place in millimetres, to the right and down.
type Point struct{ X, Y float64 }

// CareCards are four cards of 105 x 148.5 mm on a sheet of A4, which is cut
// across and along its middle. Their text keeps 12 mm from every edge and cut.
func CareCards() Format {
	const width, height, margin, mark = 210, 297, 12, 5.0
	f := Format{Width: width, Height: height}
	for i := range 4 {
		f.Frames = append(f.Frames, Frame{X: float64(i%2)*width/2 + margin, Y: float64(i/2)*height/2 + margin,
			Width: width/2 - 2*margin, Height: height/2. - 2*margin})
	}
	const x, y = width / 2., height / 2.
	for _, ends := range [][2]Point{
		{{x, 0}, {x, mark}}, {{x, height - mark}, {x, height}}, {{0, y}, {mark, y}}, {{width - mark, y}, {width, y}},
		{{x, y - mark/2}, {x, y + mark/2}}, {{x - mark/2, y}, {x + mark/2, y}},
	} {
		f.Marks = append(f.Marks, Line{Rule: Hairline, Points: ends[:]})
	}
	return f
}
