package bench

import (
	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/facts"
	"lotpaper/internal/identify"
	"lotpaper/internal/num"
)

// risk is the money at risk if a lot is sold as claimed now.
type risk struct {
	expected *num.Money // nil when no random draw stands behind it
	bound    *num.Money // what the pieces that are not the claim at most are worth as the claim
	target   *answer.LossTarget
}

// atRisk reckons a lot's risk at its loose price, or at its cost where the price
// list has none. Under is what the book wants the expected loss to be; 0: it
// sets nothing.
func atRisk(s *answer.StockLot, id *LotIdentity, prices desk.PriceList, under num.Dec) risk {
	var out risk
	value := s.Cost
	if p, ok := prices.Find(s.Lot); ok {
		value = p.Loose.ForCarats(s.Carats, num.HalfUp)
	}
	if value.Sign() <= 0 || id.Pieces < 1 {
		return out
	}
	part := func(share float64) *num.Money {
		m := value.Times(num.FromFloat(share, 9, num.HalfUp), num.HalfUp)
		return &m
	}
	if id.Judged.Bounded {
		out.expected = part(id.Judged.Loss(worthOf(s, id, prices, value)) / value.Float())
		out.bound = part(id.Judged.UpperShare)
	}
	goal := num.MoneyFromDec(under, value.Currency(), num.HalfUp)
	wanted := id.Judged.State == identify.Stated && len(id.Judged.Stones) == id.Judged.Tested ||
		id.Judged.State == identify.Supported
	if goal.Sign() > 0 && wanted && (out.expected == nil || out.expected.Cmp(goal) > 0) {
		out.target = &answer.LossTarget{Under: goal}
		if n, ok := id.Judged.TestsUntil(goal.Float() / value.Float()); ok {
			out.target.More = &n
		}
	}
	return out
}

// worthOf is what the pieces of a lot are worth: as the claim by their weight, as
// something else by the price list, and nothing where that has no price.
func worthOf(s *answer.StockLot, id *LotIdentity, prices desk.PriceList, value num.Money) identify.Worth {
	mean := value.Float() / float64(id.Pieces)
	stones := map[string]float64{}
	rest, untested := value.Float(), float64(id.Pieces)-float64(len(id.Stones))
	for _, t := range id.Stones {
		worth := mean
		if t.Weighed > 0 && s.Carats > 0 {
			worth = value.Float() * t.Weighed.Float() / s.Carats.Float()
		}
		stones[t.Stone] = worth
		rest -= worth
	}
	w := identify.Worth{Stone: func(stone string) float64 { return stones[stone] }}
	if untested > 0 {
		w.Rest = max(0, rest/untested)
	}
	carats := s.Carats.Float() / float64(id.Pieces)
	as := map[string]float64{}
	w.As = func(m *facts.Material) float64 {
		price, known := as[m.Name]
		if !known {
			other := book.Lot{Species: m.Name, Shape: s.Shape, Color: s.Color, Length: s.Length, Width: s.Width,
				Depth: s.Depth}
			if p, ok := prices.Find(other); ok && p.Loose.Currency() == value.Currency() {
				price = p.Loose.Dec().Float() * carats
			}
			as[m.Name] = price
		}
		return price
	}
	return w
}
