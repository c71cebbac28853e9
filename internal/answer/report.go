package answer

import (
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
)

// Reported is what a laboratory report did.
type Reported struct {
	Entry    string      `json:"entry"`
	Report   book.Report `json:"report"`
	Lot      book.Lot    `json:"lot"`
	Warnings fault.List  `json:"warnings"`
}
