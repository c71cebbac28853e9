package answer

import (
	"cmp"
	"fmt"
	"strings"

	"lotpaper/internal/sheet"
)

// candidatesShown and excludedShown limit what the sheet of a lot names.
const candidatesShown, excludedShown = 12, 8

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
		Columns: []sheet.Col{{Header: "Lot", Width: 13}, {Header: "Claim", Width: 16}, {Header: "State", Width: 13},
			{Header: "Tested", Width: 8}, {Header: "Of", Width: 7}, {Header: "Others, at most", Width: 16},
			{Header: "What was found", Width: 48}, {Header: "Still possible", Width: 32},
			{Header: "Next test", Width: 26}}}}
	for i := range d.Lots {
		l := &d.Lots[i]
		var left []string
		for _, c := range shown(l.worst().Candidates, candidatesShown) {
			left = append(left, c.Species+" "+c.percent())
		}
		next := "none in this kit"
		if n := l.worst().Next; len(n) > 0 {
			next = n[0].Test
		}
		sum.add(styled(l.Lot, sheet.Strong), text(cmp.Or(l.Claim, "none")), styled(l.State, levelOfState(l.State)),
			whole(int64(l.Tested)), whole(int64(l.Of)), text(l.boundWords()), text(l.found()),
			text(strings.Join(left, ", ")), text(next))
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

func (c *Candidate) percent() string { return fmt.Sprintf("%.1f %%", 100*c.Share) }

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
		l.Of)}, {"Others, at most", l.boundWords()}, {"Found", l.found()}}
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
		rows = append(rows, [3]string{c.Species, c.percent(), sentence(c.Standing)})
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
