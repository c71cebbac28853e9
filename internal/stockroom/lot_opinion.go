package stockroom

import (
	"context"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// LotOpinion asks to name a lot's stones by the dealer's own judgement.
type LotOpinion struct {
	desk.Write
	Lot      string
	Name     string // a species, variety or group that the facts know
	Withdraw bool   // take the opinion back
}

// LotOpinion names a lot's stones for lists, sales and papers. The claim, the
// tests and what they say stay as they are: an opinion is evidence for nothing.
func (room *Room) LotOpinion(ctx context.Context, r LotOpinion) (answer.LotOpinion, error) {
	var out answer.LotOpinion
	if r.Reason == "" {
		return out, fault.New(fault.Usage, "reason-missing", "an opinion needs a reason", "say why").AtField("reason")
	}
	var opinion *book.Opinion
	if !r.Withdraw {
		named, f := facts.Resolve(r.Name)
		if f != nil {
			return out, f.AtRef(r.Name)
		}
		out.Caution = named.Misleads()
		opinion = &book.Opinion{Species: named.Materials[0].Name, Reason: r.Reason}
		if len(named.Materials) > 1 {
			opinion.Species = named.Asked
		}
		if named.Variety != nil {
			opinion.Variety = named.Variety.Name
		}
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		lot, err := desk.StonesOf(ctx, tx, r.Lot)
		if err != nil {
			return err
		}
		if r.Withdraw && lot.Opinion == nil {
			return fault.New(fault.Refused, "opinion-none", "there is no opinion of "+lot.Code+" to withdraw",
				"check the lot").AtRef(lot.Code).Do("lot", "show", lot.Code)
		}
		if opinion != nil {
			opinion.Who, opinion.On = s.Who, s.On
		}
		lot.Opinion = opinion
		e := s.Entry(ledger.Record, "opinion of "+lot.Code)
		e.Records = []book.Record{lot.Lot}
		if err := tx.Post(ctx, &e); err != nil {
			return err
		}
		out.Entry, out.Lot, out.Claim = e.Code, lot.Code, lot.Name()
		out.Opinion, err = room.opinionOf(ctx, tx, lot)
		return err
	})
	return out, err
}

// opinionsOf are the dealer's opinions of the lots that stand on a paper.
func (room *Room) opinionsOf(ctx context.Context, tx store.ReadTx, lots []book.SuppliedLot) ([]answer.Opinion, error) {
	out := []answer.Opinion{}
	for _, l := range lots {
		lot, err := desk.StockOf(ctx, tx, l.Lot)
		if err != nil {
			return nil, err
		}
		o, err := room.opinionOf(ctx, tx, lot)
		if err != nil {
			return nil, err
		}
		if o != nil {
			out = append(out, *o)
		}
	}
	return out, nil
}

// opinionOf is the dealer's opinion of a lot beside what its tests say; nil when
// there is none.
func (room *Room) opinionOf(ctx context.Context, tx store.ReadTx, lot answer.StockLot) (*answer.Opinion, error) {
	if lot.Opinion == nil {
		return nil, nil
	}
	id, err := room.bench.Judge(ctx, tx, lot)
	if err != nil {
		return nil, err
	}
	out := &answer.Opinion{Lot: lot.Code, Called: lot.Called(), Reason: lot.Opinion.Reason, Who: lot.Opinion.Who,
		On: lot.Opinion.On, Identity: string(id.Judged.State), Tests: answer.List(id.Judged.Reasons)}
	for _, t := range id.Stones {
		if lot.Pieces == 1 {
			out.Tests = []string{t.Account.Headline}
		}
	}
	return out, nil
}
