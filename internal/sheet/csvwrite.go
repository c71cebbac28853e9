package sheet

import (
	"bufio"
	"io"
	"strings"
)

// WriteCSV writes a header and rows as RFC 4180 has it: commas, CRLF, quotes
// where needed, UTF-8 without a mark. A text that a spreadsheet program would
// run as a formula gets a leading apostrophe; numbers stay numbers.
func WriteCSV(w io.Writer, header []string, next func() ([]Cell, bool)) error {
	b := bufio.NewWriterSize(w, 64<<10)
	for i, h := range header {
		if i > 0 {
			b.WriteByte(',')
		}
		writeField(b, guard(h))
	}
	b.WriteString("\r\n")
	for row, ok := next(); ok; row, ok = next() {
		for i := range row {
			if i > 0 {
				b.WriteByte(',')
			}
			switch c := &row[i]; c.kind {
			case textValue:
				writeField(b, guard(c.text))
			case numberValue:
				b.WriteString(c.digits())
			}
		}
		b.WriteString("\r\n")
	}
	return b.Flush() // keeps the first error of all writes
}

// guard disarms text that starts as a formula does.
func guard(s string) string {
	if s != "" && strings.IndexByte(formulaMarks, s[0]) >= 0 {
		return "'" + s
	}
	return s
}

// unguard takes back what guard did, so that our own files come in as they
// were.
func unguard(s string) string {
	if len(s) > 1 && s[0] == '\'' && strings.IndexByte(formulaMarks, s[1]) >= 0 {
		return s[1:]
	}
	return s
}

const formulaMarks = "=+-@\t\r"

func writeField(b *bufio.Writer, s string) {
	if !strings.ContainsAny(s, ",\"\r\n") && strings.TrimSpace(s) == s && s != `\.` {
		b.WriteString(s)
		return
	}
	b.WriteByte('"')
	for i := 0; i < len(s); i++ {
		if s[i] == '"' {
			b.WriteByte('"')
		}
		b.WriteByte(s[i])
	}
	b.WriteByte('"')
}
