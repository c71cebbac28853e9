package desk

import (
	"context"
	"regexp"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// PartySet asks to set particulars of a party, which may be new.
type PartySet struct {
	Write
	Name   string
	Fields []string   // which particulars are set, by the names of answer.PartyFields
	Values book.Party // their values; an empty one is taken away
}

// PartySet sets particulars of a party, all or none; the others stay.
func (desk *Desk) PartySet(ctx context.Context, r PartySet) (answer.PartySet, error) {
	var out answer.PartySet
	if f := book.CheckName("a party", r.Name); f != nil {
		return out, f.AtField("name")
	}
	if len(r.Fields) == 0 {
		return out, fault.New(fault.Usage, "party-nothing", "nothing is set of "+r.Name,
			"say what is set, such as its address or its terms").AtRef(r.Name)
	}
	if l := r.check(); l.Blocks() {
		return out, l
	}
	err := desk.Update(ctx, r.Write, func(tx store.Tx, s Stamp) error {
		parties, err := ReadParties(ctx, tx)
		if err != nil {
			return err
		}
		name, known, err := spelled(ctx, tx, r.Name)
		if err != nil {
			return err
		}
		before := parties.Record(name)
		now := before
		out = answer.PartySet{Party: now.Name, New: !known, Changes: []answer.Change{}}
		for _, f := range answer.PartyFields {
			if !slices.Contains(r.Fields, f.Name) {
				continue
			}
			if f.Copy(&now, r.Values); f.Words(now) != f.Words(before) {
				out.Changes = append(out.Changes, answer.Change{Field: f.Label, Before: f.Words(before),
					Now: f.Words(now)})
			}
		}
		if len(out.Changes) == 0 {
			return fault.New(fault.Refused, "party-same", now.Name+" is so already: nothing changes",
				"see what the book says of it").AtRef(now.Name).Do("party", "show", now.Name)
		}
		e := s.Entry(ledger.Record, "party "+now.Name)
		e.Records = []book.Record{now}
		err = tx.Post(ctx, &e)
		out.Entry = e.Code
		return err
	})
	return out, err
}

var (
	emailForm    = regexp.MustCompile(`^[^\s@<>]+@[^\s@<>]+\.[^\s@<>]+$`)
	languageForm = regexp.MustCompile(`^[a-z]{2,3}(-[A-Z]{2})?$`)
	priceTiers   = []string{"trade", "retail", "memo"}
)

// maxBalance is the coarsest resolution of a balance for stones.
const maxBalance num.Carat = 1000

// check returns what is wrong with the values.
func (r *PartySet) check() fault.List {
	var l fault.List
	v := r.Values
	bad := func(field, what, mend string) {
		l.Add(fault.New(fault.Invalid, "party-"+strings.ReplaceAll(field, "_", "-"), what, mend).AtField(field))
	}
	for _, text := range []struct{ field, value string }{{"address", v.Address}, {"tax_number", v.TaxNumber},
		{"email", v.Email}, {"note", v.Note}} {
		control := func(c rune) bool {
			return c < ' ' && (c != '\n' || text.field == "email" || text.field == "tax_number")
		}
		if len(text.value) > 1000 || strings.ContainsFunc(text.value, control) {
			bad(text.field, "it must be up to 1000 characters of plain text",
				"shorten it, or take the odd characters out")
		}
	}
	if v.Email != "" && !emailForm.MatchString(v.Email) {
		bad("email", "an email address must be written NAME@HOST, but is \""+v.Email+"\"",
			"write it like shop@example.com")
	}
	if v.Language != "" && !languageForm.MatchString(v.Language) {
		bad("language", "a language must be a code of ISO 639, but is \""+v.Language+"\"",
			"write it like en, de or pt-BR")
	}
	if v.Tier != "" && !slices.Contains(priceTiers, v.Tier) {
		bad("tier", "a price tier must be one of "+strings.Join(priceTiers, ", ")+", but is \""+v.Tier+"\"",
			"write one of these words")
	}
	if v.Terms != nil && (*v.Terms < 0 || *v.Terms > 365) {
		bad("terms", "terms must be 0 to 365 days", "give the days from the invoice until it is due; 0 is at once")
	}
	if slices.Contains(r.Fields, "balance") && (v.Balance < 0 || v.Balance > maxBalance) {
		bad("balance", "the resolution of a balance must lie above 0 and up to "+maxBalance.String()+" ct, but is "+
			v.Balance.String(), "give what one step of its display is, e.g. 0.01")
	}
	return l
}
