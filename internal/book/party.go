package book

import (
	"cmp"
	"slices"
	"strings"

	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// Role is what a party does for the dealer.
type Role string

// The roles.
const (
	Vendor     Role = "vendor"
	Cutter     Role = "cutter"
	Setter     Role = "setter"
	Goldsmith  Role = "goldsmith"
	Laboratory Role = "laboratory"
	Customer   Role = "customer"
	Lender     Role = "lender"
	Broker     Role = "broker"
)

// Roles lists the roles.
var Roles = []Role{Vendor, Cutter, Setter, Goldsmith, Laboratory, Customer, Lender, Broker}

// ParseRole reads a role.
func ParseRole(s string) (Role, *fault.Fault) {
	r := Role(strings.ToLower(strings.TrimSpace(s)))
	if slices.Contains(Roles, r) {
		return r, nil
	}
	words := make([]string, len(Roles))
	for i, k := range Roles {
		words[i] = string(k)
	}
	return "", fault.New(fault.Invalid, "role-unknown", "a role must be one of "+strings.Join(words, ", ")+
		", but is \""+s+"\"", cmp.Or(fault.DidYouMean(s, words), "write one of these words"))
}

// Party is someone the dealer deals with. One name is one party, whatever it
// does for him. Books of schema 4 and older may hold a party once for each role:
// such a record has a Role, and none of the fields after the note.
type Party struct {
	Name      string       `json:"name"`
	Role      string       `json:"role,omitempty"` // of an old record
	Note      string       `json:"note,omitempty"`
	Roles     []Role       `json:"roles,omitempty"`
	Address   string       `json:"address,omitempty"` // lines with a line feed between them
	TaxNumber string       `json:"tax_number,omitempty"`
	Email     string       `json:"email,omitempty"`
	Terms     *int64       `json:"terms,omitempty"`      // days from the invoice until it is due; nil: not agreed
	Currency  num.Currency `json:"currency,omitempty"`   // of its invoices
	Tier      string       `json:"tier,omitempty"`       // trade or retail: the price that it is asked
	Language  string       `json:"language,omitempty"`   // of its papers: en, pt, de ...
	Balance   num.Carat    `json:"balance_ct,omitempty"` // resolution of its balance; 0: not known
}

// RecordKind says that parties are kept as versions.
func (Party) RecordKind() Kind { return KindParty }

// RecordKey is the name, behind the role in an old record.
func (p Party) RecordKey() string {
	if p.Role != "" {
		return p.Role + "/" + p.Name
	}
	return p.Name
}

// Refs are the party's name, whatever its roles.
func (p Party) Refs() []Ref { return []Ref{ToParty(p.Name)} }

// Filled is the party with what it does not say taken from another record of
// the same party, and the roles of both.
func (p Party) Filled(from Party) Party {
	p.Note = cmp.Or(p.Note, from.Note)
	p.Address, p.TaxNumber = cmp.Or(p.Address, from.Address), cmp.Or(p.TaxNumber, from.TaxNumber)
	p.Email, p.Terms = cmp.Or(p.Email, from.Email), cmp.Or(p.Terms, from.Terms)
	p.Currency, p.Tier = cmp.Or(p.Currency, from.Currency), cmp.Or(p.Tier, from.Tier)
	p.Language, p.Balance = cmp.Or(p.Language, from.Language), cmp.Or(p.Balance, from.Balance)
	p.Roles = slices.Clone(p.Roles)
	p.Act(append([]Role{Role(from.Role)}, from.Roles...)...)
	return p
}

// Act adds roles that the party did not have.
func (p *Party) Act(roles ...Role) {
	for _, r := range roles {
		if r != "" && !slices.Contains(p.Roles, r) {
			p.Roles = append(p.Roles, r)
		}
	}
}

// Alias says that a name stands for another party: the party was renamed, or
// two names were one party all along. Postings and papers keep the name that
// they were written with, and every question follows the alias. The newest of a
// name counts; one that leads nowhere makes the name a party of its own again.
type Alias struct {
	Name string `json:"name"`
	Into string `json:"into,omitempty"`
	On   Date   `json:"on"`
}

// RecordKind says that aliases are kept as versions.
func (Alias) RecordKind() Kind { return KindAlias }

// RecordKey is the name that stands for another.
func (a Alias) RecordKey() string { return a.Name }

// Refs are both names.
func (a Alias) Refs() []Ref { return named(ToParty(a.Name), ToParty(a.Into)) }
