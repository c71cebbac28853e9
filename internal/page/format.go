package page

import "lotpaper/internal/fault"

// Format is the sheet that a paper is printed on. All measures are millimetres
// from its upper left corner.
type Format struct {
	Width, Height float64
	Frames        []Frame // where the parts stand, in the order in which they are filled
	Marks         []Line  // on every sheet, outside the frames: where it is cut
}

// Frame is a part of a sheet that text may stand in.
type Frame struct{ X, Y, Width, Height float64 }

// Size is the paper in the printer.
type Size uint8

// The sizes.
const (
	A4 Size = iota
	Letter
)

var sizes = [...]struct {
	name          string
	width, height float64
}{A4: {"A4", 210, 297}, Letter: {"Letter", 215.9, 279.4}}

// ParseSize reads A4 or Letter.
func ParseSize(s string) (Size, *fault.Fault) {
	for i, size := range sizes {
		if s == size.name {
			return Size(i), nil
		}
	}
	return 0, fault.New(fault.Invalid, "paper-size", "the paper must be A4 or Letter, but is "+s, "write A4 or Letter")
}

// Margins, mm: at the sides, to the first line, from the end of the last line to
// the lower edge, and from the feet of the footer to it.
const (
	side, sideOfList     = 20, 14
	top                  = 16
	bottom, bottomOfList = 17, 15
	footerFeet           = 11
)

// format is the sheet of the paper: its own, or one frame between the margins.
func (p *Paper) format() Format {
	if len(p.Format.Frames) > 0 {
		return p.Format
	}
	size, x, below := sizes[p.Size], float64(side), float64(bottom)
	f := Format{Width: size.width, Height: size.height}
	if p.Landscape {
		f.Width, f.Height, x, below = size.height, size.width, sideOfList, bottomOfList
	}
	f.Frames = []Frame{{X: x, Y: top, Width: f.Width - 2*x, Height: f.Height - below - top}}
	return f
}

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
