package stockroom

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/store"
)

// safeOf is the safe that a lot leaves when it leaves place: of several offices the
// one where it lies. Other places are themselves. The field is what names the place.
func (m *mover) safeOf(ctx context.Context, lot string, place book.Place, field string) (book.Place, error) {
	if place.Kind() != book.AtOffice {
		return place, nil
	}
	s, err := m.stockOf(ctx, lot)
	if err != nil {
		if fault.KindOf(err) == fault.NotFound { // told where it is read
			err = nil
		}
		return place, err
	}
	var found []string
	for _, b := range s.Places {
		switch {
		case strings.EqualFold(string(b.Place), string(place)):
			return b.Place, nil
		case b.Place.Kind() == book.AtOffice:
			found = append(found, string(b.Place))
		}
	}
	if place != book.Safe {
		return place, nil
	}
	switch len(found) {
	case 0:
		return m.config.Home(), nil
	case 1:
		return book.Place(found[0]), nil
	}
	return place, fault.New(fault.Usage, "office-several", fmt.Sprintf("%s lies in %s", s.Code,
		strings.Join(found, " and in ")), "say which it leaves, e.g. "+found[0]).AtRef(s.Code).AtField(field)
}

// leaves is the safe that stones go out from: the one that is named, else that where
// each lot lies. Stones that are elsewhere come back first.
func leaves(from book.Place) (book.Place, error) {
	switch {
	case from == "":
		return book.Safe, nil
	case from.Kind() != book.AtOffice:
		return "", fault.New(fault.Usage, "from-safe", "stones go out from a safe, not from "+string(from),
			"name the office: safe/OFFICE").AtField("from")
	}
	return from, nil
}

// leftFrom is the safe that a lot left when it went to a place, by its newest entry
// that took it there.
func (m *mover) leftFrom(ctx context.Context, lot string, at book.Place) (book.Place, error) {
	entries, err := m.tx.Entries(ctx, store.EntryFilter{Lot: lot})
	for _, e := range slices.Backward(entries) {
		came := false
		from := book.Place("")
		for _, p := range e.Postings {
			if !strings.EqualFold(p.Lot, lot) || p.Pieces == 0 {
				continue
			}
			came = came || p.Place == at && p.Pieces > 0
			if p.Place.Kind() == book.AtOffice && p.Pieces < 0 {
				from = p.Place
			}
		}
		if came && from != "" {
			return from, err
		}
	}
	return m.config.Home(), err
}
