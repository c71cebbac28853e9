package book

import (
	"encoding/json"
	"fmt"
	"strings"

	"lotpaper/internal/num"
)

// Design is one model of a line: a piece of jewelry, its metal and labour, and
// the positions that stones fill. MetalWeight, Labour and Count are per sale
// unit (a pair of earrings is one unit).
type Design struct {
	Line        string    `json:"line"`
	Name        string    `json:"name"`
	Piece       string    `json:"piece"` // ring, pendant, earrings, bracelet ...
	Metal       string    `json:"metal"` // gold, silver, platinum, palladium, or an alloy's name
	Fineness    num.Dec   `json:"fineness"`
	MetalWeight num.Gram  `json:"metal_g"`
	Quantity    int64     `json:"quantity"`
	PriceTrade  num.Money `json:"price_trade"`
	PriceRetail num.Money `json:"price_retail"`
	Labour      num.Dec   `json:"labour_min"`
	Findings    num.Money `json:"findings"`
	FixedCost   num.Money `json:"fixed_cost"`
	Wear        string    `json:"wear"` // daily, occasional, evening
	Lux         num.Dec   `json:"lux"`
	HoursPerDay num.Dec   `json:"hours_per_day"`
	// lux was given as 0: kept in a closed box; without a lux a lit showcase is assumed
	Dark      bool       `json:"dark,omitempty"`
	Bench     []string   `json:"bench"`
	Identity  string     `json:"identity"` // stated, supported, verified: the least that its stones must be
	Positions []Position `json:"positions"`
}

// Position is one kind of place for stones in a design.
type Position struct {
	Name      string         `json:"name"`
	Setting   string         `json:"setting"`
	Shape     string         `json:"shape"`
	Species   []string       `json:"species"` // resolved names that it accepts; empty: any
	AsWritten string         `json:"as_written,omitempty"`
	Treatment string         `json:"treatment,omitempty"` // required words; empty: any
	LengthMin num.Millimetre `json:"length_min"`
	LengthMax num.Millimetre `json:"length_max"`
	WidthMin  num.Millimetre `json:"width_min"`
	WidthMax  num.Millimetre `json:"width_max"`
	DepthMin  num.Millimetre `json:"depth_min"`
	DepthMax  num.Millimetre `json:"depth_max"`
	Count     int64          `json:"count"`
	Match     string         `json:"match"` // none, pair, identical, graduated
	Tolerance num.Millimetre `json:"tolerance_mm"`
	Color     string         `json:"color,omitempty"`
	Clarity   string         `json:"clarity,omitempty"`
	PriceMax  num.UnitPrice  `json:"price_max"` // per carat; zero: no ceiling
	Accept    string         `json:"accept"`    // sound, care, caution: the worst setting verdict it takes
}

// Wanted words what a position asks for: "6.00 x 4.00 mm oval topaz".
func (p Position) Wanted() string {
	var b strings.Builder
	window := func(low, high num.Millimetre) string {
		switch {
		case low == 0 && high == 0:
			return ""
		case low == high || high == 0:
			return low.String()
		case low == 0:
			return "up to " + high.String()
		}
		return low.String() + "-" + high.String()
	}
	if l := window(p.LengthMin, p.LengthMax); l != "" {
		b.WriteString(l)
		if w := window(p.WidthMin, p.WidthMax); w != "" {
			b.WriteString(" x " + w)
		}
		b.WriteString(" mm ")
	}
	if p.Color != "" {
		b.WriteString(p.Color + " ")
	}
	b.WriteString(strings.TrimSpace(p.Shape + " "))
	if p.AsWritten != "" {
		b.WriteString(" " + strings.NewReplacer("; ", " or ", ";", " or ").Replace(p.AsWritten))
	} else if len(p.Species) > 0 {
		b.WriteString(" " + strings.Join(p.Species, " or "))
	} else {
		b.WriteString(" stones")
	}
	return strings.TrimSpace(b.String())
}

// RecordKind says that designs are kept as versions.
func (Design) RecordKind() Kind { return KindDesign }

// RecordKey is line and name.
func (d Design) RecordKey() string { return d.Line + "/" + d.Name }

