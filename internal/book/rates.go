package book

import (
	"lotpaper/internal/num"
)

// Rate is a dated rate with its source: foreign exchange ("fx", name the
// currency), metal ("metal", per fine gram), labour, fees, percentages.
type Rate struct {
	Kind   string  `json:"kind"` // fx, metal, alloy, casting, labour, setting, overhead, percent ...
	Name   string  `json:"name"` // "USD", "gold", "prong small" ...
	Value  num.Dec `json:"value"`
	Per    int64   `json:"per"`  // fx: 1, 100 or 1000 foreign units; else 1
	Unit   string  `json:"unit"` // "EUR/USD", "EUR/g fine", "EUR/h", "EUR/stone", "%"
	On     Date    `json:"on"`
	Source string  `json:"source"`
	Note   string  `json:"note,omitempty"`
}

// RecordKind says that rates are kept as versions.
func (Rate) RecordKind() Kind { return KindRate }

// RecordKey is kind, name and date: an old rate stays beside a new one.
func (r Rate) RecordKey() string { return r.Kind + "/" + r.Name + "/" + string(r.On) }

// Refs are none.
func (Rate) Refs() []Ref { return nil }

// Price is one row of the dealer's price list: what a stone of this kind would
// bring loose, or cost to replace.
type Price struct {
	Species     string         `json:"species"` // or variety, as written and resolved
	Variety     string         `json:"variety,omitempty"`
	Shape       string         `json:"shape,omitempty"` // empty: any
	LengthMin   num.Millimetre `json:"length_min"`
	LengthMax   num.Millimetre `json:"length_max"` // 0: no limit
	Grade       string         `json:"grade,omitempty"`
	Loose       num.UnitPrice  `json:"loose"`       // per carat, would bring loose
	Replacement num.UnitPrice  `json:"replacement"` // per carat, cost to replace; zero unknown
	On          Date           `json:"on"`
	Source      string         `json:"source"`
}

// RecordKind says that prices are kept as versions.
func (Price) RecordKind() Kind { return KindPrice }

// RecordKey is everything that a price is asked by.
func (p Price) RecordKey() string {
	return p.Species + "/" + p.Variety + "/" + p.Shape + "/" + p.LengthMin.String() + "-" + p.LengthMax.String() + "/" +
		p.Grade + "/" + string(p.On)
}

// Refs are none.
func (Price) Refs() []Ref { return nil }

// Setting of the book: one key and its value as text. Config checks both.
type Setting struct {
	Key   string `json:"key"`
	Value string `json:"value"`
}

// RecordKind says that settings are kept as versions.
func (Setting) RecordKind() Kind { return KindConfig }

// RecordKey is the setting's key.
func (s Setting) RecordKey() string { return s.Key }

// Refs are none.
func (Setting) Refs() []Ref { return nil }
