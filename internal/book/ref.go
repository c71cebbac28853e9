package book

import "strings"

// RefKind says what a Ref names.
type RefKind string

// The kinds of refs.
const (
	RefLot    RefKind = "lot"
	RefParcel RefKind = "parcel"
	RefParty  RefKind = "party"
	RefPaper  RefKind = "paper" // a memo, an order, a sale, a work ticket, a document, by its number
	RefPiece  RefKind = "piece"
	RefLine   RefKind = "line"
	RefFile   RefKind = "file" // by its SHA-256
)

// Ref names something that a record speaks of. A store finds records by it.
type Ref struct {
	Kind RefKind
	Name string // compared without case
}

// ToLot refers to a lot by its code.
func ToLot(code string) Ref { return Ref{RefLot, code} }

// ToParcel refers to a parcel by its code.
func ToParcel(code string) Ref { return Ref{RefParcel, code} }

// ToParty refers to a vendor, cutter, setter, customer or laboratory by name.
func ToParty(name string) Ref { return Ref{RefParty, name} }

// ToPaper refers to a paper by its number.
func ToPaper(number string) Ref { return Ref{RefPaper, number} }

// ToPiece refers to a finished piece.
func ToPiece(id string) Ref { return Ref{RefPiece, id} }

// ToLine refers to a line by its name.
func ToLine(name string) Ref { return Ref{RefLine, name} }

// ToFile refers to a file by the hash of its bytes.
func ToFile(sha256 string) Ref { return Ref{RefFile, sha256} }

// Same reports whether two refs name the same thing.
func (r Ref) Same(x Ref) bool { return r.Kind == x.Kind && strings.EqualFold(r.Name, x.Name) }

// named returns the refs that have a name.
func named(refs ...Ref) []Ref {
	out := refs[:0]
	for _, r := range refs {
		if r.Name != "" {
			out = append(out, r)
		}
	}
	return out
}

// withLots adds the lots that stand on a paper.
func withLots(refs []Ref, lots []SuppliedLot) []Ref {
	for _, l := range lots {
		refs = append(refs, ToLot(l.Lot))
	}
	return refs
}

// partyOf is the name of whose a lot is; empty for the dealer's own.
func (o Owner) partyOf() string {
	_, name, _ := strings.Cut(string(o), "/")
	return name
}
