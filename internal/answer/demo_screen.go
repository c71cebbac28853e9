package answer

import (
	"fmt"
	"path/filepath"
	"strings"

	"lotpaper/internal/sheet"
)

// Screen is the demo's report: what was bought, what it is, where it may go,
// what the line earns, what to order, and the files.
func (d *Demo) Screen() Screen {
	var s Screen
	d.bought(&s)
	d.found(&s)
	d.settings(&s)
	d.line(&s)
	d.orders(&s)
	d.files(&s)
	return s
}

// heading adds the heading of a report's part.
func (s *Screen) heading(text string) { s.line("\n%s", strings.ToUpper(text)) }

// point adds one point of a report.
func (s *Screen) point(format string, args ...any) {
	s.line("- %s", Wrap(fmt.Sprintf(format, args...), 94, "  "))
}

func (d *Demo) bought(s *Screen) {
	s.line("The invented dealer %s plans a line. Names, places, prices and readings are invented.", d.Dealer)
	s.heading("what was bought")
	for _, p := range d.Bought {
		if p.Kind == "memo-in" {
			s.point("%s, %s, on memo in from %s: %d lot, %d pieces, %s ct; agreed at %s if used.", p.Code, p.Label,
				p.Vendor, p.Lots, p.Pieces, p.Carats, p.Agreed.Words())
			continue
		}
		s.point("%s, %s, from %s: %d lots, %d pieces, %s ct for %s (invoice in %s at %s), landed costs %s; held now "+
			"at %s.", p.Code, p.Label, p.Vendor, p.Lots, p.Pieces, p.Carats, p.Price.Words(), p.Currency, p.Rate,
			p.Charges.Words(), p.Held.Words())
	}
}

var demoStateColumns = []column[DemoState]{
	screen("as bought", func(r *DemoState) sheet.Cell { return sheet.Text(r.State) }),
	screen("lots", func(r *DemoState) sheet.Cell { return sheet.Int(int64(r.Lots)) }),
	screen("pieces", func(r *DemoState) sheet.Cell { return sheet.Int(r.Pieces) }),
}

var demoFacetColumns = []column[DemoFacet]{
	screen(" ", func(r *DemoFacet) sheet.Cell { return sheet.Text(r.Facet) }),
	screen("laboratory", func(r *DemoFacet) sheet.Cell { return sheet.Int(r.Report) }),
	screen("tested", func(r *DemoFacet) sheet.Cell { return sheet.Int(r.Tested) }),
	screen("only stated", func(r *DemoFacet) sheet.Cell { return sheet.Int(r.Stated) }),
	screen("not even stated", func(r *DemoFacet) sheet.Cell { return sheet.Int(r.Silent) }),
}

func (d *Demo) found(s *Screen) {
	s.heading("what it turned out to be")
	s.table(tableOf(demoStateColumns, d.States).aligned())
	for _, f := range d.Found {
		if words := f.words(); words != "" {
			s.point("%s", words)
		}
	}
	s.line("\nNOT established: a bench test proves a species, never nature, treatment or origin. Pieces, by how each " +
		"is known:")
	s.table(tableOf(demoFacetColumns, d.Facets).aligned())
}

// words are a finding as a sentence.
func (f *DemoFinding) words() string {
	switch f.Kind {
	case "contradicted":
		return fmt.Sprintf("%s is not what the invoice says: %s. All %d tested of %d stones exclude it; they are %s "+
			"(%s). Plans leave it out.", f.Lot, f.Claim, f.Tested, f.Of, f.What, f.Why)
	case "mixed":
		return fmt.Sprintf("%s, bought as %s, is two things: %d of %d tested stones are %s (%s). Sorted by identity "+
			"into %s.", f.Lot, f.Claim, f.Others, f.Tested, f.What, f.Why, strings.Join(f.Into, "; "))
	case "undecided":
		return fmt.Sprintf("%s, claimed %s: %d of %d stones were tested, without telling what they are: %s; %s. "+
			"Until the "+
			"next test, %s, it is %s by the seller's word alone.", f.Lot, f.Claim, f.Tested, f.Of, f.What,
			f.Why, f.Next,
			f.Claim)
	case "untested":
		return fmt.Sprintf("%s, claimed %s: nobody tested any of its %d pieces.", f.Lot, f.Claim, f.Pieces)
	case "treatment":
		return fmt.Sprintf("%s, %s: nobody stated the treatment. Assumed: %s.", f.Lot, f.Claim, f.What)
	case "verified":
		return fmt.Sprintf("%s: %d stones are verified as %s.", f.Lot, f.Tested, f.Claim)
	case "report":
		return fmt.Sprintf("%s, claimed %s: %s, by %s.", f.Lot, f.Claim, f.What, f.Why)
	}
	return ""
}

