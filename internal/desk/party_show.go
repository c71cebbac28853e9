package desk

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// PartyList asks for all parties.
type PartyList struct{}

// PartyList returns the parties that the book knows, with what they have now.
func (desk *Desk) PartyList(ctx context.Context, _ PartyList) (answer.Parties, error) {
	out := answer.Parties{Parties: []answer.Party{}}
	err := desk.View(ctx, func(tx store.ReadTx) (err error) {
		if out.Head, err = desk.ListHead(ctx, tx, "Parties"); err != nil {
			return err
		}
		parties, err := ReadParties(ctx, tx)
		if err != nil {
			return err
		}
		names, err := parties.PartyNames(ctx, tx)
		if err != nil {
			return err
		}
		for _, name := range names {
			p, err := parties.show(ctx, tx, name)
			if err != nil {
				return err
			}
			out.Parties = append(out.Parties, p.Party)
		}
		return nil
	})
	return out, err
}

// PartyShow asks for one party, by any of its names.
type PartyShow struct{ Name string }

// PartyShow returns one party: what the book says of it, its papers, and what it
// has of the stock now.
func (desk *Desk) PartyShow(ctx context.Context, r PartyShow) (answer.PartyShow, error) {
	var out answer.PartyShow
	err := desk.View(ctx, func(tx store.ReadTx) error {
		parties, err := ReadParties(ctx, tx)
		if err != nil {
			return err
		}
		name, err := PartyNamed(ctx, tx, parties, r.Name)
		if err != nil {
			return err
		}
		out, err = parties.show(ctx, tx, name)
		return err
	})
	return out, err
}

// show is a party with its papers and what it has.
func (p *Parties) show(ctx context.Context, tx store.ReadTx, name string) (answer.PartyShow, error) {
	zero := num.Zero(tx.Meta().Currency)
	out := answer.PartyShow{Party: answer.Party{Party: p.Record(name), Cost: zero}, Papers: []answer.PartyPaper{},
		Lots: []answer.StockLot{}}
	names := p.Names(name)
	out.Former = answer.List(names[1:])
	papers := partyPapers{out: &out}
	for _, n := range names {
		if err := papers.read(ctx, tx, n); err != nil {
			return out, err
		}
	}
	slices.SortStableFunc(out.Papers, func(a, b answer.PartyPaper) int { return cmp.Compare(a.On, b.On) })
	err := StockFilter{Party: name}.Each(ctx, tx, func(s answer.StockLot) error {
		out.Pieces += s.Pieces
		out.Carats += s.Carats
		out.Cost = out.Cost.Add(s.Cost)
		out.Lots = append(out.Lots, s)
		return nil
	})
	return out, err
}

// partyPapers collects what names a party.
type partyPapers struct{ out *answer.PartyShow }

func (p partyPapers) add(role book.Role, paper answer.PartyPaper) {
	p.out.Act(role)
	p.out.Papers = append(p.out.Papers, paper)
}

// read adds the papers that are written to one name.
func (p partyPapers) read(ctx context.Context, tx store.ReadTx, name string) error {
	reversed, err := tx.Reversals(ctx)
	if err != nil {
		return err
	}
	err = EachPaper(ctx, tx, store.RowFilter{Ref: book.ToParty(name)}, func(x Paper) error {
		held, err := OnPaper(ctx, tx, x)
		if err != nil {
			return err
		}
		state := answer.StateOf(x.Void, len(held))
		if x.Draft {
			state = "draft"
		}
		p.add(paperRoles[x.Kind], answer.PartyPaper{Number: x.Number, Kind: string(x.Kind), Name: x.Party, On: x.On,
			Due: x.Due, State: state})
		return nil
	})
	for _, kind := range []book.Kind{book.KindParcel, book.KindOffer, book.KindSale, book.KindCredit, book.KindCharge,
		book.KindClaim, book.KindPayment, book.KindWork, book.KindReport} {
		if err != nil {
			return err
		}
		err = p.readKind(ctx, tx, kind, name, reversed)
	}
	return err
}

// paperRoles are what a party does that has a paper of a kind.
var paperRoles = map[book.Kind]book.Role{book.KindMemo: book.Customer, book.KindOrder: book.Cutter,
	book.KindTicket: book.Setter}

