package book

// Period is a month whose books are closed, or were once. Who closed or opened it,
// when and why stands in the entry that wrote the version.
type Period struct {
	Month  Month `json:"month"`
	Closed bool  `json:"closed"`
}

// RecordKind says that periods are kept as versions.
func (Period) RecordKind() Kind { return KindPeriod }

// RecordKey is the month.
func (p Period) RecordKey() string { return string(p.Month) }

// Refs are none.
func (Period) Refs() []Ref { return nil }
