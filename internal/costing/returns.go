package costing

import (
	"strings"

	"lotpaper/internal/num"
)

// returns is what a piece is expected to cost in its first year of wear: the
// chance that it comes back damaged, times its dearest stone with its setting
// fee. What the customer is owed beyond that is left to the terms of sale.
func (p *pricing) returns() *Node {
	in := p.in
	if in.Returns.A <= 0 || len(in.Stones) == 0 {
		return nil
	}
	rate := num.FromFloat(in.Returns.Mean(), 6, num.HalfUp)
	inputs := []Input{{Key: "design/" + in.Design + "/returns", Name: "come back damaged in the first year", Value: rate.Mul(hundred), Unit: "%", Source: in.ReturnsSource}}
	var dearest num.Dec
	var each []string
	for _, s := range in.Stones {
		r, _ := p.card.SettingFee(s.Setting, s.Length)
		one := s.Cost.Dec().Each(s.Pieces, 12, num.HalfUp)
		if one = one.Add(r.Value); one.Cmp(dearest) > 0 {
			dearest = one
		}
		key := stoneKey(in.Design, s)
		inputs = append(inputs,
			Input{Key: key, Name: s.Position + ": cost", Value: s.Cost.Dec(), Unit: string(p.cur)},
			Input{Key: key + "/count", Name: s.Position + ": count", Value: num.Int(s.Pieces), Unit: "stones"},
			rateInput(r))
		each = append(each, "{"+key+"}/{"+key+"/count}+{"+rateInput(r).Key+"}")
	}
	return leaf("expected returns", dearest.Mul(rate), p.cur, "chance of a return x (dearest stone + its setting fee)", "MAX("+strings.Join(each, ",")+")*$1/100", inputs...)
}
