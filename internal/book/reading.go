package book

import (
	"fmt"
	"strings"

	"lotpaper/internal/num"
)

// Reading is one bench test on one stone, as it was written down. Numbers keep
// the digits of the instrument as text.
type Reading struct {
	Number int64  `json:"number"` // in order of the book
	Lot    string `json:"lot"`
	Stone  string `json:"stone,omitempty"` // tag inside the lot; empty for a lot of one
	Drawn  string `json:"drawn"`           // random or picked
	// ri, ri-spot, birefringence, optic, sg, hydrostatic, lw, sw, pleochroism, filter, spectrum, magnification ...
	Test       string    `json:"test"`
	Low        string    `json:"low,omitempty"`
	High       string    `json:"high,omitempty"`
	PlusMinus  string    `json:"plus_minus,omitempty"`
	Result     string    `json:"result,omitempty"`
	Strength   string    `json:"strength,omitempty"`
	Color      string    `json:"color,omitempty"`
	Air        num.Carat `json:"air,omitempty"`
	Water      num.Carat `json:"water,omitempty"`
	WaterC     string    `json:"water_c,omitempty"`
	Resolution string    `json:"balance_ct,omitempty"`
	Observer   string    `json:"observer,omitempty"`
	On         Date      `json:"on"`
	Note       string    `json:"note,omitempty"`
}

// RecordKind says that readings are journal facts.
func (Reading) RecordKind() Kind { return KindReading }

// RecordKey is the reading's number: R17.
func (r Reading) RecordKey() string { return fmt.Sprintf("R%d", r.Number) }

// Refs are the lot.
func (r Reading) Refs() []Ref { return []Ref{ToLot(r.Lot)} }

// Results are the things that a result names, with ; between them: features, or
// the lines of a spectrum, which may have a comma instead.
func (r Reading) Results() []string {
	list := r.Result
	if r.Test == "spectrum" {
		list = strings.ReplaceAll(list, ",", ";")
	}
	var out []string
	for part := range strings.SplitSeq(list, ";") {
		if part = strings.TrimSpace(part); part != "" {
			out = append(out, part)
		}
	}
	return out
}

// Void says that a reading counts no longer: it was of another stone, or
// mistyped. The reading stays in the book.
type Void struct {
	Reading string `json:"reading"` // its key: R17
	Lot     string `json:"lot"`
	Reason  string `json:"reason"`
	Who     string `json:"who,omitempty"`
	On      Date   `json:"on"`
}

// RecordKind says that voids are journal facts.
func (Void) RecordKind() Kind { return KindVoid }

// RecordKey is the key of the reading.
func (v Void) RecordKey() string { return v.Reading }

// Refs are the lot of the reading.
func (v Void) Refs() []Ref { return []Ref{ToLot(v.Lot)} }

// Report is a laboratory's report on one stone.
type Report struct {
	Lab       string         `json:"lab"`
	Number    string         `json:"number"`
	On        Date           `json:"on"`
	Lot       string         `json:"lot"`
	Weight    num.Carat      `json:"weight"`
	Length    num.Millimetre `json:"length"`
	Width     num.Millimetre `json:"width"`
	Depth     num.Millimetre `json:"depth"`
	Species   string         `json:"species"`
	Variety   string         `json:"variety,omitempty"`
	Nature    string         `json:"nature,omitempty"`
	Treatment string         `json:"treatment,omitempty"`
	Origin    string         `json:"origin,omitempty"`
	Note      string         `json:"note,omitempty"`
	File      string         `json:"file,omitempty"`   // its name; empty: the report itself is not kept
	SHA256    string         `json:"sha256,omitempty"` // of Bytes
	Bytes     []byte         `json:"-"`                // the file; kept beside the record
}

// RecordKind says that reports are journal facts.
func (Report) RecordKind() Kind { return KindReport }

// RecordKey is laboratory and number.
func (r Report) RecordKey() string { return r.Lab + "/" + r.Number }

// Refs are the lot, the laboratory and the file.
func (r Report) Refs() []Ref { return named(ToLot(r.Lot), ToParty(r.Lab), ToFile(r.SHA256)) }

// Files is the report's file.
func (r Report) Files() []File { return kept(File{r.SHA256, r.Bytes}) }
