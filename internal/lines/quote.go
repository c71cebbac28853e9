package lines

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/costing"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// Quote asks for a line as it is offered to a customer.
type Quote struct {
	Plan
	Customer string
	Until    book.Date // the last day that it holds; empty: not said
	Tier     string    // trade or retail; empty: the customer's, else trade
}

// check refuses a tier that is none.
func (r *Quote) check() *fault.Fault {
	switch r.Tier {
	case "", answer.TradeTier, answer.RetailTier:
		return nil
	}
	return fault.New(fault.Usage, "tier-unknown", fmt.Sprintf("a tier must be trade or retail, but is %q", r.Tier),
		"write trade or retail").AtField("tier")
}

// Quote plans and prices a line, and issues what a customer may know of it. Only
// stones that lie in the safe, that nobody else holds and whose readings do not speak
// against their name are in a plan, so only they are quoted.
func (room *Room) Quote(ctx context.Context, r Quote) (answer.Quoted, error) {
	if f := r.check(); f != nil {
		return answer.Quoted{}, f
	}
	line, err := room.price(ctx, r.Plan)
	if err != nil {
		return answer.Quoted{}, err
	}
	w := &proposalWriter{pricedLine: line}
	if f := w.quotable(); f != nil {
		return answer.Quoted{}, f
	}
	out := answer.Quoted{Warnings: append(slices.Clone(line.told), w.notQuoted()...)}
	err = room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		if r.Until != "" && r.Until < s.On {
			return fault.New(fault.Usage, "quote-until", fmt.Sprintf("the quote is of %s, so it cannot end on %s", s.On,
				r.Until), "give a later day").AtField("until")
		}
		q, err := w.quote(ctx, tx, r)
		if err != nil {
			return err
		}
		issued, err := desk.Issue(ctx, tx, s, desk.Papers{Reason: "quoted the line " + q.Line + " to " + q.Party,
			From: line.readFor(line.plan), Drafts: []desk.Draft{
				{Kind: "QUOTE", Title: "Quote: line " + q.Line + " for " + q.Party, Model: q}}})
		if err != nil {
			return err
		}
		out.Quote, out.Document = *q, issued.Documents[0]
		return tx.Post(ctx, &issued.Entry)
	})
	return out, err
}

// quotable refuses stones that are still to come, and a line of which nothing can be
// made.
func (w *proposalWriter) quotable() error {
	var l fault.List
	made := false
	for i := range w.designs {
		made = made || w.designs[i].made > 0
	}
	for lot := range w.plan.Used {
		if o, coming := w.ordered[lot]; coming {
			l.Add(fault.New(fault.Refused, "quote-coming", fmt.Sprintf("the plan uses %s, which the cutter has not "+
				"brought yet", lot), "receive the order "+o.order+" first, or quote without it").
				AtField("count_cutter").AtRef(lot))
		}
	}
	slices.SortFunc(l, func(a, b *fault.Fault) int { return strings.Compare(a.Where.Ref, b.Where.Ref) })
	if !made {
		why := ""
		if len(w.plan.Short) > 0 {
			s := w.plan.Short[0]
			why = fmt.Sprintf(": %s %s lacks %d (%s)", s.Design, s.Position, s.Missing, s.Why)
		}
		l.Add(fault.New(fault.Refused, "quote-empty", "no piece of the line "+w.line.Name+" can be made"+why,
			"see what is missing").Do("line", "plan", w.line.Name))
	}
	return l.Err()
}

// notQuoted warns of the designs that the quote leaves out, or has fewer of than the
// line wants.
func (w *proposalWriter) notQuoted() fault.List {
	var out fault.List
	for i := range w.designs {
		d := &w.designs[i]
		if d.made >= d.Quantity {
			continue
		}
		what := fmt.Sprintf("of %s, %d are quoted and %d wanted", d.Name, d.made, d.Quantity)
		if d.made == 0 {
			what = d.Name + " is not quoted: no piece of it can be made"
		}
		for _, s := range w.plan.Short {
			if s.Design == d.Name {
				what += fmt.Sprintf("; %s lacks %d (%s)", s.Position, s.Missing, s.Why)
				break
			}
		}
		out.Add(fault.New(fault.Invalid, "quote-short", what, "see what is missing").AtRef(d.Name).
			Do("line", "plan", w.line.Name).AsWarning())
	}
	return out
}

