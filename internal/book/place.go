package book

import (
	"strings"

	"lotpaper/internal/fault"
)

// Place says where pieces are (safe, safe/OFFICE, paper/NUMBER, cutter/NAME,
// setter/NAME, memo/NAME, piece/ID) or names the boundary they came in or went
// out through.
type Place string

// The places without a name of their own.
const (
	Safe           Place = "safe"
	LossCutting    Place = "loss/cutting"
	LossBreakage   Place = "loss/breakage"
	LossCount      Place = "loss/count"
	LossWeighing   Place = "loss/weighing"
	MadeCutting    Place = "made/cutting"
	MadePiece      Place = "made/piece"
	ChargeVariance Place = "charge/variance"
)

// Kinds of places with a name: PlaceOf("cutter", "Okoro").
const (
	AtOffice   = "safe"  // the safe of another office
	AtPaper    = "paper" // on a memo, an order, a work ticket or a transfer, by its number
	AtVendor   = "vendor"
	AtCustomer = "customer"
	AtCutter   = "cutter"
	AtSetter   = "setter"
	AtMemo     = "memo"
	AtPiece    = "piece"
	AtCharge   = "charge"
)

// PlaceOf names a place or boundary of a kind.
func PlaceOf(kind, name string) Place { return Place(kind + "/" + name) }

var (
	realKinds     = []string{AtOffice, AtPaper, AtCutter, AtSetter, AtMemo, AtPiece}
	boundaryKinds = []string{AtVendor, AtCustomer, AtCharge}
	boundaries    = []Place{LossCutting, LossBreakage, LossCount, LossWeighing, MadeCutting, MadePiece}
)

// IsReal reports whether pieces can lie there: only such balances obey the law
// that nothing falls below zero.
func (p Place) IsReal() bool {
	kind, _, named := strings.Cut(string(p), "/")
	if p == Safe {
		return true
	}
	if !named {
		return false
	}
	for _, k := range realKinds {
		if kind == k {
			return true
		}
	}
	return false
}

// Name is the part after the slash.
func (p Place) Name() string {
	_, name, _ := strings.Cut(string(p), "/")
	return name
}

// Kind is the part before the slash.
func (p Place) Kind() string {
	kind, _, _ := strings.Cut(string(p), "/")
	return kind
}

// Words names a place where stones lie as a person does: the safe of an office by
// the office.
func (p Place) Words() string {
	if p.Kind() == AtOffice && p.Name() != "" {
		return p.Name()
	}
	return string(p)
}

// ParsePlace reads a place or boundary.
func ParsePlace(s string) (Place, *fault.Fault) {
	p := Place(strings.TrimSpace(s))
	if p == Safe {
		return p, nil
	}
	for _, b := range boundaries {
		if p == b {
			return p, nil
		}
	}
	kind, name, named := strings.Cut(string(p), "/")
	if named && CheckName("a name", name) == nil {
		for _, k := range append(append([]string{}, realKinds...), boundaryKinds...) {
			if kind == k {
				return p, nil
			}
		}
	}
	return "", fault.New(fault.Invalid, "place-unknown", "\""+s+"\" is no place of the book",
		"write safe, safe/OFFICE, paper/NUMBER or piece/NAME")
}

// checkName reports whether a name is 1 to 80 characters, none of them a
// control character, without blanks at its ends.
func checkName(name string) bool {
	if name == "" || len(name) > 80 || strings.TrimSpace(name) != name {
		return false
	}
	return strings.IndexFunc(name, func(c rune) bool { return c < 0x20 || c == 0x7f }) < 0
}

// CheckName returns a fault when name cannot be a party's or a line's name:
// these stand before or after a slash in places and papers.
func CheckName(what, name string) *fault.Fault {
	if checkName(name) && !strings.Contains(name, "/") {
		return nil
	}
	return fault.New(fault.Invalid, "name-bad", what+" must be 1 to 80 characters without a slash or blanks at its "+
		"ends, "+
		"but is \""+name+"\"", "give a plain name")
}

// CheckFreeName returns a fault when name cannot be the name of a design or a
// position.
func CheckFreeName(what, name string) *fault.Fault {
	if checkName(name) {
		return nil
	}
	return fault.New(fault.Invalid, "name-bad", what+
		" must be 1 to 80 characters without blanks at its ends, but is \""+
		name+"\"", "give a shorter name on one line")
}
