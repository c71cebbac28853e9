package cli

import (
	"cmp"
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/bench"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/ui"
)

// identifyFlags are readings given on the command line.
type identifyFlags struct {
	file, encoding, chart                            string
	force, noNext                                    bool
	color, low, high, spot, ru, dr, optic, sg, sgu   string
	air, water, waterC, balance, lw, sw, pleochroism string
	maximum                                          bool
	excluded                                         int
	strata                                           []string
	filter                                           desk.StockFilter
}

func (r *root) identifyCommand() *cobra.Command {
	var f identifyFlags
	c := verb("identify [LOT]", "Say what a stone or a lot is, how sure that is, and which test comes next",
		`  lotpaper identify P1-3
  lotpaper identify --ri-low 1.660 --ri-high 1.676 --sg 3.18 --color pink
  lotpaper identify --file cases.csv
  lotpaper identify P1-3 --chart p1-3.svg

Readings prove the species, never "natural" or "untreated". A bench
identification is no laboratory report.
`, cobra.MaximumNArgs(1), func(ctx context.Context, args []string) error {
			switch {
			case f.file != "" && len(args) > 0:
				return fault.New(fault.Usage, "identify-both", "a lot and a file of cases are two questions",
					"ask about one")
			case f.file != "":
				return r.identifyFile(f)
			case len(args) == 0 && f.given():
				return r.identifyFlags(f)
			}
			lot := ""
			if len(args) > 0 {
				lot = args[0]
			}
			if f.chart != "" && lot == "" {
				return fault.New(fault.Usage, "chart-lot", "a chart is of one lot", "name the lot").AtField("chart")
			}
			strata, err := f.strataOf(lot)
			if err != nil {
				return err
			}
			return r.with(ctx, func(a *house.House) error {
				if f.chart != "" {
					if err := r.identifyChart(ctx, a, lot, f); err != nil {
						return err
					}
				}
				lots, err := a.Bench.IdentifyLots(ctx, lot, f.filter, strata)
				if err != nil {
					return err
				}
				if r.Streams.JSON {
					return r.Streams.Document("identify", struct {
						Lots []answer.LotReport `json:"lots"`
					}{lots})
				}
				if lot == "" {
					return r.lotStates(lots)
				}
				for _, l := range lots {
					r.lotIdentity(l)
				}
				return nil
			})
		})
	fl := c.Flags()
	fl.StringVar(&f.file, "file", "", "CSV or XLSX with stones to identify")
	fl.StringVar(&f.encoding, "encoding", "", "encoding of a CSV that is not UTF-8: windows-1252")
	fl.BoolVar(&f.noNext, "no-next", false, "leave the next tests out: faster for large files")
	fl.IntVar(&f.excluded, "excluded", 1000, "how many excluded materials to name for each stone, nearest first")
	fl.StringSliceVar(&f.strata, "strata", nil, "the lot's pieces by appearance, e.g. blue=30,green=12; a tested "+
		"stone belongs where its color reading says")
	fl.StringVar(&f.chart, "chart", "", "draw n against SG to this .svg or .png file")
	fl.BoolVar(&f.force, "force", false, "write over an existing chart")
	for _, x := range []struct {
		to         *string
		name, help string
	}{
		{&f.color, "color", "of the stone, in plain words"}, {&f.low, "ri-low",
			"lower shadow edge; >1.79 is over the limit"}, {&f.high, "ri-high", "upper shadow edge"},
		{&f.spot, "ri-spot", "spot reading"}, {&f.ru, "ri-u", "standard uncertainty of an edge"},
		{&f.dr, "birefringence", "as read"},
		{&f.optic, "optic", "isotropic, anomalous, aggregate, doubly, uniaxial[+-], biaxial[+-]"}, {&f.sg, "sg",
			"specific gravity"}, {&f.sgu, "sg-u", "its standard uncertainty"},
		{&f.air, "air", "weight in air, ct"}, {&f.water, "water", "weight in water, ct"}, {&f.waterC, "water-c",
			"temperature of the water"}, {&f.balance, "balance", "resolution of the balance, ct"},
		{&f.lw, "lw", "long-wave fluorescence: strength and colour"}, {&f.sw, "sw",
			"short-wave fluorescence: strength and colour"}, {&f.pleochroism, "pleochroism", "strength and colours"},
	} {
		fl.StringVar(x.to, x.name, "", x.help)
	}
	fl.BoolVar(&f.maximum, "birefringence-max", false, "the stone was turned until it was greatest")
	stockFilter(c, &f.filter)
	return c
}

func (f *identifyFlags) given() bool {
	return f.low+f.high+f.spot+f.dr+f.optic+f.sg+f.air+f.lw+f.sw+f.pleochroism != ""
}

