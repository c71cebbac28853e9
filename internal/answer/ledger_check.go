package answer

import (
	"fmt"
	"strings"
)

// LedgerCheck is the result of a check of the whole book.
type LedgerCheck struct {
	Entries     int64              `json:"entries"`
	Head        string             `json:"head"`
	Differences []LedgerDifference `json:"differences"`
}

// LedgerDifference is one thing that is not what it derives from.
type LedgerDifference struct {
	Table string `json:"Table"`
	Ref   string `json:"Ref"` // entry, lot or key
	What  string `json:"What"`
}

// Text is every difference, their count and the head hash.
func (c *LedgerCheck) Text() string {
	var b strings.Builder
	for _, d := range c.Differences {
		fmt.Fprintf(&b, "%s %s: %s\n", d.Table, d.Ref, d.What)
	}
	fmt.Fprintf(&b, "%d entries checked, %d differences\nhead: %s\n", c.Entries, len(c.Differences), c.Head)
	return b.String()
}
