package desk

import (
	"context"
	"errors"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/store"
)

// Parties are the parties of a book by every name that they have had. A record
// keeps the name that it was written with; whoever groups or looks up by a party
// asks here.
type Parties struct {
	records map[string]book.Party // by lower-case name: all that the book says of it
	aliases map[string]string     // lower-case name -> the name that it stands for
	former  map[string][]string   // lower-case name -> the names that lead to it, in the order of the book
}

// ReadParties reads the parties and the aliases of a book.
func ReadParties(ctx context.Context, tx store.ReadTx) (*Parties, error) {
	p := &Parties{records: map[string]book.Party{}, aliases: map[string]string{}, former: map[string][]string{}}
	old := map[string]book.Party{} // of a book that kept a party once for each role
	err := store.Each(ctx, tx, store.RowFilter{}, func(r book.Party) error {
		key := strings.ToLower(r.Name)
		if r.Role != "" {
			old[key] = book.Party{Name: r.Name}.Filled(old[key]).Filled(r)
			return nil
		}
		p.records[key] = r
		return nil
	})
	if err != nil {
		return nil, err
	}
	for key, r := range old {
		if _, newer := p.records[key]; !newer {
			p.records[key] = r
		}
	}
	var names []string
	err = store.Each(ctx, tx, store.RowFilter{}, func(a book.Alias) error {
		if a.Into != "" {
			p.aliases[strings.ToLower(a.Name)] = a.Into
			names = append(names, a.Name)
		}
		return nil
	})
	for _, name := range names {
		key := strings.ToLower(p.Of(name))
		p.former[key] = append(p.former[key], name)
	}
	return p, err
}

// Of is the name that a party has today: what an alias leads to, written as its
// record writes it. A name that the book says nothing of stays as it is.
func (p *Parties) Of(name string) string {
	for range p.aliases { // an alias never leads back, and none is followed twice
		into, found := p.aliases[strings.ToLower(name)]
		if !found {
			break
		}
		name = into
	}
	if r, known := p.records[strings.ToLower(name)]; known {
		return r.Name
	}
	return name
}

// Same reports whether two names are one party.
func (p *Parties) Same(a, b string) bool { return strings.EqualFold(p.Of(a), p.Of(b)) }

// Names are every name of a party, the one that it has today first.
func (p *Parties) Names(name string) []string {
	name = p.Of(name)
	return append([]string{name}, p.former[strings.ToLower(name)]...)
}

// Record is all that the book says of a party, by any of its names.
func (p *Parties) Record(name string) book.Party {
	name = p.Of(name)
	if r, known := p.records[strings.ToLower(name)]; known {
		return r
	}
	return book.Party{Name: name}
}

// PartyOf is the party that a new paper is written to: name, or what it stands
// for, spelled as the book spells it. What cannot be a party's name is a fault;
// what says who it is, such as "a customer".
func PartyOf(ctx context.Context, tx store.ReadTx, what, name string) (string, error) {
	if f := book.CheckName(what, name); f != nil {
		return "", f
	}
	p, err := ReadParties(ctx, tx)
	if err != nil {
		return "", err
	}
	name, _, err = spelled(ctx, tx, name)
	return p.Of(name), err
}

// At is the party that has what lies at a place, by the name that it has today;
// empty for the dealer's own places.
func (p *Parties) At(ctx context.Context, tx store.ReadTx, place book.Place) (string, error) {
	switch place.Kind() {
	case book.AtMemo, book.AtCutter, book.AtSetter:
		return p.Of(place.Name()), nil
	case book.AtPaper:
		for _, kind := range paperKinds {
			row, err := tx.Row(ctx, kind, place.Name())
			if errors.Is(err, store.ErrNotFound) {
				continue
			}
			if err != nil {
				return "", err
			}
			r, err := store.Decode(kind, row.Key, row.Doc)
			if err != nil {
				return "", err
			}
			paper, _ := PaperOf(r)
			return p.Of(paper.Party), nil
		}
	}
	return "", nil
}

// OfParty returns every record of T's kind that speaks of a party by any of its
// names.
func OfParty[T book.Record](ctx context.Context, tx store.ReadTx, p *Parties, name string) ([]T, error) {
	out := []T{}
	for _, n := range p.Names(name) {
		list, err := store.Of[T](ctx, tx, book.ToParty(n))
		if err != nil {
			return nil, err
		}
		out = append(out, list...)
	}
	return out, nil
}

// partyKinds are the kinds of records that name a party.
var partyKinds = []book.Kind{book.KindParty, book.KindAlias, book.KindParcel, book.KindOffer, book.KindMemo,
	book.KindOrder, book.KindBid, book.KindTicket, book.KindBatch, book.KindSale, book.KindCredit, book.KindCharge,
	book.KindClaim,
	book.KindPayment, book.KindWork, book.KindReport, book.KindLot}

// spelled is a name as the book first wrote it, and whether the book knows it as a
// party's: by its record, an alias, or anything that names it.
func spelled(ctx context.Context, tx store.ReadTx, name string) (string, bool, error) {
	for _, kind := range partyKinds {
		rows, err := tx.Rows(ctx, kind, store.RowFilter{Ref: book.ToParty(name), Limit: 1})
		if err != nil || len(rows) == 0 {
			if err != nil {
				return "", false, err
			}
			continue
		}
		r, err := store.Decode(kind, rows[0].Key, rows[0].Doc)
		if err != nil {
			return "", false, err
		}
		for _, ref := range r.Refs() {
			if ref.Same(book.ToParty(name)) {
				return ref.Name, true, nil
			}
		}
		return name, true, nil // an older version names it
	}
	return name, false, nil
}

// PartyNames are the names of all parties that the book's papers and records
// name, each by the name that it has today, in the order in which the kinds of
// records first name them.
func (p *Parties) PartyNames(ctx context.Context, tx store.ReadTx) ([]string, error) {
	var out []string
	seen := map[string]bool{"": true}
	add := func(names ...string) {
		for _, name := range names {
			name = p.Of(name)
			if key := strings.ToLower(name); !seen[key] {
				seen[key] = true
				out = append(out, name)
			}
		}
	}
	for _, kind := range partyKinds {
		filter := store.RowFilter{Limit: pageLots}
		for {
			rows, err := tx.Rows(ctx, kind, filter)
			if err != nil {
				return nil, err
			}
			for _, row := range rows {
				r, err := store.Decode(kind, row.Key, row.Doc)
				if err != nil {
					return nil, err
				}
				for _, ref := range r.Refs() {
					if ref.Kind == book.RefParty {
						add(ref.Name)
					}
				}
			}
			if len(rows) < filter.Limit {
				break
			}
			filter.After = rows[len(rows)-1].First
		}
	}
	return out, nil
}

// PartyNamed is the name that a party has today, by any of its names; a name
// that the book does not know is a fault that tells the nearest.
func PartyNamed(ctx context.Context, tx store.ReadTx, p *Parties, name string) (string, error) {
	as, known, err := spelled(ctx, tx, name)
	if err != nil || known {
		return p.Of(as), err
	}
	all, err := p.PartyNames(ctx, tx)
	if err != nil {
		return "", err
	}
	f := fault.New(fault.NotFound, "party-unknown", "there is no party \""+name+"\" in this book", "list them").
		AtRef(name).Do("party", "list")
	if near := fault.DidYouMean(name, all); near != "" {
		f.Mend, f.Action = near, nil
	}
	return "", f
}
