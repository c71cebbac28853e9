package answer

import (
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
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

// ReportAdded is what a laboratory's report did.
type ReportAdded struct {
	Entry    string      `json:"entry"`
	Report   book.Report `json:"report"`
	Lot      book.Lot    `json:"lot"`
	Warnings fault.List  `json:"warnings"`
}

// Screen is the report and the lot that it is on.
func (a *ReportAdded) Screen() Screen {
	var s Screen
	s.line("%s: %s %s on %s", a.Entry, a.Report.Lab, a.Report.Number, a.Lot.Code)
	return s
}
