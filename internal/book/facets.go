package book

import (
	"cmp"
	"strings"

	"lotpaper/internal/fault"
)

// Basis says how a facet of a lot is known.
type Basis string

// The bases, weakest first.
const (
	Unknown     Basis = "" // written "unknown"
	Stated      Basis = "stated"
	Tested      Basis = "tested"
	LabReported Basis = "lab-reported"
)

// MarshalText writes the word, "unknown" for no basis at all.
func (b Basis) MarshalText() ([]byte, error) {
	if b == Unknown {
		return []byte("unknown"), nil
	}
	return []byte(b), nil
}

// UnmarshalText reads what MarshalText wrote.
func (b *Basis) UnmarshalText(text []byte) error {
	if *b = Basis(text); *b == "unknown" {
		*b = Unknown
	}
	return nil
}

// Facet is one facet of a lot: what it is held to be, and on what basis.
type Facet struct {
	Value string `json:"value"`
	Basis Basis  `json:"basis"`
}

// StatedFacet is what a vendor states; an empty value is unknown.
func StatedFacet(value string) Facet {
	if value == "" {
		return Facet{}
	}
	return Facet{Value: value, Basis: Stated}
}

// Facets are the four facets that name a stone. Readings can establish the
// species; nature, treatment and origin need a laboratory.
type Facets struct {
	Species   Facet `json:"species"`
	Nature    Facet `json:"nature"`
	Treatment Facet `json:"treatment"`
	Origin    Facet `json:"origin"`
}

// Natures are the words for the nature facet.
var Natures = []string{"natural", "laboratory-grown", "assembled", "imitation"}

// ParseNature reads one of Natures; empty stays empty (unknown).
func ParseNature(s string) (string, *fault.Fault) {
	t := strings.ToLower(strings.TrimSpace(s))
	if t == "" {
		return "", nil
	}
	for _, n := range Natures {
		if t == n {
			return n, nil
		}
	}
	return "", fault.New(fault.Invalid, "nature-unknown", "nature must be one of "+strings.Join(Natures, ", ")+
		", but is \""+s+"\"",
		cmp.Or(fault.DidYouMean(s, Natures), "write one of these words, or leave it empty for unknown"))
}

// Owner says whose a lot is: "own", "memo-in/PARTY" or "customer/PARTY".
type Owner string

// Own is the dealer's own stock.
const Own Owner = "own"

// Kind is the part before the slash: memo-in, customer, or own.
func (o Owner) Kind() string {
	kind, _, _ := strings.Cut(string(o), "/")
	return kind
}

// IsOwn reports whether the lot is the dealer's own: only such lots carry cost.
func (o Owner) IsOwn() bool { return o == Own || o == "" }

// Lender is who lent a lot on memo in; empty for lots that nobody lent.
func (o Owner) Lender() string { return o.named("memo-in/") }

// Customer is whose own stones the lot is, which are only in custody; empty for
// all others.
func (o Owner) Customer() string { return o.named(AtCustomer + "/") }

func (o Owner) named(kind string) string {
	if name, is := strings.CutPrefix(string(o), kind); is {
		return name
	}
	return ""
}

// OfCustomer is the owner of a customer's own stones.
func OfCustomer(name string) Owner { return Owner(AtCustomer + "/" + name) }

// ParseOwner reads an owner; empty is own.
func ParseOwner(s string) (Owner, *fault.Fault) {
	t := strings.TrimSpace(s)
	if t == "" || strings.EqualFold(t, "own") {
		return Own, nil
	}
	kind, name, named := strings.Cut(t, "/")
	kind = strings.ToLower(kind)
	if named && (kind == "memo-in" || kind == "customer") && CheckName("a name", name) == nil {
		return Owner(kind + "/" + name), nil
	}
	return "", fault.New(fault.Invalid, "owner-unknown", "the owner must be own, memo-in/PARTY or customer/PARTY, "+
		"but is \""+
		s+"\"", "write own, or memo-in/ and the lender's name")
}