// identifyFile judges a file of stones: one in full, more as a table, all in
// full as JSON.
func (r *root) identifyFile(f identifyFlags) error {
	in, err := r.input(f.file, f.encoding)
	if err != nil {
		return err
	}
	defer in.Close()
	file, err := bench.OpenCases(in.Input)
	if err != nil {
		return err
	}
	r.faults(file.Warnings)
	words := f.words()
	words.Short = file.Cases > 1 && !r.Streams.JSON
	cases, err := bench.NewCases(words)
	if err != nil {
		return err
	}
	done := 0
	step := func() { done++; r.doing(fmt.Sprintf("%d of %d stones", done, file.Cases)) }
	switch {
	case r.Streams.JSON:
		return r.Streams.List("identify", "cases", func(add func(ui.Item) error) error {
			write := func(c answer.CaseReport) (ui.Item, error) { return ui.NewItem(c) }
			return bench.EachCase(file, cases, write, func(i ui.Item) error { step(); return add(i) })
		})
	case file.Cases == 1:
		keep := func(c answer.CaseReport) (answer.CaseReport, error) { return c, nil }
		return bench.EachCase(file, cases, keep, func(c answer.CaseReport) error { r.showCase(c, ""); return nil })
	}
	return r.Streams.Rows([]string{"case", "verdict", "left", "not excluded"}, func(add func(...string)) error {
		return bench.EachCase(file, cases, caseRow, func(cells []string) error { step(); add(cells...); return nil })
	})
}

// caseRow is a stone in a table of many.
func caseRow(c answer.CaseReport) ([]string, error) {
	var left []string
	for i, k := range c.Candidates {
		if i == 6 {
			left = append(left, "...")
			break
		}
		left = append(left, fmt.Sprintf("%s %.0f%%", k.Species, 100*k.Share))
	}
	return []string{c.Case, c.Verdict, strconv.Itoa(len(c.Candidates)), strings.Join(left, ", ")}, nil
}

// strataOf reads "blue=30".
func (f identifyFlags) strataOf(lot string) (map[string]int, error) {
	if len(f.strata) == 0 {
		return nil, nil
	}
	out := map[string]int{}
	for _, part := range f.strata {
		name, count, _ := strings.Cut(part, "=")
		n, err := strconv.Atoi(strings.TrimSpace(count))
		name = strings.ToLower(strings.TrimSpace(name))
		if err != nil || n < 1 || name == "" || out[name] > 0 || lot == "" {
			return nil, fault.New(fault.Usage, "strata",
				fmt.Sprintf("strata are the colours of one lot, each once, with their pieces, but one is %q", part),
				"write them like --strata blue=30,green=12 beside the lot").AtField("strata")
		}
		out[name] = n
	}
	return out, nil
}

// words is how much the flags want told of each stone.
func (f identifyFlags) words() bench.CaseWords {
	return bench.CaseWords{Next: !f.noNext, Excluded: f.excluded}
}

// identifyFlags judges the stone of the flags.
func (r *root) identifyFlags(f identifyFlags) error {
	if err := f.numbers(); err != nil {
		return err
	}
	c := bench.Case{Name: "stone", Color: f.color}
	add := func(test string, given bool, rd book.Reading) {
		if given {
			rd.Lot, rd.Test, rd.Drawn = "stone", test, "picked"
			c.Readings = append(c.Readings, rd)
		}
	}
	result := ""
	if f.maximum {
		result = "maximum"
	}
	add("ri", f.low+f.high != "", book.Reading{Low: cmp.Or(f.low, f.high), High: f.high, PlusMinus: f.ru})
	add("ri-spot", f.spot != "", book.Reading{Low: f.spot})
	add("birefringence", f.dr != "", book.Reading{Low: f.dr, Result: result})
	add("optic", f.optic != "", book.Reading{Result: f.optic})
	add("sg", f.sg != "", book.Reading{Low: f.sg, PlusMinus: f.sgu})
	if f.air+f.water != "" {
		air, err := flagCarat("air", f.air)
		if err != nil {
			return err
		}
		water, err := flagCarat("water", f.water)
		if err != nil {
			return err
		}
		add("hydrostatic", true, book.Reading{Air: air, Water: water, WaterC: f.waterC, Resolution: f.balance})
	}
	for _, g := range []struct{ test, text string }{{"lw", f.lw}, {"sw", f.sw}, {"pleochroism", f.pleochroism}} {
		strength, color, _ := strings.Cut(strings.TrimSpace(g.text), " ")
		add(g.test, g.text != "", book.Reading{Strength: strength, Color: color})
	}
	cases, err := bench.NewCases(f.words())
	if err != nil {
		return err
	}
	report, faults := cases.Judge(c)
	if faults.Blocks() {
		return ofFlags(faults)
	}
	if r.Streams.JSON {
		return r.Streams.Document("identify", struct {
			Cases []answer.CaseReport `json:"cases"`
		}{[]answer.CaseReport{report}})
	}
	r.showCase(report, "")
	return nil
}

