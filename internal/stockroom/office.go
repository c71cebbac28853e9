package stockroom

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// safeOf is the safe that a lot leaves when it leaves place: of several offices the
// one where it lies. Other places are themselves. The field is what names the place.
func (m *mover) safeOf(ctx context.Context, lot string, place book.Place, field string) (book.Place, error) {
	if place.Kind() != book.AtOffice {
		return place, nil
	}
	if place != book.Safe {
		for _, safe := range m.config.Safes() { // as the book spells it
			if strings.EqualFold(string(safe), string(place)) {
				place = safe
			}
		}
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
		return m.lastOffice(ctx, s.Code)
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

// newGoods is the safe that new stones come to: that of the office that is named,
// else of the first.
func newGoods(c config.Config, office book.Place) (book.Place, error) {
	if office == "" {
		return c.Home(), nil
	}
	to, f := officeNamed(c, office)
	if f != nil {
		return "", f.AtField("office")
	}
	return to, nil
}

// comesTo is the safe that stones of a lot come back to from a place: that of the
// office that is named, else the one that they left when they went there.
func (m *mover) comesTo(ctx context.Context, lot string, at book.Place) (book.Place, error) {
	if m.office != "" {
		return m.office, nil
	}
	found, err := m.leftFrom(ctx, lot, at, math.MaxInt64)
	if err != nil {
		return "", err
	}
	return m.oneOffice(lot, lot+" comes", found)
}

// oneOffice is the only office among places that stones left; several are a fault
// that names them and says what comes from there. Nowhere, and the safe from before
// there were offices, is the first.
func (m *mover) oneOffice(ref, what string, found []book.Place) (book.Place, error) {
	var names []string
	for _, p := range found {
		if p == book.Safe {
			p = m.config.Home()
		}
		if !slices.Contains(names, string(p)) {
			names = append(names, string(p))
		}
	}
	switch len(names) {
	case 0:
		return m.config.Home(), nil
	case 1:
		return book.Place(names[0]), nil
	}
	return "", fault.New(fault.Usage, "office-several", what+" from "+strings.Join(names, " and from "),
		"name the office to come to, e.g. "+names[0]).AtRef(ref).AtField("office")
}

// leftFrom are the safes that stones of a lot left when they went to a place, by
// the newest entry until a sequence that took them there. Stones that were sold out
// of a paper left a safe when they went on it; those that were bought on it, when the
// lot did that they are a part of.
func (m *mover) leftFrom(ctx context.Context, lot string, at book.Place, until int64) ([]book.Place, error) {
	entries, err := m.tx.Entries(ctx, store.EntryFilter{Lot: lot})
	if err != nil {
		return nil, err
	}
	for _, e := range slices.Backward(entries) {
		if e.Sequence > until || e.Kind == ledger.Reverse {
			continue
		}
		came := false
		var from []book.Place
		var before []ledger.Spot // where they were instead
		for _, p := range e.Postings {
			same := strings.EqualFold(p.Lot, lot)
			switch {
			case same && p.Place == at && p.Pieces > 0:
				came = true
			case p.Pieces >= 0:
			case same && p.Place.Kind() == book.AtOffice:
				from = append(from, p.Place)
			case same && p.Place.IsReal(), !same && p.Place == at:
				before = append(before, ledger.Spot{Lot: p.Lot, Place: p.Place})
			}
		}
		if !came {
			continue
		}
		for _, x := range before {
			found, err := m.leftFrom(ctx, x.Lot, x.Place, e.Sequence-1)
			if err != nil {
				return nil, err
			}
			from = append(from, found...)
		}
		return from, nil
	}
	return nil, nil
}

// lastOffice is the safe that a lot lay in last, when it lies in none.
func (m *mover) lastOffice(ctx context.Context, lot string) (book.Place, error) {
	entries, err := m.tx.Entries(ctx, store.EntryFilter{Lot: lot})
	if err != nil {
		return "", err
	}
	for _, e := range slices.Backward(entries) {
		var found []book.Place
		for _, p := range e.Postings {
			if strings.EqualFold(p.Lot, lot) && p.Place.Kind() == book.AtOffice && p.Pieces < 0 {
				found = append(found, p.Place)
			}
		}
		if len(found) > 0 {
			return m.oneOffice(lot, lot+" comes", found)
		}
	}
	return m.config.Home(), nil
}
