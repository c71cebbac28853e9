package ledger

import (
	"fmt"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// Leaving is a part of a lot that leaves a place.
type Leaving struct {
	Pieces int64
	Carats num.Carat
	Free   bool // takes no cost with it while anything of the lot is left
}

// Leave returns the cost that each part takes when parts of one lot leave a
// place together. Cost is shared over the parts and what stays of the lot
// anywhere, by carats (by pieces when the lot is not weighed), with largest
// remainder: no unit cost is ever rounded and multiplied. What empties the
// place takes all that the place carries; free parts then leave theirs to the
// others, unless every part is free and nothing of the lot stays anywhere.
func Leave(balances []Balance, from book.Place, parts []Leaving) ([]num.Money, *fault.Fault) {
	var all Total
	var here Balance
	for _, b := range balances {
		if b.Place.IsReal() {
			all = all.Add(Posting(b))
		}
		if b.Place == from {
			here = b
		}
	}
	var gone Leaving
	for _, p := range parts {
		if p.Pieces < 0 || p.Carats < 0 || p.Pieces == 0 && p.Carats == 0 {
			return nil, fault.New(fault.Invalid, "take-nothing", "pieces and weight that leave must not be negative, "+
				"nor both 0", "give the count and the weight that move").AtRef(here.Lot)
		}
		gone.Pieces += p.Pieces
		gone.Carats += p.Carats
	}
	switch {
	case gone.Pieces > here.Pieces || gone.Carats > here.Carats:
		return nil, fault.New(fault.Refused, "take-too-much",
			fmt.Sprintf("%d pieces and %s ct are asked for, but %s has %d pieces and %s ct", gone.Pieces, gone.Carats,
				from, here.Pieces, here.Carats), "check the count and the weight").AtRef(here.Lot)
	case gone.Pieces == here.Pieces && gone.Carats != here.Carats:
		return nil, fault.New(fault.Refused, "take-weight",
			fmt.Sprintf("all %d pieces leave %s, so all %s ct leave, but %s ct are given", here.Pieces, from,
				here.Carats, gone.Carats),
			"give the whole weight; a scale difference goes to loss/weighing").AtRef(here.Lot)
	}
	weights := make([]num.Dec, len(parts))
	weigh := func(pieces int64, carats num.Carat) num.Dec {
		if all.Carats == 0 {
			return num.Int(pieces)
		}
		return carats.Dec()
	}
	carried := false
	for i, p := range parts {
		if !p.Free {
			weights[i] = weigh(p.Pieces, p.Carats)
			carried = carried || p.Pieces > 0
		}
	}
	if gone.Pieces == here.Pieces {
		for i, p := range parts {
			if !carried {
				weights[i] = weigh(p.Pieces, p.Carats)
			}
		}
		return here.Cost.Share(weights), nil
	}
	stays := weigh(all.Pieces-gone.Pieces, all.Carats-gone.Carats)
	costs := all.Cost.Share(append(weights, stays))[:len(parts)]
	sum := num.Zero(here.Cost.Currency())
	for _, c := range costs {
		sum = sum.Add(c)
	}
	if sum.Cmp(here.Cost) > 0 { // the place carries less than average: what leaves takes what it has
		return here.Cost.Share(weights), nil
	}
	return costs, nil
}

// Tolerance is what two weighings of the same stones on a balance of a
// resolution may differ by: three standard deviations of the difference of two
// readings that are each uncertain by the resolution, at least 0.002 ct. It is
// the same for one stone and for fifty weighed together.
func Tolerance(resolution num.Carat) num.Carat {
	// 3 x sqrt(2) = 4.2426..., rounded up
	return max(2, (resolution*42427+9999)/10000)
}

// sizesApart is how many times as heavy or as light as the lot's mean a part's
// mean may be, where nobody knows the least and the greatest of its stones.
const sizesApart = 4

// CheckMeans refuses a part of what lies at a place that leaves pieces without
// weight, weight without pieces, or a mean that stones of one lot do not have: a
// part's mean, and that of what stays, lie within a quarter and four times the
// lot's. Lots that nobody weighed have no mean.
func CheckMeans(here Balance, part Leaving) *fault.Fault {
	if here.Carats == 0 || part.Pieces == 0 {
		return nil
	}
	stay := Leaving{Pieces: here.Pieces - part.Pieces, Carats: here.Carats - part.Carats}
	for _, x := range []struct {
		Leaving
		what string
	}{{part, "leave"}, {stay, "stay"}} {
		if x.Pieces <= 0 {
			continue
		}
		// as products, so that nothing is rounded: mean of x against mean of here
		mine, whole := int64(x.Carats)*here.Pieces, int64(here.Carats)*x.Pieces
		if x.Carats <= 0 || mine*sizesApart < whole || mine > whole*sizesApart {
			return fault.New(fault.Refused, "mean-impossible",
				fmt.Sprintf("%d pieces of %s that weigh %s ct would %s, a mean of %s ct, but those at %s weigh %s ct "+
					"on average", x.Pieces, here.Lot, x.Carats, x.what, meanOf(x.Pieces, x.Carats), here.Place,
					meanOf(here.Pieces, here.Carats)),
				"count and weigh again; say why when the stones are so unequal").AtRef(here.Lot).AtField("accept")
		}
	}
	return nil
}

func meanOf(pieces int64, carats num.Carat) num.Carat {
	return num.CaratFromDec(carats.Dec().Over(num.Int(pieces), 3, num.HalfUp), num.HalfUp)
}
