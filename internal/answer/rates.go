package answer

import "lotpaper/internal/book"

// RatesShow lists dated rates.
type RatesShow struct {
	Rates []book.Rate `json:"rates"`
}

// PricesShow lists the rows of the price list.
type PricesShow struct {
	Prices []book.Price `json:"prices"`
}
