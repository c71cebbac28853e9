package answer

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// candidatesShown and excludedShown limit what the sheet of a lot names, and
// leastShown the share of what may still be.
const (
	candidatesShown = 12
	excludedShown   = 8
	leastShown      = 0.001
)

// Workbook is the identity of lots as a workbook: a summary, then a sheet per
// lot with the account of its worst stone and its chart.
func (d *Identity) Workbook() (*sheet.Workbook, error) {
	considered := 0
	for _, l := range d.Lots {
		considered = max(considered, l.worst().Considered)
	}
	sum := &page{Sheet: sheet.Sheet{Name: "Lots in doubt", Title: d.Title, Landscape: true, FreezeCol: 1,
		Notes: []string{
			strings.Join(fields(string(d.On), d.Dealer, d.Scope), ", ") + ".",
			fmt.Sprintf("%d materials were considered: a verdict is worth no more than the table is complete. Facts, "+
				"version %s; book, head hash %s.", considered, cmp.Or(d.Facts, "not known"), cmp.Or(d.Book, "none")),
			cautionTests},
		Columns: []sheet.Col{{Header: "Lot", Width: 12}, {Header: "Claim", Width: 16}, {Header: "State", Width: 14.5},
			{Header: "Tested", Width: 7.5}, {Header: "Of", Width: 6.5}, {Header: "Chance of the claim (%)", Width: 10},
			{Header: "Others expected", Width: 11}, {Header: "Others at most", Width: 10},
			{Header: d.unit("Expected loss"), Width: 12}, {Header: d.unit("Loss at most"), Width: 12},
			{Header: "What was found", Width: 40}, {Header: "Still possible", Width: 30},
			{Header: "Next", Width: 24}}}}
	for i := range d.Lots {
		l := &d.Lots[i]
		sum.add(styled(l.Lot, sheet.Strong), text(cmp.Or(l.Claim, "none")), styled(l.State, levelOfState(l.State)),
			whole(int64(l.Tested)), whole(int64(l.Of)), plain(l.chanceCell()), plain(l.expectedCell()),
			plain(l.upperCell()), plain(moneyOf(l.ExpectedLoss)), plain(moneyOf(l.LossBound)), text(l.foundFirst()),
			text(strings.Join(l.possible(), ", ")), text(l.nextStep()))
	}
	if len(d.Lots) == 0 {
		sum.add(text("No lot is in doubt.").across(5)...)
	}
	pages, err := d.lotPages()
	if err != nil {
		return nil, err
	}
	return assemble(d.Head, newTally(d.Currency), append([]*page{sum}, pages...))
}

// shown are the first most of a list.
func shown[T any](list []T, most int) []T { return list[:min(most, len(list))] }

// moneyOf is the cell of an amount; empty when it is not known.
func moneyOf(m *num.Money) sheet.Cell {
	if m == nil {
		return sheet.Empty()
	}
	return sheet.Money(*m)
}

// foundFirst is the first reason of a lot's state, and of a lot that its tests do
// not leave in order what the worst of its stones shows.
func (l *LotIdentity) foundFirst() string {
	out := slices.Clone(shown(l.Reasons, 1))
	if w := l.worst(); w.Why != "" && w.Standing != "claim" {
		out = append(out, strings.TrimPrefix(w.Stone+": ", ": ")+w.Why)
	}
	return sentence(strings.Join(out, "; "))
}

// possible are what the worst stone can be, down to 0.1 %, with their shares.
func (l *LotIdentity) possible() []string {
	var out []string
	for _, c := range shown(l.worst().Candidates, candidatesShown) {
		if c.Share >= leastShown {
			out = append(out, c.Species+" "+percent(c.Share))
		}
	}
	return out
}

// nextStep is what to do next: sort out the stones that are not the claim, test
// the worst one, or further ones when all are the claim.
func (l *LotIdentity) nextStep() string {
	w := l.worst()
	switch {
	case w.Standing == notTheClaim && l.Of > 1:
		return "test that stone again, then sort the lot by identity"
	case len(w.Next) > 0 && w.Standing != "claim":
		return w.Next[0].Test
	case l.More > 0:
		return fmt.Sprintf("test %d more, drawn at random", l.More)
	case len(w.Next) > 0:
		return w.Next[0].Test
	}
	return cmp.Or(w.Enough, "no test of this kit")
}

