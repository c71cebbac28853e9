package answer

import (
	"cmp"
	"fmt"
	"strings"

	"lotpaper/internal/chart"
	"lotpaper/internal/sheet"
)

// Workbook is the report as a workbook: a summary, then a sheet per lot with
// its chart.
func (r *IdentityReport) Workbook() (*sheet.Workbook, error) {
	sum := &page{Sheet: sheet.Sheet{Name: "Lots in doubt", Title: r.Title, Landscape: true, FreezeCol: 1,
		Notes: []string{
			strings.Join(fields(string(r.On), r.Dealer, r.Scope), ", ") + ".",
			fmt.Sprintf("%d materials were considered: a verdict is worth no more than the table is complete. Facts, "+
				"version %s; book, head hash %s.", r.Considered, cmp.Or(r.Facts, "not known"), cmp.Or(r.Book, "none")),
			cautionTests},
		Columns: []sheet.Col{{Header: "Lot", Width: 13}, {Header: "Claim", Width: 16}, {Header: "State", Width: 13},
			{Header: "Tested", Width: 8}, {Header: "Of", Width: 7}, {Header: "Others, at most", Width: 16},
			{Header: "What was found", Width: 48}, {Header: "Still possible", Width: 32}, {Header: "Next test",
				Width: 26}}}}
	for _, l := range r.Lots {
		var left []string
		for _, c := range l.Candidates {
			left = append(left, strings.TrimSpace(c.Name+" "+c.Share))
		}
		next := "none in this kit"
		if len(l.Next) > 0 {
			next = l.Next[0].Test
		}
		sum.add(styled(l.Lot, sheet.Strong), text(cmp.Or(l.Claim, "none")), styled(l.State, levelOfState(l.State)),
			whole(l.Tested), whole(l.Of), text(l.Bound), text(sentence(l.Says)), text(strings.Join(left, ", ")),
			text(next))
	}
	if len(r.Lots) == 0 {
		sum.add(text("No lot is in doubt.").across(5)...)
	}
	pages, err := r.lotPages()
	if err != nil {
		return nil, err
	}
	return assemble(r.Head, newTally(r.Currency), append([]*page{sum}, pages...))
}

// lotPages are a sheet for each lot, with its chart.
func (r *IdentityReport) lotPages() ([]*page, error) {
	var pages []*page
	names := map[string]bool{}
	for _, l := range r.Lots {
		name := sheet.SheetName("Lot " + l.Lot)
		if names[strings.ToLower(name)] {
			return nil, fmt.Errorf("identity report: lot %s is there twice", l.Lot)
		}
		names[strings.ToLower(name)] = true
		pg, err := l.page(name)
		if err != nil {
			return nil, fmt.Errorf("identity report: %w", err)
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

func (l IdentityLot) page(name string) (*page, error) {
	const wide = 3
	s := &page{Sheet: sheet.Sheet{Name: name, Title: "Lot " + l.Lot + ": " + l.State, Columns: []sheet.Col{{Width: 24},
		{Width: 16}, {Width: 56}}}}
	lines := [][2]string{{"Claimed as", cmp.Or(l.Claim, "not named")}, {"Tested", fmt.Sprintf("%d of %d", l.Tested,
		l.Of)}, {"Others, at most", l.Bound}, {"Found", sentence(l.Says)}}
	s.pairs(wide-1, withValue(lines))
	if l.Chart != nil {
		figure := l.Chart.Figure("Lot " + l.Lot + ": refractive index against specific gravity")
		pic, err := picture(figure, figure.Title, sheet.Ref(1, s.FirstRow()+len(s.rows)+1))
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
	for _, c := range l.Candidates {
		rows = append(rows, [3]string{c.Name, c.Share, sentence(c.Notes)})
	}
	three("Still possible", rows)
	rows = nil
	for _, e := range l.Excluded {
		rows = append(rows, [3]string{e.Name, "", sentence(e.Reason)})
	}
	three("Excluded", rows)
	rows = nil
	for _, n := range l.Next {
		rows = append(rows, [3]string{n.Test, "", sentence(strings.Join(fields(n.Splits, n.Why), ": "))})
	}
	three("Next test", rows)
	rows = nil
	for _, f := range l.Facets {
		rows = append(rows, [3]string{capital(f.Name), "", sentence(f.Words())})
	}
	three("What is known, and how", rows)
	if len(l.NotSeparated) > 0 {
		s.gap()
		s.section("Not separated by these tests", wide)
		s.add(text(sentence(strings.Join(l.NotSeparated, "; "))).across(wide)...)
	}
	return s, nil
}

// Figure is the chart's picture.
func (c *IdentityChart) Figure(title string) chart.Identity {
	f := chart.Identity{Title: title}
	for _, b := range c.Boxes {
		f.Boxes = append(f.Boxes, chart.IdentityBox{Name: b.Name, SGLow: b.SGLow, SGHigh: b.SGHigh, NLow: b.NLow,
			NHigh: b.NHigh, Left: b.Left, Claimed: b.Claimed})
	}
	for _, s := range c.Stones {
		f.Stones = append(f.Stones, chart.IdentityStone{Name: s.Name, SG: s.SG, SGU: s.SGU, NLow: s.NLow,
			NHigh: s.NHigh, NU: s.NU})
	}
	return f
}