// quote is the line as the customer may know it.
func (w *proposalWriter) quote(ctx context.Context, tx store.ReadTx, r Quote) (*answer.Quote, error) {
	name, err := desk.PartyOf(ctx, tx, "a customer", r.Customer)
	if err != nil {
		return nil, err
	}
	parties, err := desk.ReadParties(ctx, tx)
	if err != nil {
		return nil, err
	}
	q := &answer.Quote{Line: w.line.Name, Party: name, Addressee: answer.AddresseeOf(parties.Record(name)),
		Until: r.Until, PriceTier: answer.TradeTier, PriceCurrency: w.currency,
		Tax: answer.QuoteTax{Percent: w.config.Tax}, Pieces: []answer.QuotePiece{}}
	if r.Tier == answer.RetailTier || r.Tier == "" && q.Tier == answer.RetailTier {
		q.PriceTier, q.Tax.In = answer.RetailTier, w.config.TaxIn
	}
	if least := w.config.House.Smallest; least.Sign() > 0 {
		m := num.MoneyFromDec(least, w.currency, num.HalfUp)
		q.Smallest = &m
	}
	var l fault.List
	for i := range w.designs {
		if d := &w.designs[i]; d.made > 0 {
			p, f := w.quotePiece(d, q.PriceTier)
			l.Add(f)
			q.Pieces = append(q.Pieces, p)
		}
	}
	if l.Blocks() {
		return nil, l
	}
	return q, w.pictures(ctx, tx, q)
}

// quotePiece is one design of a quote at the prices of a tier.
func (w *proposalWriter) quotePiece(d *pricedDesign, tier string) (answer.QuotePiece, *fault.Fault) {
	out := answer.QuotePiece{Design: d.Name, Piece: d.Piece, Metal: metalWords(d.Design.Design), Weight: d.MetalWeight,
		Most: d.made, Safety: w.care(d.Design.Design).Safety, Steps: []answer.QuoteStep{}}
	var pieces [][]answer.QuoteStone
	for _, piece := range w.plan.Pieces {
		if piece.Design != d.Name {
			continue
		}
		var stones []answer.QuoteStone
		for _, f := range piece.Fills {
			for _, s := range f.Stones {
				stones = append(stones, answer.QuoteStoneOf(w.lots[s.Lot].Lot, s.Pieces, s.Carats))
			}
		}
		pieces = append(pieces, stones)
	}
	out.Stones = answer.QuoteStones(pieces, w.config.CaratRule)
	at := slices.IndexFunc(d.prices, func(o costing.Offered) bool { return o.Tier == tier })
	if at < 0 {
		return out, fault.New(fault.Refused, "quote-price", d.Name+" has no "+tier+" price",
			"give it in the line's file, or set retail_markup").AtRef(d.Name).Do("config", "set", "retail_markup=100")
	}
	price := d.prices[at]
	out.Steps = append(out.Steps, answer.QuoteStep{From: 1, Each: price.List})
	for _, b := range price.Broken {
		if b.From > 1 && b.From <= d.made {
			out.Steps = append(out.Steps, answer.QuoteStep{From: b.From, Each: b.Price})
		}
	}
	return out, nil
}

// pictures gives each design of a quote its newest picture of the face.
func (w *proposalWriter) pictures(ctx context.Context, tx store.ReadTx, q *answer.Quote) error {
	newest := map[string]book.Picture{}
	err := desk.EachPicture(ctx, tx, book.Picture{}, func(p book.Picture) error {
		of := strings.ToLower(p.Design)
		if p.View != book.FaceView || p.Removed != "" || of == "" {
			return nil
		}
		// PIC10, PIC9
		if have, n := newest[of].Number, p.Number; len(n) > len(have) || len(n) == len(have) && n > have {
			newest[of] = p
		}
		return nil
	})
	if err != nil {
		return err
	}
	for i := range q.Pieces {
		p, has := newest[strings.ToLower(q.Line+"/"+q.Pieces[i].Design)]
		if !has {
			continue
		}
		raw, err := tx.File(ctx, p.SmallSHA256)
		if err != nil {
			return fmt.Errorf("read the picture %s: %w", p.Number, err)
		}
		q.Pieces[i].Picture = &answer.QuotePicture{SHA256: p.SmallSHA256, Wide: p.Width, High: p.Height, Data: raw}
	}
	return nil
}
