package cli

import (
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
)

// moving reads LOT, LOT:PIECES or LOT:PIECES:CARATS.
func moving(args []string) ([]stockroom.Moving, error) {
	var out []stockroom.Moving
	for _, text := range args {
		fields := strings.Split(text, ":")
		m := stockroom.Moving{Lot: fields[0]}
		if len(fields) > 3 || m.Lot == "" {
			return nil, fault.New(fault.Usage, "moving-form", "what moves is LOT, or LOT:PIECES:CARATS, but is \""+text+
				"\"", "write it like P1-3:4:6.250")
		}
		if len(fields) > 1 {
			n, err := strconv.ParseInt(fields[1], 10, 64)
			if err != nil || n <= 0 {
				return nil, fault.New(fault.Usage, "pieces-bad", "pieces are a whole number above 0, but are \""+
					fields[1]+"\"", "count the pieces, or name the lot alone for all of it")
			}
			m.Pieces = n
		}
		if len(fields) > 2 {
			c, f := num.ParseCarat(fields[2])
			if f != nil {
				return nil, asUsage(f)
			}
			m.Carats = c
		}
		out = append(out, m)
	}
	return out, nil
}

// moves adds the flags of a command that moves stones.
func (r *root) moves(c *cobra.Command, m *stockroom.Movement) *cobra.Command {
	c.Flags().StringVar(&m.Accept, "accept", "", "why a weight or measure that the checks refuse is accepted")
	c.Flags().StringVar(&m.For, "for", "", "the line or customer that held stones move for")
	return r.writes(c)
}

// price holds the flags of a price in any currency.
type price struct {
	amount, currency, rate string
	per                    int64
}

func (p *price) flags(c *cobra.Command) {
	c.Flags().StringVar(&p.amount, "price", "", "net of tax")
	c.Flags().StringVar(&p.currency, "currency", "", "of the price (default: the book's)")
	c.Flags().StringVar(&p.rate, "rate", "", "book units per unit of that currency")
	c.Flags().Int64Var(&p.per, "per", 1, "the rate is per 1, 100 or 1000 units")
}
