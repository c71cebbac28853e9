package answer

import (
	"cmp"
	"fmt"

	"lotpaper/internal/book"
	"lotpaper/internal/sheet"
)

// Pictures are pictures of lots, finished pieces and designs.
type Pictures struct {
	Head     `json:"-"`
	Entry    string    `json:"entry"` // that wrote them; empty: they were only read
	Known    int       `json:"known"` // left out because the book has them already
	Pictures []Picture `json:"pictures"`
}

// Picture is one picture.
type Picture struct {
	Number  string    `json:"number"`
	Of      string    `json:"of"` // a lot's code, or LINE/DESIGN
	View    book.View `json:"view"`
	On      book.Date `json:"on"`
	File    string    `json:"file"`  // its name, as it came
	Width   int       `json:"width"` // pixels
	Height  int       `json:"height"`
	Removed string    `json:"removed"` // why it was taken out; empty: it is there
}

// PictureOf is a picture of the book.
func PictureOf(p book.Picture) Picture {
	return Picture{Number: p.Number, Of: p.Of(), View: p.View, On: p.On, File: p.File, Width: p.Width, Height: p.Height,
		Removed: p.Removed}
}

func (p *Picture) shows() string { return cmp.Or(p.Of, "the house") }

// PictureFile is a picture with its bytes.
type PictureFile struct {
	Picture Picture `json:"picture"`
	Bytes   []byte  `json:"-"`
}

var pictureColumns = []column[Picture]{
	{"picture", "Picture", 9, func(p *Picture) sheet.Cell { return sheet.Text(p.Number) }},
	{"of", "Of", 24, func(p *Picture) sheet.Cell { return sheet.Text(p.shows()) }},
	{"shows", "Shows", 9, func(p *Picture) sheet.Cell { return sheet.Text(string(p.View)) }},
	{"since", "Since", 11, func(p *Picture) sheet.Cell { return sheet.Date(string(p.On)) }},
	{"file", "File", 30, func(p *Picture) sheet.Cell { return sheet.Text(p.File) }},
	{"size", "Size (pixels)", 13, func(p *Picture) sheet.Cell {
		return sheet.Text(fmt.Sprintf("%d x %d", p.Width, p.Height))
	}},
	{"removed", "Removed because", 30, func(p *Picture) sheet.Cell { return sheet.Text(p.Removed) }},
}

// List is the pictures.
func (a *Pictures) List() Listing {
	return &list[Picture]{head: a.Head, columns: pictureColumns, rows: a.Pictures}
}

// Screen is what became of the pictures.
func (a *Pictures) Screen() Screen {
	var s Screen
	for _, p := range a.Pictures {
		if p.Removed != "" {
			s.line("%s: %s of %s is removed", a.Entry, p.Number, p.shows())
		} else {
			s.line("%s: %s shows %s (%s), %d x %d pixels", a.Entry, p.Number, p.shows(), p.View, p.Width, p.Height)
		}
	}
	if a.Known > 0 {
		s.remark("%d were there already", a.Known)
	}
	return s
}
