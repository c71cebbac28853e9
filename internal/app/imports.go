package app

import (
	"context"
	"fmt"
	"slices"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/intake"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
	"lotpaper/internal/store"
)

// Imported is what an import of rows did.
type Imported struct {
	Entry    string     `json:"entry"`
	Rows     int        `json:"rows"`
	Warnings fault.List `json:"warnings"`
}

// importRows reads a file outside the write, then writes its records as one
// entry. check, when given, holds the records against the book.
func importRows[T any](ctx context.Context, a *App, w Write, in Input, reason string,
	read func(tx store.ReadTx, f *sheet.File) ([]T, fault.List),
	record func(tx store.Tx, i int, row T) (book.Record, *fault.Fault, error)) (Imported, error) {
	out := Imported{Warnings: fault.List{}}
	f, faults := in.open()
	if faults.Blocks() {
		return out, faults
	}
	var rows []T
	err := a.view(ctx, func(tx store.ReadTx) error {
		rows, faults = read(tx, f)
		return nil
	})
	if err != nil {
		return out, err
	}
	out.Warnings = append(out.Warnings, faults...)
	err = a.update(ctx, w, func(tx store.Tx, s stamp) error {
		e := s.entry(ledger.Record, reason)
		l := slices.Clone(faults) // what the book says against the rows comes with what the file says
		if !l.Blocks() {
			l = nil
		}
		for i, row := range rows {
			r, f, err := record(tx, i, row)
			if err != nil {
				return err
			}
			if f != nil {
				l.Add(f)
				continue
			}
			e.Records = append(e.Records, r)
		}
		if l.Blocks() {
			return l
		}
		if err := tx.Post(ctx, &e); err != nil {
			return err
		}
		out.Entry, out.Rows = e.Code, len(rows)
		return nil
	})
	return out, err
}

// RatesImport reads a rates sheet.
func (a *App) RatesImport(ctx context.Context, w Write, in Input) (Imported, error) {
	return importRows(ctx, a, w, in, "rates from "+in.Name,
		func(tx store.ReadTx, f *sheet.File) ([]intake.Rate, fault.List) {
			return intake.ReadRates(f, tx.Meta().Currency)
		},
		func(_ store.Tx, _ int, row intake.Rate) (book.Record, *fault.Fault, error) { return row.Rate, nil, nil })
}

// PricesImport reads a price list.
func (a *App) PricesImport(ctx context.Context, w Write, in Input) (Imported, error) {
	return importRows(ctx, a, w, in, "prices from "+in.Name,
		func(tx store.ReadTx, f *sheet.File) ([]intake.Price, fault.List) {
			return intake.ReadPrices(f, tx.Meta().Currency)
		},
		func(_ store.Tx, _ int, row intake.Price) (book.Record, *fault.Fault, error) {
			return row.Price, nil, nil
		})
}

// ReadingImport reads bench readings; each must name a lot of the book.
func (a *App) ReadingImport(ctx context.Context, w Write, in Input) (Imported, error) {
	var next int64
	lots := map[string]book.Lot{}
	return importRows(ctx, a, w, in, "readings from "+in.Name,
		func(tx store.ReadTx, f *sheet.File) ([]intake.Reading, fault.List) {
			return intake.ReadReadings(f, a.today(tx, w.On))
		},
		func(tx store.Tx, i int, row intake.Reading) (book.Record, *fault.Fault, error) {
			if i == 0 {
				var err error
				if next, err = tx.Next(ctx, string(book.KindReading)); err != nil {
					return nil, nil, err
				}
			}
			if row.Lot == "" { // the file's fault is told already
				return row.Reading, nil, nil
			}
			lot, known := lots[row.Lot]
			if !known {
				var err error
				lot, err = store.Get[book.Lot](ctx, tx, row.Lot)
				if isNotFound(err) {
					return nil, fault.New(fault.Invalid, "lot-unknown", fmt.Sprintf("there is no lot %q in this book", row.Lot), "use the book's code: lotpaper lot list").At(row.Where), nil
				}
				if err != nil {
					return nil, nil, err
				}
				lots[row.Lot] = lot
			}
			r := row.Reading
			r.Lot, r.Number = lot.Code, next+int64(i)
			return r, nil, nil
		})
}

// ReadingAdd writes one reading.
func (a *App) ReadingAdd(ctx context.Context, w Write, r book.Reading) (book.Reading, error) {
	err := a.update(ctx, w, func(tx store.Tx, s stamp) error {
		lot, err := lotNamed(ctx, tx, r.Lot)
		if err != nil {
			return err
		}
		r.Lot = lot.Code
		if r.On == "" {
			r.On = s.on
		}
		if r.Observer == "" {
			r.Observer = s.who
		}
		if _, faults := observations(lot, []book.Reading{r}); faults.Blocks() {
			return faults
		}
		if r.Number, err = tx.Next(ctx, string(book.KindReading)); err != nil {
			return err
		}
		e := s.entry(ledger.Record, "reading of "+lot.Code)
		e.Records = []book.Record{r}
		return tx.Post(ctx, &e)
	})
	return r, err
}

