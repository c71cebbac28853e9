package answer

import "lotpaper/internal/durability"

// SettingLosses are the believed chances of loss, by kind and level: which
// part is an estimate and which the book's own record.
type SettingLosses struct {
	Rates []LossRate `json:"rates"`
}

// LossRate is one chance of loss as the book believes it now.
type LossRate struct {
	durability.Rate
	Stones int `json:"stones"` // of the book's own record
	Lost   int `json:"lost"`
}