func (l *LotIdentity) found() string { return sentence(strings.Join(l.Reasons, "; ")) }

// boundWords are "at most 28 % others at 95 % confidence"; empty when nothing
// bounds the others.
func (l *LotIdentity) boundWords() string {
	if l.UpperBound == nil {
		return ""
	}
	return fmt.Sprintf("at most %s others at %.0f %% confidence", l.bound(), 100*l.Confidence)
}

// lotPages are a sheet for each lot, with its chart.
func (d *Identity) lotPages() ([]*page, error) {
	var pages []*page
	names := map[string]bool{}
	for i := range d.Lots {
		l := &d.Lots[i]
		name := sheet.SheetName("Lot " + l.Lot)
		if names[strings.ToLower(name)] {
			return nil, fmt.Errorf("identity of lots: lot %s is there twice", l.Lot)
		}
		names[strings.ToLower(name)] = true
		pg, err := l.page(name)
		if err != nil {
			return nil, fmt.Errorf("identity of lots: %w", err)
		}
		pages = append(pages, pg)
	}
	return pages, nil
}

func levelOfState(state string) sheet.Style {
	if state == "mixed" || state == "contradicted" {
		return sheet.Strong
	}
	return sheet.Plain
}

func (l *LotIdentity) page(name string) (*page, error) {
	const wide = 3
	s := &page{Sheet: sheet.Sheet{Name: name, Title: "Lot " + l.Lot + ": " + l.State, Columns: []sheet.Col{{Width: 24},
		{Width: 16}, {Width: 56}}}}
	lines := [][2]string{{"Claimed as", cmp.Or(l.Claim, "not named")}, {"Tested", fmt.Sprintf("%d of %d", l.Tested,
		l.Of)}, {"Others, at most", l.boundWords()}, {"If sold as claimed", sentence(l.lossWords())},
		{"Found", l.found()}}
	s.pairs(wide-1, withValue(lines))
	if l.Chart != nil {
		picked := *l.Chart
		picked.Title = "Lot " + l.Lot + ": refractive index against specific gravity"
		pic, err := picture(picked.Figure(), picked.Title, sheet.Ref(1, s.FirstRow()+len(s.rows)+1))
		if err != nil {
			return nil, err
		}
		s.Pictures = append(s.Pictures, pic)
		s.room(pic.Height)
	}
	three := func(title string, rows [][3]string) {
		if len(rows) == 0 {
			return
		}
		s.gap()
		s.section(title, wide)
		for _, r := range rows {
			s.add(styled(r[0], sheet.Strong), text(r[1]), text(r[2]))
		}
	}
	var rows [][3]string
	stone := l.worst()
	for _, c := range shown(stone.Candidates, candidatesShown) {
		if c.Share >= leastShown {
			rows = append(rows, [3]string{c.Species, percent(c.Share), sentence(c.Standing)})
		}
	}
	three("Still possible", rows)
	rows = nil
	for _, e := range shown(stone.Excluded, excludedShown) {
		rows = append(rows, [3]string{e.Species, "", sentence(e.Reason)})
	}
	three("Excluded", rows)
	rows = nil
	for _, n := range stone.Next {
		words := fields(strings.Join(n.Splits, "; "), n.Why)
		rows = append(rows, [3]string{n.Test, "", sentence(strings.Join(words, ": "))})
	}
	three("Next test", rows)
	rows = nil
	for _, f := range l.Facets {
		rows = append(rows, [3]string{capital(f.Name), "", sentence(f.Words())})
	}
	three("What is known, and how", rows)
	if len(stone.NotSeparated) > 0 {
		s.gap()
		s.section("Not separated by these tests", wide)
		s.add(text(sentence(strings.Join(stone.NotSeparated, "; "))).across(wide)...)
	}
	return s, nil
}
