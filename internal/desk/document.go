package desk

import (
	"bytes"
	"context"
	"fmt"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/pdf"
	"lotpaper/internal/store"
)

// Draft is a document before it has a number and a head.
type Draft struct {
	Kind  string // PROPOSAL, ORDER, CARE
	Title string
	Model Model
}

// Papers are documents to be issued together.
type Papers struct {
	Reason string
	From   *Basis // what they were made from
	Drafts []Draft
}

// Issued is documents with their numbers, and the entry that keeps them.
type Issued struct {
	Entry     ledger.Entry
	Documents []book.Document
}

// Head is what an answer says of itself as a paper; an empty date is today.
func (desk *Desk) Head(ctx context.Context, tx store.ReadTx, c config.Config, on book.Date, title string) (answer.Head,
	error) {
	head, err := tx.Head(ctx)
	return documentHead(c, tx.Meta(), head, desk.Today(tx, on), "", title), err
}

// documentHead is what every paper says of itself: head is the state of the
// book that it was read from.
func documentHead(c config.Config, meta store.Meta, head store.Head, on book.Date, number, title string) answer.Head {
	return answer.Head{
		Number: number, Title: title, On: on, Dealer: c.Name, Facts: facts.Version(), Book: head.Hash,
		Currency: meta.Currency, Carats: c.CaratRule, House: c.House,
	}
}

// ListHead is what the file of a list says of itself: when it was read, and
// from which state of whose book. It reads no other setting: a list must stand
// beside a setting that cannot be read.
func (desk *Desk) ListHead(ctx context.Context, tx store.ReadTx, title string) (answer.Head, error) {
	values, err := config.Values(ctx, tx)
	if err != nil {
		return answer.Head{}, err
	}
	return desk.Head(ctx, tx, config.Config{Name: values["name"]}, "", title)
}

// Issue numbers and renders papers. The caller posts the entry that keeps them,
// with the records that name their numbers. Nothing that the papers were made
// from may have changed since; they print the head that they were read at.
func Issue(ctx context.Context, tx store.Tx, s Stamp, p Papers) (Issued, error) {
	out := Issued{Entry: s.Entry(ledger.Record, p.Reason)}
	if err := p.From.Unchanged(ctx, tx); err != nil {
		return out, err
	}
	cfg, err := config.Load(ctx, tx)
	if err != nil {
		return out, err
	}
	logo, err := logoOf(ctx, tx, cfg.House)
	if err != nil {
		return out, err
	}
	for _, d := range p.Drafts {
		n, err := tx.Next(ctx, fmt.Sprintf("%s/%s-%d", book.KindDocument, d.Kind, s.On.Year()))
		if err != nil {
			return out, err
		}
		for _, earlier := range out.Documents {
			if earlier.Kind == d.Kind {
				n++
			}
		}
		number := book.DocumentNumber(d.Kind, s.On.Year(), int(n))
		head := documentHead(cfg, tx.Meta(), p.From.Head, s.On, number, d.Title)
		head.Logo = logo
		d.Model.SetHead(head)
		doc, err := s.press.document(number, d, s.On, p.From.Head)
		if err != nil {
			return out, err
		}
		out.Documents = append(out.Documents, doc)
		out.Entry.Records = append(out.Entry.Records, doc)
	}
	return out, nil
}

// DocumentList asks for the issued documents.
type DocumentList struct{}

// DocumentList returns the issued documents, oldest first.
func (desk *Desk) DocumentList(ctx context.Context, _ DocumentList) (answer.DocumentList, error) {
	out := answer.DocumentList{Documents: []answer.IssuedRow{}}
	err := desk.View(ctx, func(tx store.ReadTx) (err error) {
		if out.Head, err = desk.ListHead(ctx, tx, "Documents"); err != nil {
			return err
		}
		reversed, err := tx.Reversals(ctx)
		if err != nil {
			return err
		}
		return store.EachRow(ctx, tx, store.RowFilter{Limit: 100}, func(row store.Row, d book.Document) error {
			out.Documents = append(out.Documents, answer.IssuedRow{Issued: answer.IssuedOf(d),
				Void: reversed[row.Since]})
			return nil
		})
	})
	return out, err
}

// Form is the kind of file that a document is asked for as.
type Form string

// The forms. Every document was issued as a workbook.
const (
	Workbook Form = ""
	PDF      Form = "pdf"
)

// DocumentFile asks for one issued document in a form.
type DocumentFile struct {
	Number string
	Form   Form
}

// DocumentFile returns an issued document: the workbook as the bytes that were
// issued, a PDF drawn from the model that was kept, the same bytes every time.
func (desk *Desk) DocumentFile(ctx context.Context, r DocumentFile) (answer.DocumentFile, error) {
	var out answer.DocumentFile
	err := desk.View(ctx, func(tx store.ReadTx) error {
		d, err := Named[book.Document](ctx, tx, r.Number)
		if err != nil {
			return err
		}
		out.Issued = answer.IssuedOf(d)
		switch {
		case r.Form == PDF && d.PDFSHA256 == "":
			out.File = d.Number + ".pdf"
			out.Bytes, err = drawn(d)
		case r.Form == PDF || d.SHA256 == "":
			out.File = d.Number + ".pdf"
			out.Bytes, err = tx.File(ctx, d.PDFSHA256)
		default:
			out.Bytes, err = tx.File(ctx, d.SHA256)
		}
		return err
	})
	return out, err
}

// drawn is a document as a PDF file.
func drawn(d book.Document) ([]byte, error) {
	p, err := answer.PaperOf(d)
	if err != nil {
		return nil, err
	}
	if p == nil {
		return nil, fault.New(fault.Refused, "document-no-pdf",
			d.Number+" has no PDF form: it was issued as a workbook",
			"write it as "+d.File).AtRef(d.Number).Do("document", "write", d.Number)
	}
	var b bytes.Buffer
	if err := pdf.Write(&b, p); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}
