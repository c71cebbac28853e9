package desk

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/facts"
	"lotpaper/internal/ledger"
	"lotpaper/internal/sheet"
	"lotpaper/internal/store"
)

// renderer names the way in which documents are rendered; it changes when the
// same model would give other bytes.
const renderer = "lotpaper-renderer/1"

// Model is a document before it has a number.
type Model interface {
	JSON() ([]byte, error)
	Workbook() (*sheet.Workbook, error)
}

// Draft is a document to be issued: make fills in the head that the issue
// gives it.
type Draft struct {
	Kind  string // PROPOSAL, ORDER, CARE
	Title string
	Make  func(answer.Head) Model
}

// DocumentHead is what every paper says of itself: head is the state of the
// book that it was read from.
func DocumentHead(c Config, meta store.Meta, head store.Head, on book.Date, number, title string) answer.Head {
	return answer.Head{
		Number: number, Title: title, On: on, Dealer: c.Name, Facts: facts.Version(), Book: head.Hash,
		Currency: meta.Currency, Carats: c.CaratRule,
	}
}

// Issue numbers, renders and keeps documents in one entry, with further
// records beside them. Nothing that the documents were made from may have
// changed since; they print the head that they were read at.
func Issue(ctx context.Context, tx store.Tx, s Stamp, c Config, from *Basis, reason string, drafts []Draft,
	records func(numbers []string) []book.Record) ([]book.Document, string, error) {
	if err := from.Unchanged(ctx, tx); err != nil {
		return nil, "", err
	}
	e := s.Entry(ledger.Record, reason)
	var out []book.Document
	var numbers []string
	for _, d := range drafts {
		series := fmt.Sprintf("%s/%s-%d", book.KindDocument, d.Kind, s.On.Year())
		n, err := tx.Next(ctx, series)
		if err != nil {
			return nil, "", err
		}
		for _, earlier := range out {
			if earlier.Kind == d.Kind {
				n++
			}
		}
		number := book.DocumentNumber(d.Kind, s.On.Year(), int(n))
		m := d.Make(DocumentHead(c, tx.Meta(), from.Head, s.On, number, d.Title))
		doc, err := render(number, d, m, s.On, from.Head)
		if err != nil {
			return nil, "", err
		}
		out = append(out, doc)
		numbers = append(numbers, number)
		e.Records = append(e.Records, doc)
	}
	if records != nil {
		e.Records = append(e.Records, records(numbers)...)
	}
	return out, e.Code, tx.Post(ctx, &e)
}

func render(number string, d Draft, m Model, on book.Date, head store.Head) (book.Document, error) {
	raw, err := m.JSON()
	if err != nil {
		return book.Document{}, err
	}
	wb, err := m.Workbook()
	if err != nil {
		return book.Document{}, fmt.Errorf("render %s: %w", number, err)
	}
	var b bytes.Buffer
	if err := wb.Write(&b); err != nil {
		return book.Document{}, fmt.Errorf("render %s: %w", number, err)
	}
	sum := sha256.Sum256(b.Bytes())
	return book.Document{
		Number: number, Kind: d.Kind, Title: d.Title, On: on, Renderer: renderer, Facts: facts.Version(),
		Head: head.Hash,
		File: number + ".xlsx", SHA256: hex.EncodeToString(sum[:]), Model: raw, Bytes: b.Bytes(),
	}, nil
}

// DocumentList asks for the issued documents.
type DocumentList struct{}

// DocumentList returns the issued documents, oldest first.
func (desk *Desk) DocumentList(ctx context.Context, _ DocumentList) (answer.DocumentList, error) {
	out := answer.DocumentList{Documents: []answer.Issued{}}
	err := desk.View(ctx, func(tx store.ReadTx) error {
		return store.Each(ctx, tx, store.RowFilter{Limit: 100}, func(d book.Document) error {
			out.Documents = append(out.Documents, answer.IssuedOf(d))
			return nil
		})
	})
	return out, err
}

// DocumentFile asks for one issued document.
type DocumentFile struct{ Number string }

// DocumentFile returns an issued document and the bytes that were issued.
func (desk *Desk) DocumentFile(ctx context.Context, r DocumentFile) (answer.DocumentFile, error) {
	var out answer.DocumentFile
	err := desk.View(ctx, func(tx store.ReadTx) error {
		d, err := store.Get[book.Document](ctx, tx, r.Number)
		if err != nil {
			return NotFound(err, "document", r.Number)
		}
		out.Issued = answer.IssuedOf(d)
		out.Bytes, err = tx.File(ctx, d.Number)
		return err
	})
	return out, err
}
