package cli

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// findHelp explains the windows of a search.
const findHelp = `
A window is LOW-HIGH, LOW- for no upper end, -HIGH for no lower one, or one number.
A lot of many sizes is listed when some of its stones may have the wanted one. Lots
of which what is asked for is not known are left out and counted. Colour, clarity
and treatment are found by each of the words given.
`

// findFlags hold what stones are looked for.
type findFlags struct {
	length, width, depth, each, ask, basis, age string
	desk.Find
}

func (f *findFlags) flags(c *cobra.Command) {
	c.Flags().StringVar(&f.length, "length", "", "window of the length in mm")
	c.Flags().StringVar(&f.width, "width", "", "window of the width in mm")
	c.Flags().StringVar(&f.depth, "depth", "", "window of the depth in mm")
	c.Flags().StringVar(&f.each, "weight", "", "window of the weight of the mean stone in carats")
	c.Flags().StringVar(&f.Color, "color", "", "words of the colour")
	c.Flags().StringVar(&f.Clarity, "clarity", "", "words of the clarity")
	c.Flags().StringVar(&f.Treatment, "treatment", "", "words of the stated treatment")
	c.Flags().BoolVar(&f.Calibrated, "calibrated", false, "only calibrated lots")
	c.Flags().StringVar(&f.ask, "ask", "", "window of the asking price")
	c.Flags().StringVar(&f.basis, "basis", string(book.PerCarat), "what the window of the price is for: per_carat or "+
		"per_piece")
	c.Flags().StringVar(&f.age, "age", "", "window of the days since the parcel was bought")
}

// read reads the windows.
func (f *findFlags) read() (desk.Find, error) {
	out := f.Find
	var l fault.List
	out.Length = window(&l, "length", f.length, num.ParseMillimetre)
	out.Width = window(&l, "width", f.width, num.ParseMillimetre)
	out.Depth = window(&l, "depth", f.depth, num.ParseMillimetre)
	out.Each = window(&l, "weight", f.each, num.ParseCarat)
	out.Age = window(&l, "age", f.age, wholeDays)
	out.Ask.Window = window(&l, "ask", f.ask, func(s string) (int64, *fault.Fault) {
		p, bad := num.ParseUnitPrice(s, "")
		return p.Micros(), bad
	})
	var bad *fault.Fault
	if out.Ask.Basis, bad = book.ParsePriceBasis(f.basis); bad != nil {
		l.Add(bad.AtField("basis"))
	}
	return out, l.Err()
}

// window reads LOW-HIGH, LOW-, -HIGH or one number.
func window[T ~int64](l *fault.List, flag, text string, parse func(string) (T, *fault.Fault)) desk.Window[T] {
	var w desk.Window[T]
	if text == "" {
		return w
	}
	low, high, ranged := strings.Cut(text, "-")
	if !ranged {
		high = low
	}
	read := func(s string) (v T) {
		if s = strings.TrimSpace(s); s == "" {
			return 0
		}
		v, bad := parse(s)
		if bad != nil {
			l.Add(bad.AtField(flag))
		}
		return v
	}
	w.Min, w.Max = read(low), read(high)
	if w.Max > 0 && w.Max < w.Min || w == (desk.Window[T]{}) {
		l.Add(fault.New(fault.Usage, "window-empty", fmt.Sprintf("nothing lies in the window %q", text),
			"write it like 6.8-7.2, 6.8- or -7.2").AtField(flag))
	}
	return w
}
