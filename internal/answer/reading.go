package answer

import (
	"cmp"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/sheet"
)

// ReadingAdded is a reading as it was written.
type ReadingAdded struct {
	book.Reading
}

// Screen is the reading's number and its lot.
func (a *ReadingAdded) Screen() Screen {
	var s Screen
	s.line("%s of %s", a.RecordKey(), a.Lot)
	return s
}

// ReadingVoided is a reading that counts no longer.
type ReadingVoided struct {
	book.Void
}

// Screen is the reading, its lot and the reason.
func (a *ReadingVoided) Screen() Screen {
	var s Screen
	s.line("%s of %s is void: %s", a.Reading, a.Lot, a.Reason)
	return s
}

// ReadingList is the readings of a lot's stones, in the order of the book.
type ReadingList struct {
	Head     `json:"-"`
	Lot      string       `json:"lot"`
	Readings []ReadingRow `json:"readings"`
}

// ReadingRow is a reading, and whether it counts.
type ReadingRow struct {
	book.Reading
	Counts bool   `json:"counts"`
	Why    string `json:"why"` // why it does not count; empty: it does
}

var readingColumns = []column[ReadingRow]{
	{"reading", "Reading", 9, func(r *ReadingRow) sheet.Cell { return sheet.Text(r.RecordKey()) }},
	{"lot", "Lot", 12, func(r *ReadingRow) sheet.Cell { return sheet.Text(r.Lot) }},
	{"stone", "Stone", 9, func(r *ReadingRow) sheet.Cell { return sheet.Text(r.Stone) }},
	{"date", "Date", 11, func(r *ReadingRow) sheet.Cell { return sheet.Date(string(r.On)) }},
	{"test", "Test", 14, func(r *ReadingRow) sheet.Cell { return sheet.Text(r.Test) }},
	{"read", "Read", 30, func(r *ReadingRow) sheet.Cell { return sheet.Text(r.words()) }},
	onlyFiled("Drawn", 9, func(r *ReadingRow) sheet.Cell { return sheet.Text(r.Drawn) }),
	onlyFiled("By", 14, func(r *ReadingRow) sheet.Cell { return sheet.Text(r.Observer) }),
	{"counts", "Counts", 40, func(r *ReadingRow) sheet.Cell { return sheet.Text(cmp.Or(r.Why, "yes")) }},
	onlyFiled("Note", 22, func(r *ReadingRow) sheet.Cell { return sheet.Text(r.Note) }),
}

// List is the readings.
func (l *ReadingList) List() Listing {
	return &list[ReadingRow]{head: l.Head, columns: readingColumns, rows: l.Readings}
}

// words are what was read, as it was written down.
func (r *ReadingRow) words() string {
	read := r.Low
	if r.High != "" {
		read += " to " + r.High
	}
	out := fields(read, r.Result, r.Strength, r.Color)
	if r.PlusMinus != "" {
		out = append(out, "+/- "+r.PlusMinus)
	}
	if r.Air > 0 {
		out = append(out, r.Air.String()+" ct in air")
	}
	if r.Water > 0 {
		out = append(out, r.Water.String()+" ct in water")
	}
	if r.WaterC != "" {
		out = append(out, r.WaterC+" C")
	}
	return strings.Join(out, ", ")
}

// ReportAdded is what a laboratory's report did.
type ReportAdded struct {
	Entry    string      `json:"entry"`
	Report   book.Report `json:"report"`
	Lot      book.Lot    `json:"lot"`
	Warnings fault.List  `json:"warnings"`
}

// ReportFile is a laboratory's report with the bytes of its file.
type ReportFile struct {
	Report book.Report `json:"report"`
	Bytes  []byte      `json:"-"`
}

// Screen is the report and the lot that it is on.
func (a *ReportAdded) Screen() Screen {
	var s Screen
	s.line("%s: %s %s on %s", a.Entry, a.Report.Lab, a.Report.Number, a.Lot.Code)
	return s
}