// readKind adds the records of a kind that name a party and hold no stones.
func (p partyPapers) readKind(ctx context.Context, tx store.ReadTx, kind book.Kind, name string,
	reversed map[string]string) error {
	rows, err := tx.Rows(ctx, kind, store.RowFilter{Ref: book.ToParty(name)})
	if err != nil {
		return err
	}
	for _, row := range rows {
		r, err := store.Decode(kind, row.Key, row.Doc)
		if err != nil {
			return err
		}
		role, paper := partyPaper(r, name)
		paper.Number, paper.Kind = r.RecordKey(), cmp.Or(paper.Kind, string(kind))
		if reversed[row.Since] != "" {
			role, paper.State = "", "void"
		}
		p.add(role, paper)
	}
	return nil
}

// partyPaper is a record that names a party, as one of its papers, and what the
// party does by it.
func partyPaper(r book.Record, name string) (book.Role, answer.PartyPaper) {
	amount := func(m num.Money) *num.Money { return &m }
	switch x := r.(type) {
	case *book.Parcel:
		role := book.Vendor
		if x.Kind == book.MemoIn {
			role = book.Lender
		}
		return role, answer.PartyPaper{Kind: string(x.Kind), Name: x.Vendor, On: x.On, Amount: amount(x.Price)}
	case *book.Offer:
		return "", answer.PartyPaper{Kind: x.Side, Name: x.Party, On: x.On, Amount: amount(x.Total)}
	case *book.Sale:
		if x.Commission != nil && !strings.EqualFold(x.Customer, name) {
			return book.Broker, answer.PartyPaper{Kind: "commission", Name: x.Commission.Broker, On: x.On}
		}
		out := answer.PartyPaper{Name: x.Customer, On: x.On, Due: x.Due, Amount: amount(x.Price)}
		switch {
		case x.Reversed:
			out.State = "void"
		case x.Returned:
			out.State = "returned"
		}
		return book.Customer, out
	case *book.Credit:
		return book.Customer, answer.PartyPaper{Name: x.Customer, On: x.On, Amount: amount(x.Sold.Neg())}
	case *book.Charge:
		return "", answer.PartyPaper{Kind: x.Kind, Name: x.Party, On: x.On, Amount: amount(x.Amount)}
	case *book.Claim:
		return "", answer.PartyPaper{Name: x.Party, On: x.On, Amount: amount(x.Amount)}
	case *book.Payment:
		return "", answer.PartyPaper{Name: x.Party, On: x.On, Amount: amount(x.Book)}
	case *book.Work:
		out := answer.PartyPaper{Name: x.Setter, On: x.On}
		if x.Reversed {
			out.State = "void"
		}
		return book.Setter, out
	case *book.Report:
		return book.Laboratory, answer.PartyPaper{Name: x.Lab, On: x.On}
	}
	return "", answer.PartyPaper{Name: name}
}

// places are where a party's stones lie: on its papers, and at the places of old
// ones by any of its names.
func (p *Parties) places(ctx context.Context, tx store.ReadTx, name string) ([]book.Place, error) {
	var out []book.Place
	add := func(place book.Place) {
		if !slices.Contains(out, place) {
			out = append(out, place)
		}
	}
	for _, n := range p.Names(name) {
		err := EachPaper(ctx, tx, store.RowFilter{Ref: book.ToParty(n)}, func(paper Paper) error {
			add(paper.Place)
			return nil
		})
		if err != nil {
			return nil, err
		}
		for _, kind := range []string{book.AtMemo, book.AtCutter, book.AtSetter} {
			add(book.PlaceOf(kind, n))
		}
	}
	return out, nil
}

// eachOfParty walks the lots that a party has something of, each with its
// balances there.
func eachOfParty(ctx context.Context, tx store.ReadTx, then Moment, party string,
	f func(store.Row, book.Lot, []ledger.Balance) error) error {
	parties, err := ReadParties(ctx, tx)
	if err != nil {
		return err
	}
	places, err := parties.places(ctx, tx, party)
	if err != nil {
		return err
	}
	var lots []string
	of := map[string][]ledger.Balance{}
	for _, place := range places {
		balances, err := then.lying(ctx, tx, place)
		if err != nil {
			return err
		}
		for _, b := range balances {
			key := strings.ToLower(b.Lot)
			if of[key] == nil {
				lots = append(lots, b.Lot)
			}
			of[key] = append(of[key], b)
		}
	}
	for _, code := range lots {
		lot, err := store.Get[book.Lot](ctx, tx, code)
		if err != nil {
			return err
		}
		if err := f(store.Row{}, lot, of[strings.ToLower(code)]); err != nil {
			return err
		}
	}
	return nil
}
