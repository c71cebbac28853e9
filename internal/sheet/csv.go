package sheet

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"

	"golang.org/x/text/encoding/charmap"

	"lotpaper/internal/fault"
)

type csvSource struct {
	reader *csv.Reader
	before int // lines before the first record: a "sep=" line
	inside int // line ends inside the fields read so far
	cells  []rawCell
}

func (f *File) openCSV() (source, *fault.Fault) {
	mark := make([]byte, 3)
	n, _ := f.reader.ReadAt(mark, 0)
	skip := int64(0)
	if n == 3 && string(mark) == "\xEF\xBB\xBF" {
		skip = 3
	}
	var text io.Reader = io.NewSectionReader(f.reader, skip, f.size-skip)
	if f.options.Encoding == "windows-1252" && skip == 0 { // a BOM says UTF-8, whatever was asked
		text = charmap.Windows1252.NewDecoder().Reader(text)
	}
	b := bufio.NewReaderSize(text, 64<<10)
	s := &csvSource{}
	comma := ','
	if line, _ := b.Peek(6); len(line) >= 5 && strings.EqualFold(string(line[:4]), "sep=") {
		first, _ := b.ReadString('\n')
		comma = rune(first[4])
		s.before = 1
	} else {
		comma = sniff(b)
	}
	if comma != ',' && comma != ';' && comma != '\t' {
		return nil, fault.New(fault.Invalid, "csv-separator",
			fmt.Sprintf("CSV columns are separated by , ; or a tab, but the first line says %q", comma),
			"save it with one of these separators").At(fault.Where{File: f.Name, Row: 1})
	}
	s.reader = csv.NewReader(b)
	s.reader.Comma = comma
	s.reader.FieldsPerRecord = -1
	s.reader.ReuseRecord = true
	return s, nil
}

// sniff returns the separator that occurs most often outside quotes in the
// first line that holds any.
func sniff(b *bufio.Reader) rune {
	peek, _ := b.Peek(b.Size())
	var commas, semicolons, tabs int
	quoted := false
	for _, c := range peek {
		switch {
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == ',':
			commas++
		case c == ';':
			semicolons++
		case c == '\t':
			tabs++
		}
		if c == '\n' && !quoted && commas+semicolons+tabs > 0 {
			break
		}
	}
	switch {
	case tabs > 0 && tabs >= commas && tabs >= semicolons:
		return '\t'
	case semicolons > 0 && semicolons >= commas:
		return ';'
	}
	return ','
}

func (s *csvSource) next() (rawRow, error) {
	for {
		record, err := s.reader.Read()
		if err != nil {
			return rawRow{}, s.explain(err)
		}
		line, _ := s.reader.FieldPos(0)
		row := rawRow{number: line - s.inside + s.before}
		s.cells = s.cells[:0]
		empty := true
		for _, text := range record {
			s.inside += strings.Count(text, "\n")
			if text != "" {
				empty = false
			}
			s.cells = append(s.cells, rawCell{text: unguard(text)})
		}
		if row.number > maxRows {
			return rawRow{}, fault.New(fault.Invalid, "rows-too-many", "a table must have at most 1,048,576 rows",
				"split the file").At(fault.Where{Row: row.number})
		}
		if empty {
			continue
		}
		row.cells = s.cells
		return row, nil
	}
}

func (s *csvSource) explain(err error) error {
	var p *csv.ParseError
	if !errors.As(err, &p) {
		return err
	}
	return fault.New(fault.Invalid, "csv-quote", "a quote is opened and not closed, or stands inside an unquoted text",
		"write a text that holds quotes or separators in quotes, and each quote inside it twice").
		At(fault.Where{Row: p.StartLine - s.inside + s.before})
}

// Lines counts the line ends of a CSV file: about its rows, for a caller that
// wants to make room once. It is 0 for a workbook, which does not say.
func (f *File) Lines() int {
	if !f.IsCSV() {
		return 0
	}
	n := 0
	buf := make([]byte, 64<<10)
	for at := int64(0); at < f.size; {
		k, err := f.reader.ReadAt(buf, at)
		n += bytes.Count(buf[:k], []byte{'\n'})
		if at += int64(k); err != nil || k == 0 {
			break
		}
	}
	return min(n, maxRows)
}

func (s *csvSource) merged() []mergedRange { return nil }
func (s *csvSource) close()                {}
