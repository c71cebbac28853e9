package cli

import (
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/book"
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

// returning reads LOT:PIECES:CARATS[:LENGTHxWIDTHxDEPTH].
func returning(args []string) ([]stockroom.Moving, []stockroom.Measured, error) {
	var texts []string
	var sizes []stockroom.Measured
	for _, text := range args {
		fields := strings.Split(text, ":")
		if len(fields) == 4 {
			size, err := measuredSize(fields[0], fields[3])
			if err != nil {
				return nil, nil, err
			}
			sizes = append(sizes, size)
			fields = fields[:3]
		}
		texts = append(texts, strings.Join(fields, ":"))
	}
	lots, err := moving(texts)
	return lots, sizes, err
}

// measuredSize reads 8.02x6.01x4.10, or the first two.
func measuredSize(lot, text string) (stockroom.Measured, error) {
	out := stockroom.Measured{Lot: lot}
	of := []*book.Size{&out.Length, &out.Width, &out.Depth}
	for i, d := range strings.Split(strings.ToLower(text), "x") {
		m, f := num.ParseMillimetre(d)
		if i >= len(of) || f != nil || m <= 0 {
			return out, fault.New(fault.Usage, "measures-form", "measures are LENGTHxWIDTHxDEPTH in mm, but are \""+
				text+"\"",
				"write them like 8.02x6.01x4.10")
		}
		*of[i] = book.Size{Min: m, Max: m}
	}
	return out, nil
}

// in is the currency of the price that a flag names, and its rate; empty and zero
// when none is given.
func (p *price) in() (num.Currency, num.Rate, error) {
	rate, err := flagRate(p.rate, p.per)
	if err != nil || p.currency == "" {
		return "", rate, err
	}
	c, f := num.ParseCurrency(p.currency)
	if f != nil {
		return c, rate, asUsage(f.AtField("currency"))
	}
	return c, rate, nil
}

// lineOf is the line of a lot among those so far; a lot that has none yet gets
// one. moving is what a line says of its lot.
func lineOf[L any](lines *[]L, lot string, moving func(*L) *stockroom.Moving) *L {
	for i := range *lines {
		if l := &(*lines)[i]; strings.EqualFold(moving(l).Lot, lot) {
			return l
		}
	}
	*lines = append(*lines, *new(L))
	l := &(*lines)[len(*lines)-1]
	moving(l).Lot = lot
	return l
}

// checkBroken wants the pieces of what broke.
func checkBroken(m stockroom.Moving) error {
	if m.Pieces > 0 {
		return nil
	}
	return fault.New(fault.Usage, "broken-pieces", "nobody said how many of "+m.Lot+" broke",
		"write LOT:PIECES, and the weight when it is known").AtField("broken")
}

// moves adds the flags of a command that moves stones.
func (r *root) moves(c *cobra.Command, m *stockroom.Movement) *cobra.Command {
	c.Flags().StringVar(&m.Accept, "accept", "", "why a weight or measure that the checks refuse is accepted")
	c.Flags().StringVar(&m.For, "for", "", "the line or customer that held stones move for")
	return r.writes(c)
}

// comes adds the flag of what comes to a safe.
func comes(c *cobra.Command, office *book.Place, without string) {
	c.Flags().StringVar((*string)(office), "office", "", "where there are several, the office that they come to "+
		"(default: "+without+")")
}

// What comes to a safe goes where without an office.
const (
	whereItLeft  = "the one that they left"
	firstOffice  = "the first of the setting offices"
	whereItLies  = "the one where its stones lie"
	whereItStood = "the one where the piece lies"
)

// days holds the flags of a list of days.
type days struct{ from, to string }

func (d *days) flags(c *cobra.Command) {
	c.Flags().StringVar(&d.from, "from", "", "from this day on")
	c.Flags().StringVar(&d.to, "to", "", "up to this day")
}

// read reads the first and the last day; empty: without an end.
func (d *days) read(from, to *book.Date) (err error) {
	if *from, err = flagDate("from", d.from); err != nil {
		return err
	}
	*to, err = flagDate("to", d.to)
	return err
}

// price holds the flags of a price in any currency.
type price struct {
	amount, currency, rate string
	per                    int64
}

func (p *price) flags(c *cobra.Command) {
	c.Flags().StringVar(&p.amount, "price", "", "net of tax")
	p.currencyFlags(c, "of the price")
}

// currencyFlags are those of a price's currency; of says what they are of.
func (p *price) currencyFlags(c *cobra.Command, of string) {
	c.Flags().StringVar(&p.currency, "currency", "", of+" (default: the book's)")
	c.Flags().StringVar(&p.rate, "rate", "", "book units per unit of that currency")
	c.Flags().Int64Var(&p.per, "per", 1, "the rate is per 1, 100 or 1000 units")
}
