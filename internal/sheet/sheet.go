// Package sheet reads tables from XLSX and CSV files as rows with positions,
// and writes workbooks and CSV files. It knows cells, headers and looks, not
// stones. It is the only importer of the spreadsheet and text libraries.
//
// Reading streams: one row is held at a time, so a large file costs little
// memory. XLSX is read with the standard zip and XML packages, because a
// streaming reader must also see what a row iterator hides: formulas, dates by
// number format, merged cells, and the size of what is unpacked.
package sheet

import (
	"fmt"
	"strings"

	"golang.org/x/text/unicode/norm"

	"lotpaper/internal/fault"
)

// Limits of what is read. A spreadsheet has at most 1,048,576 rows and 32,767
// characters in a cell (ECMA-376, SpreadsheetML), so a text that long without
// any tag is an attack, not a table.
const (
	maxFileBytes   = 512 << 20
	maxSheetBytes  = 1 << 30
	maxStringBytes = 128 << 20
	maxPartBytes   = 16 << 20
	maxTextRun     = 1 << 20
	maxRows        = 1_048_576
	maxColumns     = 512
	maxFaults      = 10_000
	maxWarnings    = 1_000
)

// Letters turns a column number (1-based) into its letters: 1 A, 27 AA.
func Letters(n int) string {
	if n < 1 {
		return ""
	}
	var b [8]byte
	i := len(b)
	for n > 0 {
		n--
		i--
		b[i] = byte('A' + n%26)
		n /= 26
	}
	return string(b[i:])
}

// columnOf reads the letters at the start of a cell reference ("AB12") as a
// column number; 0 when there are none.
func columnOf(ref string) int {
	n := 0
	for i := 0; i < len(ref) && i < 4; i++ {
		c := ref[i] | 0x20
		if c < 'a' || c > 'z' {
			break
		}
		n = n*26 + int(c-'a') + 1
	}
	return n
}

// Fold brings a header or a sheet name to the form by which names are
// compared: lower case, without blanks, underscores, hyphens, dots and brackets:
// "Weight (ct)" is weight_ct.
func Fold(s string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(clean(s)) {
		switch r {
		case ' ', '_', '-', '.', '(', ')', '\t', '\n', '\r', '\u00a0':
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// clean trims blanks, no-break ones too, and composes accents (NFC), so that
// names typed on different machines are equal.
func clean(s string) string {
	plain := true
	for i := 0; i < len(s); i++ {
		if s[i] >= 0x80 {
			plain = false
			break
		}
	}
	if plain {
		return strings.TrimSpace(s)
	}
	s = strings.TrimFunc(s, func(r rune) bool {
		return strings.ContainsRune(" \t\r\n\u00a0\u2007\u202f\ufeff\u200b",
			r)
	})
	if norm.NFC.IsNormalString(s) {
		return s
	}
	return norm.NFC.String(s)
}

func unreadable(err error) *fault.Fault {
	return fault.New(fault.Invalid, "file-unreadable", fmt.Sprintf("the file could not be read: %v", err),
		"check that the file is there and not damaged, then try again")
}
