package sheet

import (
	"fmt"

	"github.com/xuri/excelize/v2"
)

// look is what a Style means.
type look struct {
	points       float64 // 0: the standard type
	bold, italic bool
	colour       string
	fill         string
	top, bottom  bool
	box          bool
	wrap         bool
	open         bool // may be changed on a protected sheet
}

const fontName = "Arial"

var looks = [...]look{
	Plain:   {},
	Title:   {points: 16, bold: true},
	Heading: {points: 11, bold: true, bottom: true},
	Header:  {bold: true, fill: "E7E6E6", bottom: true, wrap: true},
	Label:   {colour: "595959"},
	Note:    {points: 9, italic: true, colour: "404040"},
	Strong:  {bold: true},
	Total:   {bold: true, top: true},
	Input:   {fill: "FFF8E1", box: true, open: true},
	Alert:   {bold: true, box: true, fill: "F2F2F2"},
	Boxed:   {box: true},
}

func (l look) size() float64 {
	if l.points > 0 {
		return l.points
	}
	return typeSize
}

// lineless reports whether a table's hairline may run below such a cell.
func (l look) lineless() bool { return !l.box && !l.top && !l.bottom }

// styleKey is everything that makes two cells look alike.
type styleKey struct {
	style  Style
	format Format
	wrap   bool
	right  bool
	number bool
	line   bool // hairline below: rows of a table
	indent bool // text of a table, so that it keeps off a number to its left
}

// stylist hands out one style number per look; numbers follow first use, so
// the same workbook has the same styles.
type stylist struct {
	file *excelize.File
	ids  map[styleKey]int
	// last is the key asked for most recently in each column: rows repeat.
	last []styleMemo
}

type styleMemo struct {
	key styleKey
	id  int
	set bool
}

func newStylist(f *excelize.File) *stylist { return &stylist{file: f, ids: map[styleKey]int{}} }

func (s *stylist) of(column int, c *Cell, line, inTable bool) (int, error) {
	inTable = inTable || c.style == Header
	k := styleKey{c.style, c.format, c.wrap, c.right, c.kind == numberValue, line && looks[c.style].lineless(),
		inTable && (c.kind == textValue || c.format == Day) && !c.right && column > 0}
	if column < len(s.last) {
		if m := &s.last[column]; m.set && m.key == k {
			return m.id, nil
		}
	}
	id, err := s.id(k)
	if err != nil {
		return 0, err
	}
	for column >= len(s.last) {
		s.last = append(s.last, styleMemo{})
	}
	s.last[column] = styleMemo{k, id, true}
	return id, nil
}

func (s *stylist) id(k styleKey) (int, error) {
	if id, ok := s.ids[k]; ok {
		return id, nil
	}
	l := looks[k.style]
	st := &excelize.Style{
		Font:      &excelize.Font{Family: fontName, Size: l.size(), Bold: l.bold, Italic: l.italic, Color: l.colour},
		Alignment: &excelize.Alignment{WrapText: k.wrap || l.wrap, Vertical: "top"},
	}
	if k.style == Header {
		st.Alignment.Vertical = "bottom"
	}
	switch {
	case k.right:
		st.Alignment.Horizontal = "right"
	case k.indent:
		st.Alignment.Horizontal, st.Alignment.Indent = "left", 1
	case k.number && (k.style == Title || k.style == Label || k.format == Day):
		st.Alignment.Horizontal = "left"
	}
	if l.fill != "" {
		st.Fill = excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{l.fill}}
	}
	edge := func(side string, style int, colour string) {
		st.Border = append(st.Border, excelize.Border{Type: side, Style: style, Color: colour})
	}
	if l.box {
		for _, side := range []string{"left", "top", "right", "bottom"} {
			edge(side, 1, "7F7F7F")
		}
	}
	if l.top {
		edge("top", 1, "000000")
	}
	if l.bottom {
		edge("bottom", 1, "000000")
	}
	if k.line {
		edge("bottom", 7, "A6A6A6")
	}
	if l.open {
		st.Protection = &excelize.Protection{Locked: false}
	}
	if code := formatCodes[k.format]; code != "" {
		st.CustomNumFmt = &code
	}
	id, err := s.file.NewStyle(st)
	if err != nil {
		return 0, fmt.Errorf("sheet: style: %w", err)
	}
	s.ids[k] = id
	return id, nil
}
