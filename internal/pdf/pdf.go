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

// Write lays a paper out and writes it as a PDF file. A text that the type cannot
// show is a fault, and nothing is written.
func Write(w io.Writer, p *page.Paper) error {
	advance, err := advance()
	if err != nil {
		return err
	}
	sheets, err := p.Sheets(advance)
	if err != nil {
		return err
	}
	doc, err := open(p)
	if err != nil {
		return err
	}
	for i := range sheets {
		draw(doc, &sheets[i])
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
func open(p *page.Paper) (*fpdf.Fpdf, error) {
	on, err := time.Parse(time.DateOnly, p.On)
	if err != nil {
		return nil, fmt.Errorf("draw %s: %w", p.Number, err)
	}
	doc := fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "mm",
		Size: fpdf.SizeType{Wd: p.Format.Width, Ht: p.Format.Height}})
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

// draw draws one sheet: its lines, then its words in the order in which they are
// read.
func draw(doc *fpdf.Fpdf, s *page.Sheet) {
	doc.AddPage()
	for _, l := range s.Lines {
		ink := l.Rule.Ink()
		doc.SetDrawColor(int(ink[0]), int(ink[1]), int(ink[2]))
		doc.SetLineWidth(l.Rule.Width())
		for i, q := range l.Points {
			if i == 0 {
				doc.MoveTo(q.X, q.Y)
			} else {
				doc.LineTo(q.X, q.Y)
			}
		}
		if l.Closed {
			doc.ClosePath()
		}
		doc.DrawPath("D")
	}
	for _, t := range s.Words {
		look := t.Style.Look()
		doc.SetFont(family, faces[look.Face].style, look.Points)
		doc.SetTextColor(int(look.Ink[0]), int(look.Ink[1]), int(look.Ink[2]))
		doc.Text(t.X, t.Y, t.Words)
	}
}
