package cli

import (
	"context"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
)

func (r *root) parcelBuy() *cobra.Command {
	var req stockroom.ParcelBuy
	var p price
	var rest string
	c := verb("buy PARCEL [LOT[:PRICE] ...]", "Buy lots of a parcel that is on offer, under their codes",
		`  lotpaper parcel buy P7 --price 4100 --currency USD --rate 0.92
  lotpaper parcel buy P7 P7-1 P7-4:310 --price 900 --rest declined

Without lots all that is on offer is bought. Lots without a price of their own
share what is left of the whole by what was asked for them (--by value: by the
price list; --by carats: by weight). The invoice is converted once.
`, cobra.MinimumNArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			req.Parcel = args[0]
			one := "0"
			if p.amount != "" {
				one = p.amount
			}
			total, rate, err := r.foreign(ctx, a, "price", one, p.currency, p.rate, p.per)
			if err != nil {
				return err
			}
			req.Rate = rate
			if p.amount != "" {
				req.Price = total
			}
			for _, text := range args[1:] {
				lot, own, priced := strings.Cut(text, ":")
				x := stockroom.PricedLot{Lot: lot}
				if priced {
					m, f := num.ParseMoney(own, total.Currency())
					if f == nil && m.Sign() < 0 {
						f = fault.New(fault.Usage, "buy-negative", "a price must not be negative, but is "+own,
							"give the price")
					}
					if f != nil {
						return asUsage(f.AtRef(lot))
					}
					x.Price = m
				}
				req.Lots = append(req.Lots, x)
			}
			switch rest {
			case "offer":
			case "declined":
				req.Decline = true
			default:
				return fault.New(fault.Usage, "buy-rest", "the rest stays on offer or is declined, but is \""+rest+"\"",
					"write offer or declined").AtField("rest")
			}
			if req.Price.Sign() < 0 {
				return fault.New(fault.Usage, "buy-negative", "a price must not be negative", "give the price").
					AtField("price")
			}
			done, err := a.Stockroom.ParcelBuy(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("parcel-buy", &done)
		}))
	p.flags(c)
	c.Flags().StringVar((*string)(&req.Key), "by", string(stockroom.AskKey), "share the price by "+
		strings.Join(stockroom.BuyKeys, ", "))
	c.Flags().StringVar(&rest, "rest", "offer", "what is not bought stays on offer, or is declined")
	comes(c, &req.Office, firstOffice)
	return r.writes(c)
}
