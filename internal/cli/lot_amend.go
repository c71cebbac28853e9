package cli

import (
	"context"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
)

func (r *root) lotAmend() *cobra.Command {
	var req stockroom.LotAmend
	var length, width, depth, due, nature, ask, least, basis string
	own := pflag.NewFlagSet("amend", pflag.ContinueOnError) // the flags that name a field
	c := verb("amend LOT", "Mend what a lot says of its stones, or price it",
		`  lotpaper lot amend P1-3 --color "cornflower blue" --length 7.02 --reason "gauged again"
  lotpaper lot amend P1-3 --claim sapphire --reason "the vendor's list said so, typed wrong"
  lotpaper lot amend P1-3 --ask 450 --least 380 --basis per_carat --reason "priced"

A new version: lot history shows what changed, why and by whom. Pieces, weight and
cost are the ledger's and stay. Stones that are claimed to be something else are no
more than stated to be it. An empty value takes a field away. Prices are in the
book's currency, net of tax, per_carat (default) or per_piece; a sale below the
least price is refused until it is accepted with a reason.
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			req.Lot = args[0]
			v := &req.Values
			v.Prices = &book.Prices{}
			var l fault.List
			take := func(field string, f *fault.Fault) {
				if f != nil {
					l.Add(f.AtField(field))
				}
			}
			own.VisitAll(func(f *pflag.Flag) {
				if r.running.Flags().Changed(f.Name) {
					req.Fields = append(req.Fields, f.Name)
				}
			})
			for _, size := range []struct {
				field, text string
				to          *book.Size
			}{{"length", length, &v.Length}, {"width", width, &v.Width}, {"depth", depth, &v.Depth}} {
				f := readSize(size.text, size.to)
				take(size.field, f)
			}
			for _, price := range []struct {
				field, text string
				to          *num.UnitPrice
			}{{"ask", ask, &v.Prices.Ask}, {"least", least, &v.Prices.Least}} {
				if price.text != "" {
					var f *fault.Fault
					*price.to, f = num.ParseUnitPrice(price.text, "")
					take(price.field, f)
				}
			}
			var f *fault.Fault
			if basis != "" {
				v.Prices.Basis, f = book.ParsePriceBasis(basis)
				take("basis", f)
			}
			v.Facets.Nature.Value, f = book.ParseNature(nature)
			take("nature", f)
			if due != "" {
				v.Due, f = book.ParseDate(due)
				take("due", f)
			}
			if l.Blocks() {
				return l
			}
			done, err := a.Stockroom.LotAmend(ctx, req)
			if err != nil {
				return err
			}
			return r.moved("lot-amend", &done)
		}))
	v := &req.Values
	own.StringVar(&v.Label, "label", "", "code on the paper")
	own.StringVar(&v.Claim, "claim", "", "what the vendor calls the stones; names species and variety too")
	own.StringVar(&v.Species, "species", "", "species")
	own.StringVar(&v.Variety, "variety", "", "variety of the species")
	own.StringVar(&nature, "nature", "", strings.Join(book.Natures, ", "))
	own.StringVar(&v.Facets.Treatment.Value, "treatment", "", "as it is stated; none when untreated")
	own.StringVar(&v.Facets.Origin.Value, "origin", "", "as it is stated")
	own.StringVar(&v.Shape, "shape", "", "round, oval, pear ...")
	own.StringVar(&length, "length", "", "mm: 7.02, or 6.90-7.10")
	own.StringVar(&width, "width", "", "mm")
	own.StringVar(&depth, "depth", "", "mm")
	own.BoolVar(&v.Calibrated, "calibrated", false, "every stone has the stated size; --calibrated=false: not")
	own.StringVar(&v.Color, "color", "", "in plain words")
	own.StringVar(&v.Clarity, "clarity", "", "in plain words")
	own.StringVar(&v.Cut, "cut", "", "grade of the cut")
	own.StringVar(&ask, "ask", "", "asking price, net of tax")
	own.StringVar(&least, "least", "", "the least that it may be sold for, net of tax")
	own.StringVar(&basis, "basis", "", "what the prices are for: per_carat or per_piece")
	own.StringVar(&due, "due", "", "goods on memo in: to be settled or returned by")
	own.StringVar(&v.Note, "note", "", "a note")
	c.Flags().AddFlagSet(own)
	return r.writes(c)
}

// readSize reads one size or a range of sizes in millimetres; empty is unknown.
func readSize(text string, to *book.Size) *fault.Fault {
	if text == "" {
		return nil
	}
	least, most, ranged := strings.Cut(text, "-")
	if !ranged {
		most = least
	}
	var f, g *fault.Fault
	to.Min, f = num.ParseMillimetre(strings.TrimSpace(least))
	to.Max, g = num.ParseMillimetre(strings.TrimSpace(most))
	switch {
	case f != nil:
		return f
	case g != nil:
		return g
	case to.Min <= 0 || to.Max < to.Min:
		return fault.New(fault.Usage, "size-bad", "a size must be above 0, or a range like 6.90-7.10, but is \""+text+
			"\"",
			"gauge it again")
	}
	return nil
}
