// Package pdf draws papers as PDF files, the same bytes every time: text that can
// be selected, in embedded fonts. Where everything stands is page's; pdf computes
// nothing. It is the only importer of the PDF library.
package pdf

import (
	"bytes"
	"fmt"
	"io"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"lotpaper/internal/page"
)

// family is the name of the type in the library.
const family = "source serif"

// Sheets lays a paper out in the type that it is printed in. A text that the type
// cannot show, a word that is too wide and a row that no sheet has room for are
// faults: whoever numbers a paper asks first.
func Sheets(p *page.Paper) ([]page.Sheet, error) {
	advance, err := advance()
	if err != nil {
		return nil, err
	}
	return p.Sheets(advance)
}

// Write lays a paper out and writes it as a PDF file. Where Sheets tells a fault,
// nothing is written.
func Write(w io.Writer, p *page.Paper) error {
	sheets, err := Sheets(p)
	if err != nil {
		return err
	}
	doc, err := open(p, sheets)
	if err != nil {
		return err
	}
	pictures := 0
	for i := range sheets {
		doc.AddPage()
		for _, x := range sheets[i].Pictures {
			if err := place(doc, x, &pictures); err != nil {
				return fmt.Errorf("draw a picture of %s: %w", p.Number, err)
			}
		}
		draw(doc, p, &sheets[i])
	}
	var b bytes.Buffer // the library writes an empty file after a fault of its own
	if err := doc.Output(&b); err != nil {
		return fmt.Errorf("draw %s: %w", p.Number, err)
	}
	_, err = w.Write(b.Bytes())
	return err
}

// open begins a file: its size, its fonts, and what it says of itself. Nothing in
// it depends on when or where it is drawn.
func open(p *page.Paper, sheets []page.Sheet) (*fpdf.Fpdf, error) {
	on, err := time.Parse(time.DateOnly, p.On)
	if err != nil {
		return nil, fmt.Errorf("draw %s: %w", p.Number, err)
	}
	doc := fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "mm",
		Size: fpdf.SizeType{Wd: sheets[0].Width, Ht: sheets[0].Height}})
	doc.SetAutoPageBreak(false, 0)
	doc.SetCatalogSort(true)
	doc.SetCreationDate(on)
	doc.SetModificationDate(on)
	doc.SetProducer("lotpaper", false)
	doc.SetTitle(p.Title, true)
	doc.SetAuthor(p.Author, true)
	doc.SetLang(p.Language)
	doc.SetLineCapStyle("butt")
	doc.SetLineJoinStyle("round")
	all, err := loaded()
	if err != nil {
		return nil, err
	}
	for i, f := range faces {
		doc.AddUTF8FontFromBytes(family, f.style, bytes.Clone(all[i].raw)) // the library may write into it
	}
	return doc, doc.Error()
}

// draw draws one sheet over its pictures: its lines, then its words in the order
// in which they are read.
func draw(doc *fpdf.Fpdf, p *page.Paper, s *page.Sheet) {
	for _, l := range s.Lines {
		stroke(doc, l)
	}
	for _, t := range s.Words {
		look := p.Look(t.Style)
		doc.SetFont(family, faces[look.Face].style, look.Points)
		doc.SetTextColor(int(look.Ink[0]), int(look.Ink[1]), int(look.Ink[2]))
		doc.Text(t.X, t.Y, t.Words)
	}
}

// stroke draws a line, or fills what it goes around.
func stroke(doc *fpdf.Fpdf, l page.Line) {
	ink, how := l.Rule.Ink(), "D"
	if l.Filled {
		how = "F"
		doc.SetFillColor(int(ink[0]), int(ink[1]), int(ink[2]))
	}
	doc.SetDrawColor(int(ink[0]), int(ink[1]), int(ink[2]))
	doc.SetLineWidth(l.Rule.Width())
	if l.Dashed {
		doc.SetDashPattern([]float64{dash, dash}, 0)
		defer doc.SetDashPattern(nil, 0)
	}
	doc.MoveTo(l.Points[0].X, l.Points[0].Y)
	rest := l.Points[1:]
	for ; l.Curved && len(rest) > 2; rest = rest[3:] {
		doc.CurveBezierCubicTo(rest[0].X, rest[0].Y, rest[1].X, rest[1].Y, rest[2].X, rest[2].Y)
	}
	for _, q := range rest {
		doc.LineTo(q.X, q.Y)
	}
	if l.Closed {
		doc.ClosePath()
	}
	doc.DrawPath(how)
}

// dash is the length of a dash and of the gap after it, mm.
const dash = 1
