package answer

import (
	"fmt"

	"lotpaper/internal/chart"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// pictureDPI is fine enough for print and small enough for mail.
const pictureDPI = 200

// picture renders a figure for a workbook, hung on a cell.
func picture(f chart.Figure, name, at string) (sheet.Picture, error) {
	raw, err := chart.PNG(f, pictureDPI)
	if err != nil {
		return sheet.Picture{}, fmt.Errorf("picture of %s: %w", name, err)
	}
	w, h := f.Size()
	return sheet.Picture{Name: name, PNG: raw, Cell: at, Width: w, Height: h}, nil
}

// pointsPerMM turns a picture's height into empty rows of standard height.
const rowMM = 15.0 * 25.4 / 72

// room adds empty rows under which a picture of that height fits.
func (p *page) room(height float64) {
	for range int(height/rowMM) + 2 {
		p.gap()
	}
}

func (p *Proposal) riskPage() (*page, error) {
	const wide = 5
	s := &page{Sheet: sheet.Sheet{Name: "Risk", Title: "Risk: what may come out differently",
		Columns: []sheet.Col{{Width: 34}, {Width: 14}, {Width: 14}, {Width: 21}, {Width: 21}}}}
	hang := func(f chart.Figure, name string) error {
		pic, err := picture(f, name, sheet.Ref(1, s.FirstRow()+len(s.rows)))
		if err != nil {
			return err
		}
		s.Pictures = append(s.Pictures, pic)
		s.room(pic.Height)
		return nil
	}
	if r := p.Risk; r != nil {
		s.section(p.unit("Profit of the line"), wide)
		s.add(styled("", sheet.Header), number("Value"), number("Standard error"))
		for _, l := range []struct {
			label string
			m, se num.Money
		}{{"One time in ten lower than", r.P10, r.P10Error}, {"As often above as below", r.P50, r.P50Error},
			{"One time in ten higher than", r.P90, r.P90Error}, {"Mean", r.Mean, r.StandardError}} {
			s.add(styled(l.label, sheet.Label), plain(sheet.Money(l.m)), plain(sheet.Money(l.se)))
		}
		s.add(styled("Chance of a loss (%)", sheet.Label), plain(sheet.Percent(r.LossChance, 1)),
			plain(sheet.Percent(r.LossError, 2)))
		s.add(append([]cell{styled("What was uncertain", sheet.Label)},
			text(fmt.Sprintf("%s. %d runs, seed %d: the same seed gives the same answer.", r.Counted, r.Runs, r.Seed)).
				across(wide-1)...)...)
		if r.NotCounted != "" {
			s.add(append([]cell{styled("Not counted", sheet.Label)}, text(sentence(r.NotCounted)).across(wide-1)...)...)
		}
		if len(r.Bins) > 0 {
			s.gap()
			if err := hang(profitHistogram(p.Line, p.Currency, r), "Histogram of the line's profit"); err != nil {
				return nil, err
			}
		}
		s.gap()
	}
	if len(p.Moves) > 0 {
		if p.Risk != nil { // a page of its own, so that no picture is cut
			s.Breaks = append(s.Breaks, s.FirstRow()+len(s.rows))
		}
		s.section("What moves the result most, each input over its own range", wide)
		s.gap()
		err := hang(profitTornado(p.Line, p.Currency, p.Profit, p.Moves), "Effect of each input on the line's profit")
		if err != nil {
			return nil, err
		}
		s.add(styled("Input", sheet.Header), styled("Low end", sheet.Header), styled("High end", sheet.Header),
			number(p.unit("Profit at low")), number(p.unit("Profit at high")))
		for _, m := range p.Moves {
			s.add(text(m.Input), text(m.Low), text(m.High), plain(sheet.Money(m.AtLow)), plain(sheet.Money(m.AtHigh)))
		}
	}
	s.notes(wide, "These are values of the day of the proposal: they do not follow when an assumption is changed.")
	return s, nil
}

// outline is a model's outline for the chart.
func outline(points []Point) chart.Outline {
	var out chart.Outline
	for _, p := range points {
		out = append(out, [2]float64{p.X.Float(), p.Y.Float()})
	}
	return out
}
