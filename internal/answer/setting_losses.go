package answer

import (
	"fmt"

	"lotpaper/internal/durability"
	"lotpaper/internal/sheet"
)

// SettingLosses are the believed chances of loss, by kind and level: which
// part is an estimate and which the book's own record.
type SettingLosses struct {
	Head  `json:"-"`
	Rates []LossRate `json:"rates"`
}

// LossRate is one chance of loss as the book believes it now.
type LossRate struct {
	durability.Rate
	Stones int `json:"stones"` // of the book's own record
	Lost   int `json:"lost"`
}

var lossColumns = []column[LossRate]{
	{"loss", "Loss", 12, func(r *LossRate) sheet.Cell { return sheet.Text(string(r.Kind)) }},
	{"level", "Level", 10, func(r *LossRate) sheet.Cell { return sheet.Text(r.Level.String()) }},
	screen("believed %", func(r *LossRate) sheet.Cell { return sheet.Text(fmt.Sprintf("%.2f", 100*r.Mean)).Right() }),
	screen("90 % interval", func(r *LossRate) sheet.Cell {
		return sheet.Text(fmt.Sprintf("%.2f-%.2f", 100*r.Low, 100*r.High))
	}),
	onlyFiled("Believed (%)", 11, func(r *LossRate) sheet.Cell { return sheet.Float(100*r.Mean, 2) }),
	onlyFiled("90 % interval, from (%)", 13, func(r *LossRate) sheet.Cell { return sheet.Float(100*r.Low, 2) }),
	onlyFiled("90 % interval, to (%)", 13, func(r *LossRate) sheet.Cell { return sheet.Float(100*r.High, 2) }),
	{"stones", "Stones", 8, func(r *LossRate) sheet.Cell { return sheet.Int(int64(r.Stones)) }},
	{"lost", "Lost", 8, func(r *LossRate) sheet.Cell { return sheet.Int(int64(r.Lost)) }},
	{"basis", "Basis", 60, func(r *LossRate) sheet.Cell { return sheet.Text(r.Words) }},
}

// List is the chances.
func (l *SettingLosses) List() Listing {
	return &list[LossRate]{head: l.Head, columns: lossColumns, rows: l.Rates}
}
