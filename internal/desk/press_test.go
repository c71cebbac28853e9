package desk_test

import (
	"context"
	"errors"
	"testing"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/sheet"
	"lotpaper/internal/store"
	"lotpaper/internal/testkit/books"
)

// slow is a model whose rendering a test takes part in.
type slow struct {
	answer.Head
	rendering func() error
}

func (m *slow) JSON() ([]byte, error) {
	return []byte(`{"number":"` + m.Number + `","head":"` + m.Book + `"}`), nil
}
func (m *slow) Workbook() (*sheet.Workbook, error) {
	return &sheet.Workbook{Title: m.Number, Sheets: []sheet.Sheet{{Name: "One"}}}, m.rendering()
}

func issueSlow(ctx context.Context, a *desk.Desk, w desk.Write, rendering func() error) (book.Document, error) {
	var doc book.Document
	err := a.Update(ctx, w, func(tx store.Tx, s desk.Stamp) error {
		from, err := desk.ReadBasis(ctx, tx)
		if err != nil {
			return err
		}
		issued, err := desk.Issue(ctx, tx, s, desk.Papers{Reason: "issued", From: from,
			Drafts: []desk.Draft{{Kind: "SLOW", Title: "Slow", Model: &slow{rendering: rendering}}}})
		if err != nil {
			return err
		}
		doc = issued.Documents[0]
		return tx.Post(ctx, &issued.Entry)
	})
	return doc, err
}

// A paper is rendered while the book is free: another may write meanwhile, and the
// paper is then rendered anew, for the number and the head that it gets.
func TestUpdate_RendersOutside(t *testing.T) {
	a, s := books.Interrupted(t)
	ctx := t.Context()
	renders, others := 0, 1
	rendering := func() error {
		renders++
		if renders > others {
			return nil
		}
		_, err := issueSlow(ctx, a.Desk, books.Who, func() error { return nil })
		return err
	}
	doc, err := issueSlow(ctx, a.Desk, books.Who, rendering)
	if err != nil || renders != 2 || doc.Number != "SLOW-2026-0002" {
		t.Fatalf("%s after %d renderings, %v", doc.Number, renders, err)
	}
	if err := s.View(ctx, func(tx store.ReadTx) error {
		raw, err := tx.File(ctx, doc.SHA256)
		if len(raw) == 0 {
			err = errors.Join(err, errors.New("the paper has no bytes"))
		}
		return err
	}); err != nil {
		t.Error(err)
	}

	// A dry run renders too, and writes nothing; so does what cannot be rendered.
	renders, others = 0, 0
	dry := books.Who
	dry.DryRun = true
	if doc, err = issueSlow(ctx, a.Desk, dry, rendering); err != nil || renders != 1 || doc.Number != "SLOW-2026-0003" {
		t.Errorf("dry run: %s after %d renderings, %v", doc.Number, renders, err)
	}
	torn := errors.New("no ink")
	if _, err := issueSlow(ctx, a.Desk, books.Who, func() error { return torn }); !errors.Is(err, torn) {
		t.Errorf("what cannot be rendered: %v", err)
	}
	// One that is overtaken every time gives up, and has written nothing.
	others = 99
	renders = 0
	_, err = issueSlow(ctx, a.Desk, books.Who, rendering)
	books.Refused(t, err, "book-changed")
	list, err := a.Desk.DocumentList(ctx, desk.DocumentList{})
	if want := 2 + renders; err != nil || len(list.Documents) != want {
		t.Errorf("%d documents, want %d, %v", len(list.Documents), want, err)
	}
	books.Sound(t, a)
}
