package answer

import (
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/durability"
	"lotpaper/internal/facts"
	"lotpaper/internal/num"
)

// TradeName is what the trade calls the stones of a lot, without the mineralogist's
// word beside it. What is not natural says so before its name, as prominently (US FTC
// 16 CFR 23.25, 2018).
func TradeName(l book.Lot) string {
	name, _, _ := strings.Cut(l.Called(), " (")
	if n := l.Facets.Nature.Value; n != "" && n != "natural" {
		name = n + " " + name
	}
	return name
}

// Disclosure is what is told of stones beside their name, in words (US FTC 16 CFR
// 23.24 and 23.25, 2018; CIBJO Gemstone Book). Local law comes first.
type Disclosure struct {
	Treatment string // how they were treated, and whether it lasts
	Assumed   bool   // nobody stated a treatment: the material's usual one
	Value     bool   // it affects the value
	Care      string // the special care that it asks for
}

// DisclosureOf is the disclosure of a lot's stones: of a group's name, that of every
// member. Of a name that no facts know it is empty.
func DisclosureOf(l book.Lot) Disclosure {
	var out Disclosure
	named, f := facts.Resolve(l.Name())
	if f != nil {
		return out
	}
	var treatment, care []string
	add := func(to *[]string, words []string) {
		for _, w := range words {
			if !slices.Contains(*to, w) {
				*to = append(*to, w)
			}
		}
	}
	for _, m := range named.Materials {
		d := durability.DisclosureOf(durability.Stone{Material: m, Variety: named.Variety,
			Treatment: l.Facets.Treatment.Value, Nature: l.Facets.Nature.Value})
		out.Assumed, out.Value = out.Assumed || d.Assumed, out.Value || d.Value
		add(&treatment, d.Treatment)
		add(&care, d.Care)
	}
	out.Treatment, out.Care = strings.Join(treatment, "; "), strings.Join(care, " ")
	return out
}

// disclosed says nature and treatment in one line, each with what it rests on: what
// was not stated is said not to be, and is then sold as its material's usual
// treatment.
func (d Disclosure) disclosed(l book.Lot) string {
	nature, treatment := l.Facets.Nature, l.Facets.Treatment
	if treatment.Value != "" && d.Treatment != "" {
		treatment.Value = d.Treatment
	}
	var parts []string
	if nature.Value != "" && treatment.Value != "" && nature.Basis == treatment.Basis {
		parts = append(parts, nature.Value+", "+treatment.Value+basisMark(treatment.Basis))
	} else {
		parts = append(parts, "nature not stated", "treatment not stated")
		if nature.Value != "" {
			parts[0] = nature.Value + basisMark(nature.Basis)
		}
		switch {
		case treatment.Value != "":
			parts[1] = treatment.Value + basisMark(treatment.Basis)
		case d.Treatment != "":
			parts[1] = "no treatment was stated to us, so we call it " + d.Treatment
		}
	}
	if s := l.Facets.Species; s.Basis == book.Tested && s.Value != "" {
		parts = append(parts, "tested as "+s.Value)
	}
	return strings.Join(parts, "; ")
}

// Goods are stones of one lot, or a finished piece with the stones that are in it.
type Goods struct {
	Lot book.Lot
	In  []Within
}

// Within is stones that are in a finished piece.
type Within struct {
	book.Lot
	book.Weighed
}

// disclosed is what is told of goods beside their name: of a piece, its metal and
// each of its stones with count, weight, nature and treatment.
func (g Goods) disclosed(rule num.CaratRule) string {
	if !g.Lot.IsPiece() {
		return DisclosureOf(g.Lot).disclosed(g.Lot)
	}
	var stones []string
	for _, w := range g.In {
		stones = append(stones, fmt.Sprintf("%d %s, %s: %s", w.Pieces, TradeName(w.Lot),
			unbroken(w.Carats.Hundredths(rule).Dec().Fixed(2)+" ct"), DisclosureOf(w.Lot).disclosed(w.Lot)))
	}
	return joined(". ", g.metal(), strings.Join(stones, ". "))
}

// metal is what a piece is made of.
func (g Goods) metal() string {
	j := g.Lot.Jewel
	size, grams := "", ""
	if j.Size != "" {
		size = "size " + j.Size
	}
	if j.Weight != 0 {
		grams = unbroken(j.Weight.String() + " g")
	}
	return joined(", ", j.Metal, size, grams)
}

// care is the special care that goods ask for.
func (g Goods) care() string {
	care := []string{DisclosureOf(g.Lot).Care}
	for _, w := range g.In {
		if c := DisclosureOf(w.Lot).Care; !slices.Contains(care, c) {
			care = append(care, c)
		}
	}
	return joined(" ", care...)
}

// basisMark is what a word rests on, in brackets that stay with it.
func basisMark(b book.Basis) string {
	words := map[book.Basis]string{book.Stated: " (stated)", book.Tested: " (tested)",
		book.LabReported: " (laboratory report)"}
	return unbroken(words[b])
}
