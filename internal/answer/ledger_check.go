package answer

// LedgerCheck is the result of a check of the whole book.
type LedgerCheck struct {
	Entries     int64              `json:"entries"`
	Head        string             `json:"head"`
	Differences []LedgerDifference `json:"differences"`
	Remarks     []string           `json:"remarks"` // what is worth a look and is no difference
}

// LedgerDifference is one thing that is not what it derives from.
type LedgerDifference struct {
	Table string `json:"table"`
	Ref   string `json:"ref"` // entry, lot or key
	What  string `json:"what"`
}

// Screen is every difference, their count and the head hash.
func (c *LedgerCheck) Screen() Screen {
	var s Screen
	for _, d := range c.Differences {
		s.line("%s %s: %s", d.Table, d.Ref, d.What)
	}
	for _, r := range c.Remarks {
		s.line("remark: %s", r)
	}
	s.line("%d entries checked, %d differences", c.Entries, len(c.Differences))
	s.line("head: %s", c.Head)
	return s
}
