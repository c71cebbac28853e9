package desk

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/page"
	"lotpaper/internal/picture"
	"lotpaper/internal/store"
)

// PictureAdd asks to keep pictures of lots, finished pieces and designs.
type PictureAdd struct {
	Write
	Of    string    // a lot's code, or LINE/DESIGN; empty: each file is named like what it shows
	View  book.View // what they show
	Files []Input
}

// PictureAdd keeps pictures, all or none: each upright, without what the camera wrote
// into it, in two sizes. One that is kept of the same thing already is left out.
func (desk *Desk) PictureAdd(ctx context.Context, r PictureAdd) (answer.Pictures, error) {
	out := answer.Pictures{Pictures: []answer.Picture{}}
	if !slices.Contains(book.Views, r.View) {
		return out, fault.New(fault.Usage, "picture-view", fmt.Sprintf("a picture cannot show %q", r.View),
			"write face, side, 10x, report or logo").AtField("view")
	}
	if r.View == book.LogoView && (r.Of != "" || len(r.Files) != 1) {
		return out, fault.New(fault.Usage, "picture-logo", "a house has one logo, of no lot and no design",
			"give one file alone").AtField("view")
	}
	pictures := make([]book.Picture, len(r.Files))
	var faults fault.List
	for i, f := range r.Files { // one at a time, before the book is locked: each needs its whole memory
		made, err := prepared(f)
		if l, ok := fault.From(err); ok {
			faults = append(faults, l...)
		} else if err != nil {
			return out, err
		}
		large, small := book.FileOf(made.Large), book.FileOf(made.Small)
		pictures[i] = book.Picture{View: r.View, File: path.Base(f.Name), Width: made.Width, Height: made.Height,
			SHA256: large.SHA256, Large: large.Bytes, SmallSHA256: small.SHA256, Small: small.Bytes}
	}
	if faults.Blocks() {
		return out, faults
	}
	err := desk.Update(ctx, r.Write, func(tx store.Tx, s Stamp) error {
		e := s.Entry(ledger.Record, "pictures")
		out.Pictures, out.Known, faults = out.Pictures[:0], 0, nil
		n, err := tx.Next(ctx, string(book.KindPicture))
		if err != nil {
			return err
		}
		for _, p := range pictures {
			of := r.Of
			if of == "" && r.View != book.LogoView {
				of = strings.TrimSuffix(p.File, path.Ext(p.File))
			}
			if err := show(ctx, tx, &p, of); err != nil {
				f, _ := OfRow(err, fault.Where{File: p.File})
				if f == nil || r.Of != "" {
					return err
				}
				faults.Add(f)
				continue
			}
			known, err := kept(ctx, tx, p, e.Records)
			if err != nil {
				return err
			}
			if known {
				out.Known++
				continue
			}
			p.Number, p.On = fmt.Sprintf("PIC%d", n), s.On
			n++
			e.Records = append(e.Records, p)
			if p.View == book.LogoView {
				e.Records = append(e.Records, book.Setting{Key: "head_logo", Value: p.Number})
			}
			out.Pictures = append(out.Pictures, answer.PictureOf(p))
		}
		if faults.Blocks() {
			return faults
		}
		if len(e.Records) == 0 {
			return fault.New(fault.Refused, "picture-same", "the book has these pictures already: nothing changes",
				"list them").Do("picture", "list")
		}
		err = tx.Post(ctx, &e)
		out.Entry = e.Code
		return err
	})
	return out, err
}

func prepared(f Input) (picture.Picture, error) {
	if f.Size > picture.MostBytes {
		return picture.Picture{}, picture.TooLarge(f.Name, f.Size)
	}
	raw := make([]byte, f.Size)
	if _, err := io.ReadFull(io.NewSectionReader(f.Reader, 0, f.Size), raw); err != nil {
		return picture.Picture{}, fmt.Errorf("read %s: %w", f.Name, err)
	}
	return picture.Read(f.Name, raw)
}

// show says what a picture is of: a lot or a finished piece by its code, or a design
// as LINE/DESIGN.
func show(ctx context.Context, tx store.ReadTx, p *book.Picture, of string) error {
	if of == "" {
		return nil // the house
	}
	if strings.Contains(of, "/") {
		d, err := Named[book.Design](ctx, tx, of)
		p.Design = d.RecordKey()
		return err
	}
	lot, err := Named[book.Lot](ctx, tx, of)
	p.Lot = lot.Code
	return err
}

// kept reports whether the same picture of the same thing is kept, in the book or
// among records.
func kept(ctx context.Context, tx store.ReadTx, p book.Picture, among []book.Record) (bool, error) {
	same := func(x book.Picture) bool {
		return x.Removed == "" && x.SHA256 == p.SHA256 && strings.EqualFold(x.Of(), p.Of())
	}
	for _, r := range among {
		if x, ok := r.(book.Picture); ok && same(x) {
			return true, nil
		}
	}
	found := false
	err := store.Each(ctx, tx, store.RowFilter{Ref: book.ToFile(p.SHA256)}, func(x book.Picture) error {
		found = found || same(x)
		return nil
	})
	return found, err
}

