package answer

import (
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
)

// ReadingAdded is a reading as it was written.
type ReadingAdded struct {
	book.Reading
}

// ReportAdded is what a laboratory's report did.
type ReportAdded struct {
	Entry    string      `json:"entry"`
	Report   book.Report `json:"report"`
	Lot      book.Lot    `json:"lot"`
	Warnings fault.List  `json:"warnings"`
}
