package cutting

import (
	"fmt"

	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// Yield is what came out of what went in.
type Yield struct {
	Percent  num.Percent `json:"yield_percent"` // finished / rough, 2 decimals
	Loss     num.Percent `json:"loss_percent"`
	PerCarat num.Dec     `json:"rough_per_finished_ct"` // 4 decimals
}

// YieldOf is finished / rough and its loss.
func YieldOf(rough, finished num.Carat) (Yield, *fault.Fault) {
	if rough <= 0 || finished <= 0 || finished > rough {
		return Yield{}, fault.New(fault.Invalid, "yield-weights",
			fmt.Sprintf("the finished weight must be more than 0 and at most the rough weight, but they are %s and "+
				"%s ct",
				finished, rough), "weigh both in carats")
	}
	var y Yield
	y.Percent = num.PercentOf(finished.Dec(), rough.Dec(), 2)
	y.Loss = num.PercentOf((rough - finished).Dec(), rough.Dec(), 2)
	y.PerCarat = rough.Dec().Over(finished.Dec(), 4, num.HalfUp)
	return y, nil
}

// RoughCost is what rough costs per finished carat.
type RoughCost struct {
	Cost        num.Money `json:"rough_cost"`
	Finished    num.Carat `json:"finished_ct"`
	PerFinished num.Dec   `json:"per_finished_ct"` // 6 decimals
	PerGram     num.Dec   `json:"per_rough_gram"`
	Formula     string    `json:"formula"`
}

// CostOfRough spreads the price of rough and its cutting charge over what is
// finished from it.
func CostOfRough(rough num.Carat, price num.UnitPrice, cutting num.Money, yield num.Percent) (RoughCost, *fault.Fault) {
	if rough <= 0 || yield.Sign() <= 0 || yield.Cmp(num.Int(100)) > 0 {
		return RoughCost{}, fault.New(fault.Invalid, "yield-range", "rough must weigh more than 0 ct and yield "+
			"more than 0 and at most 100 %, but it is "+rough.String()+" ct at "+yield.String()+" %",
			"published yields run from 15 to 40 %")
	}
	r := RoughCost{Cost: price.ForCarats(rough, num.HalfUp), Formula: "(rough x price + cutting) / (rough x yield)"}
	r.Finished = num.CaratFromDec(rough.Dec().Mul(yield.Fraction()), num.HalfUp)
	exact := rough.Dec().Mul(yield.Fraction())
	r.PerFinished = r.Cost.Add(cutting).Dec().Over(exact, 6, num.HalfUp)
	r.PerGram = r.Cost.Dec().Mul(num.Int(5)).Over(rough.Dec(), 6, num.HalfUp)
	return r, nil
}
