package stockroom

import (
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/intake"
	"lotpaper/internal/num"
)

// SortParts reads the parts of a sort from a file with the columns of a
// parcel; a row's price is the value of the part.
func (room *Room) SortParts(in desk.Input, currency num.Currency) ([]SortPart, fault.List, error) {
	f, faults := in.Open()
	if faults.Blocks() {
		return nil, nil, faults
	}
	parcel, faults := intake.ReadParcel(f, nil, intake.Head{Book: currency, Currency: currency})
	if faults.Blocks() {
		return nil, nil, faults
	}
	var out []SortPart
	for _, l := range parcel.Lots {
		out = append(out, SortPart{Label: l.Label, Pieces: l.Pieces, Carats: l.Carats, Value: l.Agreed, Lot: l.Lot})
	}
	return out, faults, nil
}
