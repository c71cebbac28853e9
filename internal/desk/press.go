package desk

import (
	"bytes"
	"context"
	"fmt"
	"io"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/facts"
	"lotpaper/internal/page"
	"lotpaper/internal/pdf"
	"lotpaper/internal/sheet"
	"lotpaper/internal/store"
)

// renderer names the way in which documents are rendered; it changes when the
// same model would give other bytes.
const renderer = "lotpaper-renderer/3"

// Model is what a document states: a workbook, a paper, or both.
type Model interface {
	SetHead(answer.Head)
	JSON() ([]byte, error)
}

// withWorkbook is a model that is written as a workbook, and withPaper one that is
// drawn.
type (
	withWorkbook interface {
		Workbook() (*sheet.Workbook, error)
	}
	withPaper interface{ Layout() *page.Paper }
)

// mostPrints is how often the papers of a write are rendered: again when the book has
// changed in between.
const mostPrints = 3

// press renders papers while the book is free for others. In the transaction a paper
// that is not ready yet waits, and the write is rolled back; what its model states,
// number and head included, is its key. So a paper that another write has overtaken
// waits again.
type press struct {
	ready   map[string][]book.File // workbook and drawing, by the model's JSON
	waiting []waiting
}

type waiting struct {
	number, key string
	model       Model
}

func (p *press) waits() bool { return len(p.waiting) > 0 }

// document is a paper with its files. While it waits it has none.
func (p *press) document(number string, d Draft, on book.Date, head store.Head) (book.Document, error) {
	raw, err := d.Model.JSON()
	if err != nil {
		return book.Document{}, err
	}
	out := book.Document{Number: number, Kind: d.Kind, Title: d.Title, On: on, Renderer: renderer,
		Facts: facts.Version(), Head: head.Hash, File: number + ".xlsx", Model: raw}
	key := string(raw)
	files, ok := p.ready[key]
	if !ok {
		p.waiting = append(p.waiting, waiting{number, key, d.Model})
		return out, nil
	}
	if workbook := files[0]; workbook.SHA256 != "" {
		out.SHA256, out.Bytes = workbook.SHA256, workbook.Bytes
	} else {
		out.File = number + ".pdf"
	}
	out.PDFSHA256, out.PDF = files[1].SHA256, files[1].Bytes
	return out, nil
}

// print renders what waits.
func (p *press) print(ctx context.Context) error {
	ready := make(map[string][]book.File, len(p.waiting))
	for _, w := range p.waiting {
		if err := ctx.Err(); err != nil {
			return err
		}
		files := make([]book.File, 2)
		for i, write := range []func(Model, io.Writer) (bool, error){writeWorkbook, writePDF} {
			var b bytes.Buffer
			written, err := write(w.model, &b)
			if err != nil {
				return fmt.Errorf("render %s: %w", w.number, err)
			}
			if written {
				files[i] = book.FileOf(b.Bytes())
			}
		}
		ready[w.key] = files
	}
	p.ready, p.waiting = ready, nil
	return nil
}

func writeWorkbook(m Model, to io.Writer) (bool, error) {
	x, ok := m.(withWorkbook)
	if !ok {
		return false, nil
	}
	wb, err := x.Workbook()
	if err != nil {
		return false, err
	}
	return true, wb.Write(to)
}

func writePDF(m Model, to io.Writer) (bool, error) {
	x, ok := m.(withPaper)
	if !ok {
		return false, nil
	}
	return true, pdf.Write(to, x.Layout())
}
