package costing

import (
	"lotpaper/internal/book"
	"lotpaper/internal/facts"
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
	"strings"
)

// defaultSource starts the source of a rate that is not the book's own.
const defaultSource = "default, not the book's own: "

// DefaultSource returns where a default rate was published, by the source that
// the rate names; ok is false for a rate of the book.
func DefaultSource(source string) (published string, ok bool) {
	return strings.CutPrefix(source, defaultSource)
}

// DefaultRates are the published percentages that stand in where the book has
// no rate of its own; each says so in its source and its note. Append them to a card: they
// carry no date, so that any rate of the book of the same name counts instead.
func DefaultRates() []book.Rate {
	var out []book.Rate
	for _, d := range facts.CostingRates() {
		note := "default (" + d.Basis
		if d.On != "" {
			note += ", in force from " + d.On
		}
		out = append(out, book.Rate{Kind: d.Kind, Name: d.Name, Value: num.MustDec(d.Value), Per: 1, Unit: d.Unit,
			Source: defaultSource + d.Source, Note: note + "): " + d.When})
	}
	return out
}

// DefaultSwing is the published range of a default rate; ok is false when the
// path has none.
func DefaultSwing(path string) (s Swing, ok bool) {
	for _, d := range facts.CostingRates() {
		if d.Kind+"/"+d.Name == path {
			return Swing{Key: formula.Key(path), Path: path, Name: d.Kind + " " + d.Name, Low: num.MustDec(d.Low),
				Base: num.MustDec(d.Value), High: num.MustDec(d.High), Unit: d.Unit}, true
		}
	}
	return Swing{}, false
}
