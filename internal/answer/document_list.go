package answer

import (
	"encoding/json"
	"fmt"
	"slices"

	"lotpaper/internal/book"
	paper "lotpaper/internal/page"
	"lotpaper/internal/sheet"
)

// Issued is a numbered document as it was issued.
type Issued struct {
	Number string    `json:"number"`
	Title  string    `json:"title"`
	On     book.Date `json:"on"`
	File   string    `json:"file"`
	SHA256 string    `json:"sha256"`
}

// IssuedOf is a document of the book without its model and bytes.
func IssuedOf(d book.Document) Issued { return Issued{d.Number, d.Title, d.On, d.File, d.SHA256} }

// DocumentList lists issued documents, oldest first.
type DocumentList struct {
	Head      `json:"-"`
	Documents []IssuedRow `json:"documents"`
}

// IssuedRow is a document of the list.
type IssuedRow struct {
	Issued
	Void string `json:"void"` // the entry that took the document's entry back; empty: it stands
}

var issuedColumns = []column[IssuedRow]{
	{"document", "Document", 22, func(d *IssuedRow) sheet.Cell { return sheet.Text(d.Number) }},
	{"date", "Date", 13, func(d *IssuedRow) sheet.Cell { return sheet.Date(string(d.On)) }},
	{"title", "Title", 40, func(d *IssuedRow) sheet.Cell { return sheet.Text(d.Title) }},
	{"file", "File", 30, func(d *IssuedRow) sheet.Cell { return sheet.Text(d.File) }},
	onlyFiled("SHA-256", 66, func(d *IssuedRow) sheet.Cell { return sheet.Text(d.SHA256) }),
}

// List is the documents.
func (l *DocumentList) List() Listing {
	columns := slices.Clone(issuedColumns)
	if slices.ContainsFunc(l.Documents, func(d IssuedRow) bool { return d.Void != "" }) {
		columns = append(columns, column[IssuedRow]{"void", "Void", 12, func(d *IssuedRow) sheet.Cell {
			return sheet.Text(voidMark(d.Void))
		}})
	}
	return &list[IssuedRow]{head: l.Head, columns: columns, rows: l.Documents}
}

// DocumentsOf lists documents of the book.
func DocumentsOf(docs []book.Document) DocumentList {
	out := DocumentList{Documents: make([]IssuedRow, len(docs))}
	for i, d := range docs {
		out.Documents[i] = IssuedRow{Issued: IssuedOf(d)}
	}
	return out
}

// DocumentFile is an issued document and the bytes that were issued.
type DocumentFile struct {
	Issued
	Bytes []byte `json:"-"`
	PDF   []byte `json:"-"` // of one that is just issued; empty: it has no such form
}

// FileOf is a document of the book without its model.
func FileOf(d book.Document) DocumentFile { return DocumentFile{IssuedOf(d), d.Bytes, d.PDF} }

// PaperOf is an issued document as a paper, from the model that was kept; nil:
// documents of its kind have no such form.
func PaperOf(d book.Document) (*paper.Paper, error) {
	var kept struct {
		Schema string `json:"schema"`
		CareCards
	}
	if d.Kind != "CARE" {
		return nil, nil
	}
	if err := json.Unmarshal(d.Model, &kept); err != nil {
		return nil, fmt.Errorf("read %s: %w", d.Number, err)
	}
	if kept.Schema != careSchema {
		return nil, fmt.Errorf("read %s: its model is a %q", d.Number, kept.Schema)
	}
	return kept.Layout(), nil
}
