package costing_test

import (
	"testing"

	"lotpaper/internal/book"
	"lotpaper/internal/costing"
	"lotpaper/internal/num"
)

func goldPiece(price, fineness string, grams num.Gram) worked {
	return func(t *testing.T) map[string]any {
		card := costing.RateCard{Currency: "INR", On: "2026-01-01", Rates: []book.Rate{
			{Kind: costing.RateMetal, Name: "gold", Value: dec(price), Unit: "INR/g fine", On: "2025-01-01"},
			{Kind: costing.RateOverhead, Name: "cost", Value: dec("10"), Unit: "%", On: "2025-01-01"},
		}}
		tree, faults := costing.PieceCost(costing.PieceInput{Design: "chain", Piece: "necklace", Metal: "gold",
			Fineness: dec(fineness), MetalWeight: grams}, card)
		all(t, tree, faults)
		offered, faults := costing.Prices(1, tree.Amount, []costing.Tier{{Name: "retail", Basis: costing.Markup,
			Tax: pct("3")}})
		o := all(t, offered, faults)[0]
		return map[string]any{"metal": tree.Part("metal").Amount.Dec(), "making": tree.Part("overhead").Amount.Dec(),
			"tax": o.Tax.Dec(), "total": o.Gross.Dec()}
	}
}

func at(cost, price string) worked {
	return func(t *testing.T) map[string]any {
		p := costing.At(money(cost, "USD"), money(price, "USD"))
		return map[string]any{"margin": p.Margin.Dec, "markup": p.Markup.Dec}
	}
}

func exactBreakeven(price, variable, fixed string) worked {
	return func(t *testing.T) map[string]any {
		b, faults := costing.BreakEvenOf(money(price, "USD"), money(variable, "USD"), money(fixed, "USD"))
		all(t, b, faults)
		return map[string]any{"contribution": b.Contribution.Dec(), "exact_units": b.Exact,
			"exact_sales": b.ExactSales.Dec(), "units": b.Units, "sales": b.Sales.Dec()}
	}
}

func written(cost, price, selling string) costing.Valued {
	rows, _ := valued(costing.Held{Cost: money(cost, "USD"), Price: money(price, "USD"), HasPrice: true,
		Selling: money(selling, "USD")})
	return rows[0]
}

// moreExamples are published examples beyond the first file, each with its
// source there.
var moreExamples = map[string]worked{
	"WX01": shared("100000", book.ByNRV, part("A", "5000", "15", "2"), part("B", "5000", "15", "4")),
	"WX02": shared("12300", book.ByNRV, part("LTen", "3200", "2.10", "0.70"), part("Triol", "3700", "5.40", "2.10"),
		part("Pioze", "2000", "6.20", "1.50")),
	"WX03": breakeven("10", "6", "300000"),
	"WX04": breakeven("100", "60", "300000"),
	"WX05": exactBreakeven("21", "12.50", "45000"),
	"WX06": exactBreakeven("21", "12.50", "18000"),
	"WX07": func(t *testing.T) map[string]any {
		landed := num.UnitPriceFromDec(dec("26.125"), "USD", num.HalfUp).ForPieces(10_000, num.HalfUp).
			Add(money("4800", "USD"))
		s, faults := costing.ShareCost(landed, book.ByPieces, []costing.Part{part("unit", "10000", "", "")})
		p := all(t, s, faults).Parts[0]
		return map[string]any{"total": p.Amount.Dec(), "each": p.Each}
	},
	"WX08": func(t *testing.T) map[string]any {
		first, later := written("720000", "740000", "50000"), written("720000", "810000", "50000")
		return map[string]any{"first": first.Value.Dec(), "loss": first.WriteDown.Dec(), "later": later.Value.Dec()}
	},
	"WX09": func(t *testing.T) map[string]any {
		var items []costing.Held
		for _, x := range [][3]string{{"400", "180", "562"}, {"572", "210", "798"}, {"615", "173", "762"}} {
			items = append(items, costing.Held{Cost: money(x[0], "GBP"), Completion: money(x[1], "GBP"),
				Price: money(x[2], "GBP"), HasPrice: true})
		}
		_, total := valued(items...)
		return map[string]any{"total": total.Dec()}
	},
	"WX10": func(t *testing.T) map[string]any {
		v := written("500000", "400000", "40000")
		return map[string]any{"NRV": v.NRV.Dec(), "loss": v.WriteDown.Dec()}
	},
	"WX11": goldPiece("6000", "916.666666667", 10000),
	"WX12": goldPiece("2735", "1000", 9600),
	"WX13": at("75", "100"), "WX14": at("60", "100"), "WX15": at("70", "100"),
	"WX16": func(t *testing.T) map[string]any {
		p, f := costing.PriceBy(money("80", "USD"), costing.Markup, pct("25"))
		return map[string]any{"price": ok(t, p, f).Price.Dec(), "margin": p.Margin.Dec}
	},
	"WX17": func(t *testing.T) map[string]any {
		a, faults := costing.AlloyOf([]costing.AlloyPart{{Metal: "Au", Parts: dec("642"), Density: dec("19.3")},
			{Metal: "Cu", Parts: dec("358"), Density: dec("8.5")}})
		return map[string]any{"density": all(t, a, faults).Density}
	},
	"WX18": func(t *testing.T) map[string]any {
		s, faults := costing.ShareCost(money("465000", "USD"), book.ByPieces, []costing.Part{part("a", "4000", "", ""),
			part("b", "16000", "", ""), part("c", "12000", "", "")})
		return map[string]any{"per_gallon": all(t, s, faults).Parts[1].Each}
	},
}
