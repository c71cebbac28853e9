package answer

import (
	"strings"

	"lotpaper/internal/book"
)

// Addressee is what a paper says of the party that it is written to, as the book
// knew it on the paper's day.
type Addressee struct {
	Address   []string `json:"address"`
	TaxNumber string   `json:"tax_number"`
	Email     string   `json:"email"`
	Tier      string   `json:"tier"`     // of the prices that it is asked
	Language  string   `json:"language"` // that its papers should have: en, pt ...
}

// AddresseeOf is what a paper says of a party.
func AddresseeOf(p book.Party) Addressee {
	out := Addressee{Address: []string{}, TaxNumber: p.TaxNumber, Email: p.Email, Tier: p.Tier, Language: p.Language}
	if p.Address != "" {
		for _, line := range strings.FieldsFunc(p.Address, func(r rune) bool { return r == '\n' || r == ';' }) {
			out.Address = append(out.Address, strings.TrimSpace(line))
		}
	}
	return out
}

// to is a party's name over its address.
func (a Addressee) to(name string) string {
	return strings.Join(append([]string{name}, a.Address...), "\n")
}

// particulars are what else a paper says of its party, with their labels.
func (a Addressee) particulars() [][2]string {
	return withValue([][2]string{{"Tax number", a.TaxNumber}, {"Email", a.Email}, {"Prices", a.Tier},
		{"Language", a.Language}})
}

// line is all of it in one line behind the party's name.
func (a Addressee) line(name string) string {
	out := []string{strings.Join(append([]string{name}, a.Address...), ", ")}
	for _, p := range a.particulars() {
		out = append(out, strings.ToLower(p[0])+" "+p[1])
	}
	return strings.Join(out, "; ")
}
