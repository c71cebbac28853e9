package answer

import (
	"fmt"
	"strings"

	"lotpaper/internal/costing"
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// Workbook is the offer as a workbook: the limits with the ask, the table to
// negotiate by, and what becomes of the stones. A price that is changed in the
// table carries through to its total, its cost and the expected profit; the
// plan behind it is that of the price it was worked out for.
func (o *ParcelOffer) Workbook() (*sheet.Workbook, error) {
	t := newTally(o.Currency)
	pages := []*page{o.offerPage(t), o.negotiationPage(t), o.stonesPage()}
	if err := o.check(t); err != nil {
		return nil, fmt.Errorf("offer for %s: %w", o.Parcel, err)
	}
	return assemble(o.Head, t, pages)
}

// perWords are what one price is for.
func (o *ParcelOffer) perWords() string {
	if o.Per == "total" {
		return "in all"
	}
	return "a " + o.Per
}

func (o *ParcelOffer) offerPage(t *tally) *page {
	const wide = 7
	d := o.digits()
	s := &page{Sheet: sheet.Sheet{Name: "Offer", Title: o.Title, Columns: []sheet.Col{{Width: 40}, {Width: 13},
		{Width: 13}, {Width: 13}, {Width: 13}, {Width: 13}, {Width: 13}}}}
	s.pairs(wide-1, append(o.origin(), [2]string{"Parcel", fmt.Sprintf("%s from %s (%s)", o.Parcel, o.Vendor, o.Kind)},
		[2]string{"Holds", fmt.Sprintf("%d lots, %d pieces, %s ct by scale", o.Lots, o.Pieces, o.Weight)},
		[2]string{"For the line", o.Line}, [2]string{"Currency", string(o.Currency)}))
	s.gap()
	s.section(o.unit("The most to pay"), wide)
	s.add(styled("Aim", sheet.Header), number("A carat"), number("A piece"), number("In all"),
		number("Expected profit"), number("Chance of target (%)"), number("Stones set"))
	for _, l := range o.Limits {
		if !l.Found {
			s.add(append([]cell{styled(capital(l.Aim), sheet.Strong)}, text(sentence(l.Reason)).across(wide-1)...)...)
			continue
		}
		s.add(styled(capital(l.Aim), sheet.Strong), plain(sheet.Number(l.PerCarat, 2)),
			plain(sheet.Number(l.PerPiece, 2)), plain(sheet.Money(l.Met.Total)), plain(sheet.Money(l.Met.Profit)),
			plain(sheet.Percent(l.Met.Reached, 1)), whole(l.Met.Set))
		s.add(append([]cell{text("   the plan behind it")}, text(sentence(l.Met.Plan)).across(wide-1)...)...)
		if l.Missed != nil {
			s.add(append([]cell{text("   the next minor unit misses it")},
				text(fmt.Sprintf("At %s %s: expected profit %s, target reached in %s %% of the runs.",
					l.Missed.Price.Words(), o.perWords(), l.Missed.Profit.Words(), l.Missed.Reached.Fixed(2))).across(
					wide-1)...)...)
		}
	}
	s.gap()
	s.section("What the seller asks, and what was bid", wide)
	if o.Ask == nil {
		s.add(text("No ask is known.").across(wide)...)
	} else {
		s.add(append([]cell{styled(capital(o.Ask.Mark)+": "+o.Ask.Price.Words()+" "+o.perWords()+", "+
			o.Ask.Total.Words()+" in all", sheet.Strong)},
			text(fmt.Sprintf("Earns %s on average (standard error %s), from %s in a bad case (one in ten) to %s in a "+
				"good one; a loss in %s %% of the runs, the target in %s %%. %s", o.Ask.Profit.Words(), o.Ask.Error,
				o.Ask.P10, o.Ask.P90, o.Ask.Loss.Fixed(1), o.Ask.Reached.Fixed(1), sentence(o.Ask.Plan))).across(
				wide-1)...)...)
	}
	for _, h := range o.History {
		s.add(append([]cell{text(string(h.On) + ", " + h.Side + " of " + h.Party)},
			text(strings.Join(fields(h.Total.Words(), h.Foreign, h.Note), "; ")).across(wide-1)...)...)
	}
	s.gap()
	s.section("Terms", wide)
	for _, in := range []struct {
		key         formula.Key
		label, unit string
		value       num.Dec
	}{
		{costing.CaratsKey, "Carats of the parcel", "ct", o.Weight.Dec()},
		{costing.PiecesKey, "Pieces of the parcel", "pieces", num.Int(o.Pieces)},
		{costing.DiscountKey, "Cash discount", "%", o.Terms.CashDiscount.Dec},
		{costing.DaysKey, "Days until it is paid", "days", num.Int(o.Terms.PayDays)},
		{costing.MonthsKey, "Months until the line is sold, on average", "months", o.Terms.SellMonths},
		{costing.InterestKey, "Cost of money a year", "%", o.Terms.MoneyCost.Dec},
	} {
		t.input(in.key, in.value)
		s.add(styled(in.label, sheet.Label), lives(in.key, in.value.Places()).as(sheet.Input), text(in.unit))
	}
	s.add(styled(o.unit("Wanted profit"), sheet.Label), plain(sheet.Number(o.Target.Dec(), d)))
	s.gap()
	s.section("What stands behind the figures", wide)
	s.add(append([]cell{styled("Simulation", sheet.Label)},
		text(fmt.Sprintf("%d runs, seed %d; every price is tried with the same random numbers.", o.Runs, o.Seed)).
			across(wide-1)...)...)
	for _, l := range []struct {
		label string
		words []string
	}{{"Counted", o.Counted}, {"Not counted", o.NotCounted}, {"Note", o.Notes}} {
		for _, w := range l.words {
			s.add(append([]cell{styled(l.label, sheet.Label)}, text(sentence(w)).across(wide-1)...)...)
		}
	}
	s.gap()
	s.section("Basis", wide)
	s.pairs(wide-1, o.basis())
	s.notes(wide, cautionValue)
	return s
}

func (o *ParcelOffer) negotiationPage(t *tally) *page {
	d := o.digits()
	s := &page{Sheet: sheet.Sheet{Name: "Negotiation", Title: "We pay, we earn", Landscape: true, Notes: []string{
		"Yellow prices may be changed: total, cost and expected profit follow, with the plan of the price that the " +
			"row was worked out for. The cost is the total less the cash discount, plus interest from the day it is " +
			"paid until the line is sold."},
		Columns: []sheet.Col{{Header: o.unit("We pay, " + o.perWords()), Width: 12}, {Header: o.unit("In all"),
			Width: 12}, {Header: o.unit("Cost by the terms"), Width: 12},
			{Header: o.unit("Earned before that, leftovers with it"), Width: 15},
			{Header: o.unit("Expected profit"), Width: 12},
			{Header: o.unit("Standard error"), Width: 10}, {Header: o.unit("Bad case (1 in 10)"), Width: 12},
			{Header: o.unit("Good case (1 in 10)"), Width: 12}, {Header: "Chance of a loss (%)", Width: 9},
			{Header: "Chance of the target (%)", Width: 9}, {Header: "Pieces made", Width: 8}, {Header: "Stones set",
				Width: 8}, {Header: "Stones left", Width: 8}, {Header: "", Width: 24}}}}
	for i, r := range o.Table {
		price, total, cost, earns, profit := formula.At("price", i), formula.At("total", i), formula.At("cost", i),
			formula.At("earns", i), formula.At("profit", i)
		t.input(price, r.Price.Dec())
		t.input(earns, r.Earns.Dec())
		t.formula(total, costing.TotalOf(of(price), o.Per, d))
		t.formula(cost, costing.CostOf(of(total), d))
		t.formula(profit, of(earns).Minus(of(cost)))
		mark := text(r.Mark)
		if r.Mark != "" {
			mark = styled(r.Mark, sheet.Strong)
		}
		s.add(lives(price, d).as(sheet.Input), lives(total, d), lives(cost, d), lives(earns, d), lives(profit, d).
			as(sheet.Strong), plain(sheet.Money(r.Error)), plain(sheet.Money(r.P10)), plain(sheet.Money(r.P90)),
			plain(sheet.Percent(r.Loss, 1)), plain(sheet.Percent(r.Reached, 1)), whole(r.Made), whole(r.Set),
			whole(r.Left), mark)
	}
	return s
}

// check holds the formulas against the amounts of the model.
func (o *ParcelOffer) check(t *tally) error {
	for i, r := range o.Table {
		for key, want := range map[string]num.Money{"total": r.Total, "cost": r.Cost, "profit": r.Profit} {
			if err := t.gives(formula.At(key, i), want); err != nil {
				return fmt.Errorf("at %s: %w", r.Price.Words(), err)
			}
		}
	}
	return nil
}

func (o *ParcelOffer) stonesPage() *page {
	s := &page{Sheet: sheet.Sheet{Name: "Stones", Title: "What becomes of the stones, at the price of zero expected " +
		"profit", FreezeCol: 1, Columns: []sheet.Col{{Header: "Lot", Width: 14}, {Header: "Name", Width: 22},
		{Header: "Pieces", Width: 9}, {Header: "Set", Width: 9}, {Header: "Left", Width: 9},
		{Header: o.unit("One brings loose"), Width: 14}, {Header: o.unit("Left bring"), Width: 14}, {Header: "Price",
			Width: 20}}}}
	total := num.Zero(o.Currency)
	pieces, set := int64(0), int64(0)
	for _, u := range o.Uses {
		known := "price list"
		if !u.Known {
			known = "no loose price known"
		}
		s.add(styled(u.Lot, sheet.Strong), text(u.Name), whole(u.Pieces), whole(u.Set), whole(u.Pieces-u.Set),
			plain(sheet.Money(u.Each)), plain(sheet.Money(u.Left)), text(known))
		total, pieces, set = total.Add(u.Left), pieces+u.Pieces, set+u.Set
	}
	s.total(2, whole(pieces), whole(set), whole(pieces-set), text(""), plain(sheet.Money(total)))
	s.gap()
	s.add(styled("Design", sheet.Header), styled("", sheet.Header), number("Wanted"), number("Made"),
		number("Without the parcel"))
	for _, x := range o.Designs {
		s.add(text(x.Design), text(""), whole(x.Wanted), whole(x.Made), whole(x.Without))
	}
	return s
}

// Screen is the offer.
func (o *ParcelOffer) Screen() Screen { return screenOf(o.Text()) }

// Text is the offer as text.
func (o *ParcelOffer) Text() string {
	var b strings.Builder
	o.heading(&b)
	fmt.Fprintf(&b, "Parcel %s from %s (%s): %d lots, %d pieces, %s ct; for the line %s\n", o.Parcel, o.Vendor, o.Kind,
		o.Lots, o.Pieces, o.Weight, o.Line)
	fmt.Fprintf(&b, "\nThe most to pay, in %s\n", o.Currency)
	rows := [][]string{{"aim", "a carat", "a piece", "in all", "expected profit", "target reached", "next minor unit"}}
	for _, l := range o.Limits {
		if !l.Found {
			rows = append(rows, []string{l.Aim, "none: " + l.Reason, "", "", "", "", ""})
			continue
		}
		missed := ""
		if l.Missed != nil {
			missed = fmt.Sprintf("%s: %s, %s %%", l.Missed.Price, l.Missed.Profit, l.Missed.Reached.Fixed(2))
		}
		rows = append(rows, []string{l.Aim, l.PerCarat.Fixed(2), l.PerPiece.Fixed(2), l.Met.Total.String(),
			l.Met.Profit.String(), l.Met.Reached.Fixed(2) + " %", missed})
	}
	table(&b, rows)
	for _, l := range o.Limits {
		if l.Found {
			fmt.Fprintf(&b, "  %s: %s\n", l.Aim, l.Met.Plan)
		}
	}
	if o.Ask != nil {
		fmt.Fprintf(&b, "\n%s: %s %s, %s in all, earns %s +/- %s; one time in ten under %s, one in ten over %s; a "+
			"loss in %s %%, the target in %s %% of the runs\n",
			capital(o.Ask.Mark), o.Ask.Price.Words(), o.perWords(), o.Ask.Total.Words(), o.Ask.Profit.Words(),
			o.Ask.Error, o.Ask.P10, o.Ask.P90, o.Ask.Loss.Fixed(1), o.Ask.Reached.Fixed(1))
	}
	b.WriteString("\nWe pay, we earn\n")
	rows = [][]string{{"price", "in all", "cost by terms", "profit", "P10", "P90", "loss %", "target %", "made",
		"set", "left", ""}}
	for _, r := range o.Table {
		rows = append(rows, []string{r.Price.String(), r.Total.String(), r.Cost.String(), r.Profit.String(),
			r.P10.String(), r.P90.String(), r.Loss.Fixed(1), r.Reached.Fixed(1), fmt.Sprint(r.Made), fmt.Sprint(r.Set),
			fmt.Sprint(r.Left), r.Mark})
	}
	table(&b, rows)
	fmt.Fprintf(&b, "\nTerms: paid after %d days, %s %% cash discount, money at %s %% a year until the line is sold, "+
		"%s months on average\n", o.Terms.PayDays, o.Terms.CashDiscount, o.Terms.MoneyCost, o.Terms.SellMonths)
	fmt.Fprintf(&b, "%d runs, seed %d, the same random numbers at every price\n", o.Runs, o.Seed)
	for _, l := range []struct {
		label string
		words []string
	}{{"counted", o.Counted}, {"not counted", o.NotCounted}, {"note", o.Notes}} {
		for _, w := range l.words {
			fmt.Fprintf(&b, "%s: %s\n", l.label, w)
		}
	}
	fmt.Fprintf(&b, "\n%s\n", cautionValue)
	return b.String()
}