// logoOf is the house's logo; nil: it has none.
func logoOf(ctx context.Context, tx store.ReadTx, h book.House) (*page.Picture, error) {
	if h.Logo == "" {
		return nil, nil
	}
	p, err := store.Get[book.Picture](ctx, tx, h.Logo)
	if errors.Is(err, store.ErrNotFound) || p.Removed != "" {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	raw, err := tx.File(ctx, p.SHA256)
	return &page.Picture{Data: raw, Wide: p.Width, High: p.Height}, err
}

// PictureList asks for the pictures.
type PictureList struct {
	Of  string // a lot's code or LINE/DESIGN; empty: all
	All bool   // also those that were removed
}

// PictureList lists the pictures that the book keeps.
func (desk *Desk) PictureList(ctx context.Context, r PictureList) (answer.Pictures, error) {
	out := answer.Pictures{Pictures: []answer.Picture{}}
	err := desk.View(ctx, func(tx store.ReadTx) (err error) {
		if out.Head, err = desk.ListHead(ctx, tx, "Pictures"); err != nil {
			return err
		}
		var only book.Picture
		if r.Of != "" {
			if err := show(ctx, tx, &only, r.Of); err != nil {
				return err
			}
		}
		return EachPicture(ctx, tx, only, func(p book.Picture) error {
			if r.All || p.Removed == "" {
				out.Pictures = append(out.Pictures, answer.PictureOf(p))
			}
			return nil
		})
	})
	return out, err
}

// EachPicture calls do for every picture, removed ones too, of what only is of; an
// empty one: of everything.
func EachPicture(ctx context.Context, tx store.ReadTx, only book.Picture, do func(book.Picture) error) error {
	var f store.RowFilter
	if refs := only.Refs(); len(refs) > 0 {
		f.Ref = refs[0]
	}
	return store.Each(ctx, tx, f, func(p book.Picture) error {
		if only.Of() != "" && !strings.EqualFold(only.Of(), p.Of()) {
			return nil
		}
		return do(p)
	})
}

// PictureRemove asks to take a picture out of the book.
type PictureRemove struct {
	Write
	Number string
}

// PictureRemove takes a picture out: the entry says so, and its bytes go, unless
// another picture or an issued paper holds the same.
func (desk *Desk) PictureRemove(ctx context.Context, r PictureRemove) (answer.Pictures, error) {
	out := answer.Pictures{Pictures: []answer.Picture{}}
	if r.Reason == "" {
		return out, fault.New(fault.Usage, "reason-missing", "a picture is removed for a reason", "say why").
			AtField("reason")
	}
	err := desk.Update(ctx, r.Write, func(tx store.Tx, s Stamp) error {
		p, err := Named[book.Picture](ctx, tx, r.Number)
		if err != nil {
			return err
		}
		if p.Removed != "" {
			return fault.New(fault.Refused, "picture-removed", p.Number+" was removed already: "+p.Removed,
				"list those that are there").AtRef(p.Number).Do("picture", "list")
		}
		p.Removed = r.Reason
		e := s.Entry(ledger.Record, "removed "+p.Number)
		e.Records = []book.Record{p}
		if err := tx.Post(ctx, &e); err != nil {
			return err
		}
		var gone []string
		for _, sum := range []string{p.SHA256, p.SmallSHA256} {
			held, err := fileHeld(ctx, tx, sum)
			if err != nil {
				return err
			}
			if !held {
				gone = append(gone, sum)
			}
		}
		out.Entry, out.Pictures = e.Code, append(out.Pictures[:0], answer.PictureOf(p))
		return tx.TakeOut(ctx, gone...)
	})
	return out, err
}

// fileHeld reports whether a standing picture, a report or a document holds a file.
func fileHeld(ctx context.Context, tx store.ReadTx, sha256 string) (bool, error) {
	held := false
	ref := store.RowFilter{Ref: book.ToFile(sha256)}
	err := store.Each(ctx, tx, ref, func(p book.Picture) error {
		held = held || p.Removed == ""
		return nil
	})
	if err != nil || held {
		return held, err
	}
	for _, kind := range []book.Kind{book.KindReport, book.KindDocument} {
		rows, err := tx.Rows(ctx, kind, ref)
		if err != nil || len(rows) > 0 {
			return true, err
		}
	}
	return false, nil
}

// PictureFile asks for the bytes of a picture.
type PictureFile struct{ Number string }

// PictureFile returns a picture with its bytes.
func (desk *Desk) PictureFile(ctx context.Context, r PictureFile) (answer.PictureFile, error) {
	var out answer.PictureFile
	err := desk.View(ctx, func(tx store.ReadTx) error {
		p, err := Named[book.Picture](ctx, tx, r.Number)
		if err != nil {
			return err
		}
		out.Picture = answer.PictureOf(p)
		out.Bytes, err = tx.File(ctx, p.SHA256)
		if errors.Is(err, store.ErrNotFound) {
			err = fault.New(fault.NotFound, "picture-removed", p.Number+" was removed: "+p.Removed,
				"list those that are there").AtRef(p.Number).Do("picture", "list")
		}
		return err
	})
	return out, err
}