func (d *Demo) settings(s *Screen) {
	s.heading("what may not be set where")
	for _, f := range d.Refused {
		s.point("%s (%s): %s of %s is refused, %s: %s", f.Design, f.Where, f.Stone, f.Lots, f.Level, f.why())
	}
	for _, f := range d.Caution {
		s.point("%s (%s): %s, %s: %s", f.Design, f.Where, f.Stone, f.Level, f.why())
	}
	for _, a := range d.Assumed {
		s.point("%s of %s is planned with no stated treatment; for wear, care and disclosure it is taken as %s.",
			a.Stone, a.Lots, a.Assumed)
	}
}

var demoDesignColumns = []column[DemoDesign]{
	screen("design", func(r *DemoDesign) sheet.Cell { return sheet.Text(r.Design) }),
	screen("metal", func(r *DemoDesign) sheet.Cell { return sheet.Text(r.Metal) }),
	screen("wanted", func(r *DemoDesign) sheet.Cell { return sheet.Int(r.Wanted) }),
	screen("planned", func(r *DemoDesign) sheet.Cell { return sheet.Int(r.Made) }),
	screen("unit cost", func(r *DemoDesign) sheet.Cell { return right(r.Cost.String()) }),
	screen("trade price", func(r *DemoDesign) sheet.Cell { return right(r.Price.String()) }),
	screen("margin %", func(r *DemoDesign) sheet.Cell { return right(r.Margin) }),
	screen("earns", func(r *DemoDesign) sheet.Cell { return right(r.Earned.String()) }),
}

func (d *Demo) line(s *Screen) {
	l := &d.Line
	s.heading("what the line costs and earns")
	s.table(tableOf(demoDesignColumns, l.Designs).aligned())
	s.point("The planned units cost %s and sell for %s; fixed cost is %s; the line earns %s.", l.Cost.Words(),
		l.Sales.Words(), l.Fixed.Words(), l.Earned.Words())
	s.point("The search ended %s: no other plan could be better by more than %.2f %%.", l.Status, l.GapPercent)
	if l.Runs > 0 {
		s.point("With breakage and metal prices at chance (%d runs) it earns %s to %s in 8 of 10 cases; the chance "+
			"of a loss is %s %%.", l.Runs, l.Low.Words(), l.High.Words(), l.LossChance)
	}
	if l.Drop != "" {
		s.point("%s does not earn its own fixed cost: drop it first, or raise its price.", l.Drop)
	}
}

func (d *Demo) orders(s *Screen) {
	s.heading("what to order")
	for _, x := range d.Line.Short {
		s.point("%s, %s: %d short. It %s.", x.Design, x.Position, x.Missing, x.Why)
	}
	for _, o := range d.Orders {
		count := fmt.Sprint(o.Count)
		if o.Spare > 0 {
			count += fmt.Sprintf(" and %d spare", o.Spare)
		}
		s.point("%s at %s, due %s: %s %s, %s %s x %s mm, about %s ct each, at most %s each.", o.Number, o.Cutter, o.Due,
			count, o.Material, o.Shape, o.Length, o.Width, o.Weight, o.PriceMax.Words())
	}
}

var demoFileColumns = []column[DemoFile]{
	screen("file", func(r *DemoFile) sheet.Cell { return sheet.Text(filepath.FromSlash(r.Name)) }),
	screen("what", func(r *DemoFile) sheet.Cell { return sheet.Text(r.About) }),
}

func (d *Demo) files(s *Screen) {
	s.heading("the files, in " + d.Folder)
	book := DemoFile{Name: "lotpaper.db", About: fmt.Sprintf("the book: %d sealed entries, checked, %d differences",
		d.Check.Entries, len(d.Check.Differences))}
	s.table(tableOf(demoFileColumns, append([]DemoFile{book}, d.Files...)).aligned())
	s.line("\nLook on: %s", d.LookOn)
	s.line("A bench identification is no laboratory report, and a price here is no appraisal.")
}