// LineImport reads the designs of a line and their positions. positions is nil
// when both stand in one workbook.
func (a *App) LineImport(ctx context.Context, w Write, name string, in Input, positions *Input) (Imported, error) {
	out := Imported{Warnings: fault.List{}}
	f, faults := in.open()
	if faults.Blocks() {
		return out, faults
	}
	var second *sheet.File
	if positions != nil {
		if second, faults = positions.open(); faults.Blocks() {
			return out, faults
		}
	}
	var line intake.Line
	err := a.view(ctx, func(tx store.ReadTx) error {
		line, faults = intake.ReadLine(f, second, name, tx.Meta().Currency)
		return faults.Err()
	})
	if err != nil {
		return out, err
	}
	out.Warnings = append(out.Warnings, faults...)
	err = a.update(ctx, w, func(tx store.Tx, s stamp) error {
		e := s.entry(ledger.Record, "the line "+name+" from "+in.Name)
		l := book.Line{Name: name, On: s.on, Source: in.Name}
		for i, d := range line.Designs {
			for j := range d.Positions {
				if d.Positions[j].Name == "" {
					d.Positions[j].Name = fmt.Sprintf("position %d", j+1)
				}
			}
			l.Designs = append(l.Designs, d.Name)
			e.Records = append(e.Records, line.Designs[i])
		}
		e.Records = append(e.Records, l)
		if err := tx.Post(ctx, &e); err != nil {
			return err
		}
		out.Entry, out.Rows = e.Code, len(line.Designs)
		return nil
	})
	return out, err
}

// LineShow is a line with its designs.
type LineShow struct {
	book.Line
	Designs []book.Design `json:"designs"`
}

// LineShow returns one line, or the names of all when name is empty.
func (a *App) LineShow(ctx context.Context, name string) ([]LineShow, error) {
	out := []LineShow{}
	err := a.view(ctx, func(tx store.ReadTx) error {
		lines, err := store.All[book.Line](ctx, tx, "")
		if err != nil {
			return err
		}
		if name != "" {
			l, err := store.Get[book.Line](ctx, tx, name)
			if err != nil {
				return notFound(err, "line", name, "list them with: lotpaper line show")
			}
			lines = []book.Line{l}
		}
		for _, l := range lines {
			show := LineShow{Line: l, Designs: []book.Design{}}
			for _, d := range l.Designs {
				design, err := store.Get[book.Design](ctx, tx, l.Name+"/"+d)
				if err != nil {
					return err
				}
				show.Designs = append(show.Designs, design)
			}
			out = append(out, show)
		}
		return nil
	})
	return out, err
}

// SortParts reads the parts of a sort from a file with the columns of a
// parcel; a row's price is the value of the part.
func (a *App) SortParts(in Input, currency num.Currency) ([]SortPart, fault.List, error) {
	f, faults := in.open()
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

// ParcelShow is a parcel with what is left of it.
type ParcelShow struct {
	book.Parcel
	Charges []book.Charge `json:"charges"`
	Left    []StockLot    `json:"left"`
	Held    num.Money     `json:"held"` // cost of what is left
}

// ParcelShow returns one parcel, or all of them when code is empty (without
// their lots).
func (a *App) ParcelShow(ctx context.Context, code string) ([]ParcelShow, error) {
	out := []ParcelShow{}
	err := a.view(ctx, func(tx store.ReadTx) error {
		charges, err := store.All[book.Charge](ctx, tx, "")
		if err != nil {
			return err
		}
		show := func(p book.Parcel) ParcelShow {
			s := ParcelShow{Parcel: p, Charges: []book.Charge{}, Left: []StockLot{}, Held: num.Zero(tx.Meta().Currency)}
			for _, c := range charges {
				if c.Parcel == p.Code {
					s.Charges = append(s.Charges, c)
				}
			}
			return s
		}
		if code == "" {
			return store.Each(ctx, tx, store.RowFilter{Limit: pageLots}, func(p book.Parcel) error {
				out = append(out, show(p))
				return nil
			})
		}
		p, err := parcelNamed(ctx, tx, code)
		if err != nil {
			return err
		}
		s := show(p)
		err = eachStock(ctx, tx, StockFilter{Parcel: p.Code}, func(l StockLot) error {
			s.Left = append(s.Left, l)
			s.Held = s.Held.Add(l.Cost)
			return nil
		})
		out = append(out, s)
		return err
	})
	return out, err
}
