package sheet

import "strings"

// Widths of the printable ASCII characters of Helvetica (and of Arial and
// Liberation Sans, which share them) in thousandths of the type size, from
// Adobe's published font metrics (Helvetica AFM, Core 14 fonts); unverified: AFM.
var helvetica = [95]uint16{
	278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278,
	556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556,
	1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722, 778,
	667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556,
	333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556,
	556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,
}

// A column's width counts digits of the standard type, 10 points; a digit is
// 556 thousandths wide, and the grid rounds it up to 7 pixels at 96 dpi.
const (
	digitWidth  = 556
	typeSize    = 10.0
	lineHeight  = 12.75 // points, of the standard type
	minHeight   = 15.0
	maxWidth    = 46.0
	minWidth    = 7.0
	indentWidth = 1.2  // of text in a table
	wrapPadding = 0.95 // share of a column's width that text may fill
)

// textWidth is the width of a line in digits of the standard type.
func textWidth(s string, size float64, bold bool) float64 {
	n := 0
	for _, r := range s {
		switch {
		case r >= ' ' && r <= '~':
			n += int(helvetica[r-' '])
		case r >= 0x1100: // wide scripts
			n += 1000
		default:
			n += 640
		}
	}
	w := float64(n) / digitWidth * size / typeSize
	if bold {
		w *= 1.08
	}
	return w
}

// countLines is how many lines s takes in a column of width digits.
func countLines(s string, width, size float64, bold bool) int {
	width = max(width*wrapPadding, 1)
	lines := 0
	for paragraph := range strings.SplitSeq(s, "\n") {
		lines++
		used := 0.0
		for word := range strings.SplitSeq(paragraph, " ") {
			w := textWidth(word, size, bold)
			space := textWidth(" ", size, bold)
			if used > 0 && used+space+w > width {
				lines++
				used = 0
			}
			if used > 0 {
				used += space
			}
			for w > width { // a word longer than the line is broken
				lines++
				w -= width
			}
			used += w
		}
	}
	return lines
}

// longestWord is the width that a wrapped header needs at least.
func longestWord(s string) float64 {
	most := 0.0
	for _, word := range strings.Fields(s) {
		most = max(most, textWidth(word, typeSize, true))
	}
	return most
}

// fitWidths gives each column without a width the one that its content needs.
func fitWidths(s *Sheet) []float64 {
	count := len(s.Columns)
	for _, row := range s.Rows {
		count = max(count, len(row))
	}
	widths := make([]float64, count)
	for i := range widths {
		if i < len(s.Columns) && s.Columns[i].Width > 0 {
			widths[i] = s.Columns[i].Width
			continue
		}
		need := minWidth
		if i < len(s.Columns) {
			h := s.Columns[i].Header
			need = max(need, longestWord(h)+indentWidth+1.6, min(textWidth(h, typeSize, true)+indentWidth+1.6, 12))
		}
		for _, row := range s.Rows {
			if i >= len(row) || row[i].span > 0 {
				continue
			}
			look := looks[row[i].style]
			for line := range strings.SplitSeq(row[i].String(), "\n") {
				need = max(need, textWidth(line, look.size(), look.bold)*1.03+indentWidth+1.8)
			}
		}
		widths[i] = min(need, maxWidth)
	}
	return widths
}

// rowHeight is the height in points at which nothing of a row is cut off; 0
// when the standard height will do.
func rowHeight(row []Cell, widths []float64) float64 {
	height := 0.0
	for i, c := range row {
		look := looks[c.style]
		size := look.size()
		lines := 1
		if c.wrap || look.wrap {
			width := 0.0
			for j := i; j <= i+int(c.span) && j < len(widths); j++ {
				width += widths[j]
			}
			lines = countLines(c.text, width-indentWidth, size, look.bold)
		}
		if lines > 1 || size > typeSize {
			height = max(height, float64(lines)*lineHeight*size/typeSize+3)
		}
	}
	if height <= minHeight {
		return 0
	}
	return min(height, 409)
}