// showCase prints the account of one stone.
func (r *root) showCase(c answer.CaseReport, indent string) {
	line := func(format string, args ...any) {
		text := fmt.Sprintf(format, args...)
		in := indent + text[:len(text)-len(strings.TrimLeft(text, " "))]
		r.Streams.Printf("%s%s\n", in, ui.Wrap(text, 100, in+"    "))
	}
	line("%s (%d materials considered)", c.Headline, c.Considered)
	if len(c.Candidates) > 0 {
		line("not excluded:")
		for i, k := range c.Candidates {
			if i == 12 {
				line("  and %d more", len(c.Candidates)-i)
				break
			}
			variety := ""
			if len(k.Varieties) > 0 {
				variety = "; of this colour: " + strings.Join(k.Varieties, ", ")
			}
			line("  %s: share %.1f %%, %s%s", k.Species, 100*k.Share, k.Standing, variety)
			if i < 3 {
				for _, t := range k.Tests {
					off := "inside"
					switch {
					case t.ExcessU == nil:
						off = "cannot be"
					case *t.ExcessU > 0:
						off = fmt.Sprintf("%.1f u outside", *t.ExcessU)
					}
					line("      %s %s against %s: %s (%s)", t.Test, t.Reading, t.Range, off, t.Source)
				}
			}
		}
	}
	for i, e := range c.Excluded {
		if i == 5 {
			line("excluded also: %d more", len(c.Excluded)-i)
			break
		}
		line("excluded: %s, %s", e.Species, e.Reason)
	}
	for _, s := range c.Conflicts {
		line("contradiction: %s", s)
	}
	for _, s := range c.Separates {
		line("%s", s)
	}
	if len(c.NotSeparated) > 0 {
		line("NOT separated by these readings: %s", strings.Join(c.NotSeparated, ", "))
	}
	for _, f := range c.Facets {
		word := "NOT established"
		if f.Established {
			word = "established"
		}
		line("%s: %s (%s)", f.Facet, word, f.How)
	}
	for i, n := range c.Next {
		line("next test %d: %s, %.0f min, %.2f bits: %s", i+1, n.Test, n.Minutes, n.Bits, n.Why)
		if n.Caution != "" {
			line("    caution: %s", n.Caution)
		}
	}
	if c.Enough != "" {
		line("%s", c.Enough)
	}
	for _, s := range c.Inseparable {
		line("%s", s)
	}
	for _, s := range c.Cautions {
		line("caution: %s", s)
	}
}

// lotStates prints one line a lot.
func (r *root) lotStates(lots []answer.LotReport) error {
	t := (&ui.Table{Header: []string{"lot", "claim", "state", "tested", "of", "others at most", "why"}}).
		Numbers(3, 4, 5)
	for _, l := range lots {
		bound := ""
		if l.UpperBound != nil {
			bound = fmt.Sprintf("%.0f %%", 100**l.UpperBound)
		}
		t.Add(l.Lot, l.Claim, l.State, strconv.Itoa(l.Tested), strconv.Itoa(l.Of), bound, strings.Join(l.Reasons, "; "))
	}
	r.Streams.Table(t)
	return nil
}

// lotIdentity prints the whole account of one lot.
func (r *root) lotIdentity(l answer.LotReport) {
	r.Streams.Printf("%s, claimed %s: %s (%d of %d tested)\n", l.Lot, l.Claim, l.State, l.Tested, l.Of)
	for _, why := range l.Reasons {
		r.Streams.Printf("  %s\n", ui.Wrap(why, 100, "    "))
	}
	if l.ExpectedLoss != nil {
		r.Streams.Printf("  expected loss if sold as claimed now: %s", l.ExpectedLoss.Words())
		if l.More > 0 {
			r.Streams.Printf("; %d more stones, %.0f minutes of testing, would verify it", l.More, l.Minutes)
		}
		r.Streams.Printf("\n")
	}
	if l.Report != nil {
		r.Streams.Printf("  report %s %s of %s: %s\n", l.Report.Lab, l.Report.Number, l.Report.On, l.Report.Species)
	}
	for _, s := range l.Stones {
		name := s.Stone
		if name == "" {
			name = "the stone"
		}
		r.Streams.Printf("\n%s (%s): %s", name, s.Drawn, s.Standing)
		if s.Why != "" {
			r.Streams.Printf(", %s", s.Why)
		}
		r.Streams.Printf("\n")
		r.showCase(s.CaseReport, "  ")
	}
}
