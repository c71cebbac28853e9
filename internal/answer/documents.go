package answer

import (
	"encoding/json"
	"fmt"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	paper "lotpaper/internal/page"
)

// Head stands at the top of every document.
type Head struct {
	Number   string         `json:"number"` // KIND-YEAR-NNNN; empty for a list that is not issued
	Title    string         `json:"title"`
	On       book.Date      `json:"on"`
	Dealer   string         `json:"dealer"`        // whose book it is
	Facts    string         `json:"facts_version"` // facts that the stones were judged by
	Book     string         `json:"book_head"`     // head hash of the book it was made from
	Currency num.Currency   `json:"currency"`
	Carats   num.CaratRule  `json:"carat_rule"` // how a scale reading is stated
	House    book.House     `json:"-"`          // what it says of itself
	Logo     *paper.Picture `json:"-"`          // nil: none
}

// Facet is one facet of a stone: what it is held to be, and on what basis.
// An empty value is unknown.
type Facet struct {
	Value string     `json:"value"`
	Basis book.Basis `json:"basis"`
}

// Words says the facet with its basis, as a document must: "heated (stated by
// the vendor)", "not known".
func (f Facet) Words() string {
	switch {
	case f.Value == "":
		return "not known"
	case f.Basis == book.Stated:
		return f.Value + " (stated, not tested)"
	case f.Basis == book.Tested:
		return f.Value + " (tested)"
	case f.Basis == book.LabReported:
		return f.Value + " (laboratory report)"
	}
	return f.Value + " (basis not known)"
}

// encode is the canonical JSON of a model: its schema first.
func encode(schema string, model any) ([]byte, error) {
	raw, err := json.Marshal(model)
	if err != nil {
		return nil, fmt.Errorf("write %s: %w", schema, err)
	}
	return append([]byte(`{"schema":"`+schema+`",`), raw[1:]...), nil
}
