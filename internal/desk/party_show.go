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
	to := book.ToParty(name)
	parcels, err := store.Of[book.Parcel](ctx, tx, to)
	if err != nil {
		return err
	}
	for _, x := range parcels {
		role := book.Vendor
		if x.Kind == book.MemoIn {
			role = book.Lender
		}
		price := x.Price
		p.add(role, answer.PartyPaper{Number: x.Code, Kind: string(x.Kind), Name: x.Vendor, On: x.On, Amount: &price})
	}
	err = EachPaper(ctx, tx, store.RowFilter{Ref: to}, func(x Paper) error {
		held, err := OnPaper(ctx, tx, x)
		if err != nil {
			return err
		}
		role := map[book.Kind]book.Role{book.KindMemo: book.Customer, book.KindOrder: book.Cutter,
			book.KindTicket: book.Setter}[x.Kind]
		state := answer.StateOf(x.Void, len(held))
		if x.Draft {
			state = "draft"
		}
		p.add(role, answer.PartyPaper{Number: x.Number, Kind: string(x.Kind), Name: x.Party, On: x.On, Due: x.Due,
			State: state})
		return nil
	})
	if err != nil {
		return err
	}
	sales, err := store.Of[book.Sale](ctx, tx, to)
	if err != nil {
		return err
	}
	for _, x := range sales {
		price := x.Price
		paper := answer.PartyPaper{Number: x.Number, Kind: "sale", Name: x.Customer, On: x.On, Amount: &price}
		if x.Returned {
			paper.State = "returned"
		}
		p.add(book.Customer, paper)
	}
	works, err := store.Of[book.Work](ctx, tx, to)
	if err != nil {
		return err
	}
	for _, x := range works {
		p.add(book.Setter, answer.PartyPaper{Number: x.Number, Kind: "work", Name: x.Setter, On: x.On})
	}
	reports, err := store.Of[book.Report](ctx, tx, to)
	if err != nil {
		return err
	}
	for _, x := range reports {
		p.add(book.Laboratory, answer.PartyPaper{Number: x.Number, Kind: "report", Name: x.Lab, On: x.On})
	}
	return nil
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