// Refs are the design's line.
func (d Design) Refs() []Ref { return []Ref{ToLine(d.Line)} }

// Stones is how many stones one sale unit takes.
func (d Design) Stones() int64 {
	var n int64
	for _, p := range d.Positions {
		n += p.Count
	}
	return n
}

// Line is a named set of designs.
type Line struct {
	Name    string   `json:"name"`
	Designs []string `json:"designs"`
	On      Date     `json:"on"`
	Source  string   `json:"source,omitempty"`
	Note    string   `json:"note,omitempty"`
}

// RecordKind says that lines are kept as versions.
func (Line) RecordKind() Kind { return KindLine }

// RecordKey is the line's name.
func (l Line) RecordKey() string { return l.Name }

// Refs are none: its designs name the line.
func (Line) Refs() []Ref { return nil }

// Hold reserves pieces of a lot for a design of a line or for a customer; zero
// pieces free it.
type Hold struct {
	Lot    string `json:"lot"`
	For    string `json:"for"` // line/design/position, or customer/NAME
	Pieces int64  `json:"pieces"`
	Until  Date   `json:"until,omitempty"` // the last day that it holds; empty: until it is released
	Note   string `json:"note,omitempty"`
}

// Words says how many are held for whom, and until when.
func (h Hold) Words() string {
	words := fmt.Sprintf("%d for %s", h.Pieces, h.For)
	if h.Until != "" {
		words += " until " + string(h.Until)
	}
	return words
}

// Open reports whether the hold holds anything on a day.
func (h Hold) Open(on Date) bool { return h.Pieces > 0 && (h.Until == "" || on <= h.Until) }

// Serves reports whether the hold is for a line, one of its designs or
// positions, or a customer: "Sea", "Sea/Ring 1/centre", "A Customer". What is
// held for a whole line serves all of it.
func (h Hold) Serves(whom string) bool {
	f, w := strings.ToLower(h.For), strings.ToLower(strings.TrimSpace(whom))
	return w != "" && (f == w || strings.HasPrefix(f, w+"/") || strings.HasPrefix(w, f+"/") || f == AtCustomer+"/"+w)
}

// RecordKind says that holds are kept as versions.
func (Hold) RecordKind() Kind { return KindHold }

// RecordKey is the lot and what it is held for.
func (h Hold) RecordKey() string { return h.Lot + " for " + h.For }

// Refs are the lot.
func (h Hold) Refs() []Ref { return []Ref{ToLot(h.Lot)} }

// Document is a numbered document as it was issued: its model, and the hash of
// the bytes that were written.
type Document struct {
	Number   string `json:"number"` // KIND-YEAR-NNNN
	Kind     string `json:"kind"`   // PROPOSAL, ORDER, CARE, STOCK ...
	Title    string `json:"title"`
	On       Date   `json:"on"`
	Renderer string `json:"renderer"` // version of the program that rendered it
	Facts    string `json:"facts"`    // version of the facts that it was judged by
	Head     string `json:"head"`     // the book's head hash it was made from
	File     string `json:"file"`     // suggested file name
	SHA256   string `json:"sha256"`   // of Bytes; empty: it has no workbook
	// PDFSHA256 is the hash of PDF; empty: it has none, or was issued without.
	PDFSHA256 string          `json:"pdf_sha256,omitempty"`
	Model     json.RawMessage `json:"model"` // canonical JSON of the model
	Bytes     []byte          `json:"-"`     // the workbook; kept beside the record
	PDF       []byte          `json:"-"`     // the drawing; kept beside the record
}

// RecordKind says that documents are journal facts.
func (Document) RecordKind() Kind { return KindDocument }

// RecordKey is the document's number.
func (d Document) RecordKey() string { return d.Number }

// Refs are its files.
func (d Document) Refs() []Ref { return named(ToFile(d.SHA256), ToFile(d.PDFSHA256)) }

// Files are its workbook and its drawing, those that it has.
func (d Document) Files() []File {
	return kept(File{d.SHA256, d.Bytes}, File{d.PDFSHA256, d.PDF})
}

// DocumentNumber is KIND-YEAR-NNNN.
func DocumentNumber(kind string, year, n int) string { return fmt.Sprintf("%s-%d-%04d", kind, year, n) }
