package answer

import (
	"fmt"
	"strings"

	"lotpaper/internal/chart"
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// Workbook is the plan as a workbook: Plan, Pieces, Stones, Shortages, what
// changed, and the stones of each piece to scale. What a piece earns and what
// the plan is worth follow from the stones by live formulas.
func (p *LinePlan) Workbook() (*sheet.Workbook, error) {
	t := newTally(p.Currency)
	pieces, stones := p.piecePage(t), p.stonePage(t)
	plan := p.planPage(t)
	if err := p.check(t); err != nil {
		return nil, fmt.Errorf("plan of the line %s: %w", p.Line, err)
	}
	pages := []*page{plan, pieces, stones, p.shortPage()}
	if len(p.Changes) > 0 {
		pages = append(pages, p.changePage())
	}
	drawn, err := scalePages(p.Figure())
	if err != nil {
		return nil, err
	}
	return assemble(p.Head, t, append(pages, drawn...))
}

// check holds the formulas against the amounts of the plan.
func (p *LinePlan) check(t *tally) error {
	for i, x := range p.Pieces {
		if err := t.gives(ofPiece("earns", i), x.Earns.Money); err != nil {
			return fmt.Errorf("%s: %w", x.Name(), err)
		}
	}
	return t.gives("value", p.Value.Money)
}

// ofPiece is the key of a figure of the i-th piece, or of the k-th of its stones.
func ofPiece(what string, at ...int) formula.Key { return formula.At("piece "+what, at...) }

// planPage is the summary.
func (p *LinePlan) planPage(t *tally) *page {
	const wide = 6
	s := &page{Sheet: sheet.Sheet{Name: "Plan", Title: p.Title, Columns: []sheet.Col{{Width: 24}, {Width: 18},
		{Width: 10}, {Width: 10}, {Width: 16}, {Width: 40}}}}
	s.pairs(wide-1, p.origin())
	d := p.digits()
	t.input("mismatch", p.Mismatch.Dec())
	t.formula("value", of("earned").Minus(of("mismatch")))
	s.gap()
	s.section("How good the plan is", wide)
	line := func(label string, c cell, words string) {
		s.add(append([]cell{styled(label, sheet.Label), c}, text(words).across(wide-2)...)...)
	}
	line(p.unit("Pieces earn"), shows("earned", d), "after their stones, the other costs of each piece and the "+
		"expected loss in setting")
	line(p.unit("Mismatch"), lives("mismatch", d), "counts against matched stones that differ; it steers the plan "+
		"and is no money")
	line(p.unit("Value"), lives("value", d), p.Status)
	line(p.unit("No plan is worth more than"), plain(sheet.Money(p.Bound.Money)),
		fmt.Sprintf("proven gap %.2f %%", p.GapPercent))
	s.gap()
	s.add(styled("Design", sheet.Header), styled("Piece", sheet.Header), number("Wanted"), number("Planned"),
		number(p.unit("Before stones")), styled("Remarks", sheet.Header))
	for _, x := range p.Designs {
		s.add(styled(x.Design, sheet.Strong), text(x.Piece), whole(x.Wanted), whole(x.Planned),
			plain(sheet.Money(x.Before.Money)), text(sentence(p.remark(x.Design))))
	}
	s.gap()
	s.section("Basis", wide)
	s.pairs(wide-1, append(p.basis(), [2]string{"Stones count at", p.Basis}))
	s.notes(wide, p.Notes...)
	return s
}

// piecePage has a row for each piece.
func (p *LinePlan) piecePage(t *tally) *page {
	d := p.digits()
	s := &page{Sheet: sheet.Sheet{Name: "Pieces", Title: "Pieces of the line " + p.Line, FreezeCol: 1,
		Columns: []sheet.Col{
			{Header: "Piece", Width: 24}, {Header: "Stones", Width: 9}, {Header: p.unit("Before stones"), Width: 16},
			{Header: p.unit("Stones cost"), Width: 16}, {Header: p.unit("Earns"), Width: 16}}}}
	for i, x := range p.Pieces {
		t.input(ofPiece("before", i), p.design(x.Design).Before.Dec())
		t.sum(ofPiece("stones", i), len(x.Stones), func(k int) formula.Key { return ofPiece("cost", i, k) })
		t.formula(ofPiece("earns", i), of(ofPiece("before", i)).Minus(of(ofPiece("stones", i))))
		n := int64(0)
		for _, st := range x.Stones {
			n += st.Pieces
		}
		s.add(styled(x.Name(), sheet.Strong), whole(n), lives(ofPiece("before", i), d), lives(ofPiece("stones", i), d),
			lives(ofPiece("earns", i), d))
	}
	if len(p.Pieces) == 0 {
		t.input("earned", num.Zero(p.Currency).Dec())
		s.add(text("No piece can be made."), cell{}, cell{}, cell{}, lives("earned", d))
		return s
	}
	for _, sum := range []struct {
		key formula.Key
		of  string
	}{{"before", "before"}, {"stones", "stones"}, {"earned", "earns"}} {
		t.sum(sum.key, len(p.Pieces), func(i int) formula.Key { return ofPiece(sum.of, i) })
	}
	s.total(2, lives("before", d), lives("stones", d), lives("earned", d))
	return s
}

// stonePage has a row for each lot in each position of each piece.
func (p *LinePlan) stonePage(t *tally) *page {
	s := &page{Sheet: sheet.Sheet{Name: "Stones", Title: "Stones of each piece", Landscape: true, FreezeCol: 2,
		Columns: []sheet.Col{
			{Header: "Piece", Width: 20}, {Header: "Position", Width: 13}, {Header: "Lot", Width: 12}, {Header: "Stone",
				Width: 20}, {Header: "Size (mm)", Width: 19}, {Header: "Pieces", Width: 8},
			{Header: "By scale (ct)", Width: 10}, {Header: p.unit("Cost"), Width: 11}, {Header: "Match", Width: 30},
			{Header: "Remarks", Width: 30}}}}
	s.Notes = []string{"Cost is what using the stone costs the plan, with the expected loss in setting. Carats of a " +
		"lot's pieces are its average."}
	for i, x := range p.Pieces {
		for k, st := range x.Stones {
			key := ofPiece("cost", i, k)
			t.input(key, st.Cost.Dec())
			s.add(styled(x.Name(), sheet.Strong), text(st.Position), text(st.Lot),
				text(strings.TrimSpace(st.Name+" "+st.Shape)), text(st.Size), whole(st.Pieces),
				plain(sheet.Carats(st.Carats)), lives(key, p.digits()), text(sentence(st.Mismatch)),
				text(sentence(st.Note)))
		}
	}
	return s
}

// shortPage lists what is short, and what would help.
func (p *LinePlan) shortPage() *page {
	s := &page{Sheet: sheet.Sheet{Name: "Shortages", Title: "What is short", Landscape: true, FreezeCol: 2,
		Columns: []sheet.Col{
			{Header: "Design", Width: 18}, {Header: "Position", Width: 13}, {Header: "Stones short", Width: 9},
			{Header: "Why", Width: 60}, {Header: p.unit("One more may cost at most"), Width: 20},
			{Header: "What would help", Width: 50}}}}
	for _, x := range p.Short {
		var help []string
		for _, r := range x.Relaxed {
			help = append(help, r.Words())
		}
		s.add(styled(x.Design, sheet.Strong), text(x.Position), whole(x.Missing), text(sentence(x.Why)),
			text(x.cell()).as(sheet.Plain), text(strings.Join(help, "\n")))
	}
	if len(p.Short) == 0 {
		s.add(text("Nothing is short.").across(5)...)
	}
	return s
}

func (p *LinePlan) changePage() *page {
	s := &page{Sheet: sheet.Sheet{Name: "Changes", Title: "What moved since the earlier plan", Landscape: true,
		FreezeCol: 2, Columns: []sheet.Col{
			{Header: "Design", Width: 18}, {Header: "Position", Width: 13}, {Header: "Lot", Width: 13},
			{Header: "Before", Width: 8}, {Header: "Now", Width: 8}, {Header: "Why", Width: 70}}}}
	for _, c := range p.Changes {
		s.add(styled(c.Design, sheet.Strong), text(c.Position), text(c.Lot), whole(c.Before), whole(c.After),
			text(sentence(c.Why)))
	}
	return s
}

// drawnPerPage is how many pieces a page of pictures holds.
const drawnPerPage = 15

// scalePages picture pieces with their stones to scale.
func scalePages(figure chart.Plan) ([]*page, error) {
	var pages []*page
	for i := 0; i < len(figure.Pieces); i += drawnPerPage {
		name := "To scale"
		if i > 0 {
			name = fmt.Sprintf("To scale %d", i/drawnPerPage+1)
		}
		s := &page{Sheet: sheet.Sheet{Name: name, Columns: []sheet.Col{{Width: 98}}}}
		part := chart.Plan{Title: figure.Title, Pieces: figure.Pieces[i:min(i+drawnPerPage, len(figure.Pieces))]}
		pic, err := picture(part, "The stones of each piece, to scale", "A1")
		if err != nil {
			return nil, err
		}
		s.Pictures = []sheet.Picture{pic}
		s.room(pic.Height)
		pages = append(pages, s)
	}
	return pages, nil
}
