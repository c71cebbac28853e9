package sheet

import (
	"encoding/xml"
	"fmt"
	"io"
	"strconv"
	"strings"

	"lotpaper/internal/fault"
)

// mergedRange is a block of merged cells, 1-based and inclusive.
type mergedRange struct {
	ref                    string
	row, col, toRow, toCol int
}

type xlsxSource struct {
	book   *workbookParts
	part   *part
	cells  []rawCell
	row    int  // number of the last row
	closed bool // the sheet's end was seen
	ended  bool
	merges []mergedRange
}

func (w *workbookParts) openSheet(name string) (source, *fault.Fault) {
	for _, s := range w.sheets {
		if s.name == name {
			p, err := w.openPart(s.part, maxSheetBytes)
			if err != nil {
				return nil, zipFault(err)
			}
			return &xlsxSource{book: w, part: p}, nil
		}
	}
	return nil, fault.New(fault.Invalid, "sheet-missing", "the workbook has no sheet "+strconv.Quote(name),
		"name one of its sheets")
}

func (s *xlsxSource) close() { _ = s.part.file.Close() }

func (s *xlsxSource) merged() []mergedRange { return s.merges }

// next returns the next row that holds a value. After the last row it reads on
// to the merged ranges, which stand behind the data.
func (s *xlsxSource) next() (rawRow, error) {
	if s.ended {
		return rawRow{}, io.EOF
	}
	for {
		t, err := s.part.RawToken()
		if err == io.EOF && s.closed {
			s.ended = true
			return rawRow{}, io.EOF
		}
		if err != nil {
			return rawRow{}, zipFault(noEOF(err))
		}
		if end, ok := t.(xml.EndElement); ok && end.Name.Local == "worksheet" {
			s.closed = true
		}
		e, ok := t.(xml.StartElement)
		if !ok {
			continue
		}
		switch e.Name.Local {
		case "row":
			row, err := s.readRow(e)
			if err != nil {
				return rawRow{}, zipFault(err)
			}
			if len(row.cells) > 0 {
				return row, nil
			}
		case "mergeCell":
			if m, ok := parseRange(attr(e, "ref")); ok && len(s.merges) < maxFaults {
				s.merges = append(s.merges, m)
			}
		}
	}
}

func (s *xlsxSource) readRow(e xml.StartElement) (rawRow, error) {
	s.row++
	if r := attr(e, "r"); r != "" {
		n, err := strconv.Atoi(r)
		if err != nil || n < s.row || n > maxRows {
			return rawRow{}, fmt.Errorf("row number %q is out of order", r)
		}
		s.row = n
	}
	s.cells = s.cells[:0]
	for {
		t, err := s.part.RawToken()
		if err != nil {
			return rawRow{}, noEOF(err)
		}
		switch e := t.(type) {
		case xml.StartElement:
			if e.Name.Local != "c" {
				continue
			}
			col := len(s.cells) + 1
			if ref := attr(e, "r"); ref != "" {
				if col = columnOf(ref); col == 0 {
					return rawRow{}, fmt.Errorf("cell reference %q", ref)
				}
			}
			c, err := s.readCell(e)
			if err != nil {
				return rawRow{}, err
			}
			if c.text == "" && c.kind != cellFormula || col > maxColumns {
				continue
			}
			for len(s.cells) < col {
				s.cells = append(s.cells, rawCell{})
			}
			s.cells[col-1] = c
		case xml.EndElement:
			if e.Name.Local == "row" {
				return rawRow{s.row, s.cells}, nil
			}
		}
	}
}

// readCell reads one cell up to its end.
func (s *xlsxSource) readCell(e xml.StartElement) (rawCell, error) {
	kind, style := attr(e, "t"), attr(e, "s")
	var value []byte
	formula := false
	in := ""
	inline := ""
	for {
		t, err := s.part.RawToken()
		if err != nil {
			return rawCell{}, noEOF(err)
		}
		switch e := t.(type) {
		case xml.StartElement:
			switch in = e.Name.Local; in {
			case "f":
				formula = true
			case "is":
				if inline, err = s.inlineText(); err != nil {
					return rawCell{}, err
				}
				in = ""
			}
		case xml.CharData:
			if in == "v" {
				value = append(value, e...)
			}
		case xml.EndElement:
			if e.Name.Local != "c" {
				in = ""
				continue
			}
			c, err := s.cellOf(kind, style, string(value), inline)
			if formula {
				c.kind = cellFormula
			}
			return c, err
		}
	}
}

func (s *xlsxSource) cellOf(kind, style, value, inline string) (rawCell, error) {
	switch kind {
	case "s":
		n, err := strconv.Atoi(strings.TrimSpace(value))
		if err != nil || n < 0 || n >= len(s.book.strings) {
			if value == "" {
				return rawCell{}, nil
			}
			return rawCell{}, fmt.Errorf("shared string %q is missing", value)
		}
		return rawCell{text: s.book.strings[n]}, nil
	case "inlineStr":
		return rawCell{text: inline}, nil
	case "str":
		return rawCell{text: unescape(value)}, nil
	case "d": // ISO 8601 text, written by few programs
		day, _, _ := strings.Cut(value, "T")
		return rawCell{text: day}, nil
	case "b":
		if value == "1" || value == "true" {
			return rawCell{text: "true", kind: cellBool}, nil
		}
		return rawCell{text: "false", kind: cellBool}, nil
	case "e":
		return rawCell{text: value, kind: cellError}, nil
	}
	if value == "" {
		return rawCell{}, nil
	}
	as := cellNumber
	if n, err := strconv.Atoi(style); err == nil && n >= 0 && n < len(s.book.formats) {
		as = s.book.formats[n]
	}
	switch as {
	case cellDate:
		return rawCell{text: value, kind: cellDate}, nil
	case cellPercent:
		return rawCell{text: percentText(value), kind: cellPercent}, nil
	}
	return rawCell{text: plainNumber(value), kind: cellNumber}, nil
}

// inlineText gathers the text of an inline string up to its end.
func (s *xlsxSource) inlineText() (string, error) {
	var text []byte
	inText, aid := false, 0
	for {
		t, err := s.part.RawToken()
		if err != nil {
			return "", noEOF(err)
		}
		switch e := t.(type) {
		case xml.StartElement:
			inText = e.Name.Local == "t"
			if e.Name.Local == "rPh" {
				aid++
			}
		case xml.EndElement:
			inText = false
			switch e.Name.Local {
			case "rPh":
				aid--
			case "is":
				return unescape(string(text)), nil
			}
		case xml.CharData:
			if inText && aid == 0 {
				text = append(text, e...)
			}
		}
	}
}

func noEOF(err error) error {
	if err == io.EOF {
		return io.ErrUnexpectedEOF
	}
	return err
}

// parseRange reads "B2:D4".
func parseRange(ref string) (mergedRange, bool) {
	from, to, two := strings.Cut(ref, ":")
	if !two {
		return mergedRange{}, false
	}
	m := mergedRange{ref: ref, col: columnOf(from), toCol: columnOf(to), row: rowOf(from), toRow: rowOf(to)}
	return m, m.col > 0 && m.toCol >= m.col && m.row > 0 && m.toRow >= m.row
}

func rowOf(ref string) int {
	n, _ := strconv.Atoi(strings.TrimLeft(ref, "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"))
	return n
}
