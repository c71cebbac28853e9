package answer

import (
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
)

// Imported is what an import of rows did.
type Imported struct {
	Entry    string     `json:"entry"`
	Rows     int        `json:"rows"`
	Warnings fault.List `json:"warnings"`
}

// ParcelImported is what an import did.
type ParcelImported struct {
	Parcel   book.Parcel `json:"parcel"`
	Entries  []string    `json:"entries"`
	Lots     []string    `json:"lots"`
	Warnings fault.List  `json:"warnings"`
}
