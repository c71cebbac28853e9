package answer

import (
	"lotpaper/internal/book"
	"lotpaper/internal/num"
)

// ParcelShow is a parcel with what is left of it.
type ParcelShow struct {
	book.Parcel
	Charges []book.Charge `json:"charges"`
	Left    []StockLot    `json:"left"`
	Held    num.Money     `json:"held"` // cost of what is left
}
