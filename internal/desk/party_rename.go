package desk

import (
	"context"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// PartyRename asks to call a party by a new name.
type PartyRename struct {
	Write
	From string
	Into string
}

// PartyRename calls a party by a new name. What was written keeps the old one,
// which stands for the new one from now on. A name that another party has is
// refused: that would be a merge.
func (desk *Desk) PartyRename(ctx context.Context, r PartyRename) (answer.PartyMerged, error) {
	var out answer.PartyMerged
	if f := book.CheckName("a party", r.Into); f != nil {
		return out, f
	}
	err := desk.changeParty(ctx, r.Write, r.From, func(tx store.Tx, s Stamp, parties *Parties, from string) error {
		_, used, err := spelled(ctx, tx, r.Into)
		switch {
		case err != nil:
			return err
		case from == r.Into:
			return fault.New(fault.Refused, "party-same", r.From+" is called "+r.Into+" already", "check the names").
				AtRef(r.Into)
		case used && !parties.Same(from, r.Into):
			return fault.New(fault.Refused, "party-name-used", r.Into+" is another party of this book",
				"if they are one party, merge them").AtRef(r.Into).Do("party", "merge", r.From, r.Into)
		}
		out, err = parties.alias(ctx, tx, s.Entry(ledger.Record, from+" is called "+r.Into), from, r.Into, false)
		return err
	})
	return out, err
}

// PartyMerge asks to make one party of two.
type PartyMerge struct {
	Write
	From string
	Into string
}

// PartyMerge makes one party of two, by the name of the second: it keeps its own
// particulars, and takes from the first what it does not say.
func (desk *Desk) PartyMerge(ctx context.Context, r PartyMerge) (answer.PartyMerged, error) {
	var out answer.PartyMerged
	err := desk.changeParty(ctx, r.Write, r.From, func(tx store.Tx, s Stamp, parties *Parties, from string) error {
		into, err := PartyNamed(ctx, tx, parties, r.Into)
		if err != nil {
			return err
		}
		if strings.EqualFold(from, into) {
			return fault.New(fault.Refused, "party-same", r.From+" and "+r.Into+" are one party already: "+into,
				"check the names").AtRef(into)
		}
		out, err = parties.alias(ctx, tx, s.Entry(ledger.Record, from+" is "+into), from, into, true)
		return err
	})
	return out, err
}

// changeParty runs work in one update, with all parties and the name that the book has
// of one of them.
func (desk *Desk) changeParty(ctx context.Context, w Write, name string,
	work func(tx store.Tx, s Stamp, parties *Parties, party string) error) error {
	return desk.Update(ctx, w, func(tx store.Tx, s Stamp) error {
		parties, err := ReadParties(ctx, tx)
		if err != nil {
			return err
		}
		party, err := PartyNamed(ctx, tx, parties, name)
		if err != nil {
			return err
		}
		return work(tx, s, parties, party)
	})
}

// alias posts that from stands for into. A name that from itself once had is its
// own again. The party's particulars are written under the name that it has now.
func (p *Parties) alias(ctx context.Context, tx store.Tx, e ledger.Entry, from, into string,
	merge bool) (answer.PartyMerged, error) {
	out := answer.PartyMerged{From: from, Into: into}
	if _, leads := p.aliases[strings.ToLower(into)]; leads { // a name of its own again
		e.Records = append(e.Records, book.Alias{Name: into, On: e.PostedOn})
	}
	if !strings.EqualFold(from, into) {
		e.Records = append(e.Records, book.Alias{Name: from, Into: into, On: e.PostedOn})
	}
	now := p.Record(from)
	if now.Name = into; merge {
		now = p.Record(into).Filled(now)
	}
	if _, known := p.records[strings.ToLower(from)]; known || strings.EqualFold(from, into) {
		e.Records = append(e.Records, now)
	}
	for _, kind := range partyKinds {
		rows, err := tx.Rows(ctx, kind, store.RowFilter{Ref: book.ToParty(from)})
		if err != nil {
			return out, err
		}
		if kind != book.KindParty && kind != book.KindAlias {
			out.Kept += len(rows)
		}
	}
	err := tx.Post(ctx, &e)
	out.Entry = e.Code
	return out, err
}
