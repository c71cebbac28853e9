package facts

import (
	"strings"
	"sync"

	"lotpaper/internal/fault"
)

// Settings returns every row of data/settings.csv, in the order of the file.
func Settings() []*Setting { return settings() }

var settings = sync.OnceValue(load("settings.csv", func(r row) *Setting {
	return &Setting{
		Name:           r.must("name"),
		Aliases:        r.list("aliases"),
		HeldBy:         r.must("held_by"),
		GirdleExposed:  score(r, "girdle_exposed"),
		CrownExposed:   score(r, "crown_exposed"),
		PavilionOpen:   r.yes("pavilion_open"),
		CornersExposed: r.yes("corners_exposed"),
		Impact:         score(r, "impact"),
		Force:          score(r, "force"),
		SidePressure:   r.yes("side_pressure"),
		HeatNear:       r.yes("heat_near"),
		Minutes:        r.span("minutes"),
		SpareStones:    r.text("spare_stones"),
		Pieces:         r.list("pieces"),
		Benchmark:      r.text("benchmark"),
		Domed:          r.text("domed"),
		Source:         r.must("source"),
	}
}))

// score reads a cell that holds 0, 1, 2 or 3.
func score(r row, column string) int {
	r.must(column)
	n := r.integer(column)
	if n < 0 || n > 3 {
		r.fail(column, "is outside 0 to 3")
	}
	return n
}

// SettingNamed finds a setting by its name or an alias.
func SettingNamed(name string) (*Setting, *fault.Fault) {
	return find("setting", name, Settings(), func(s *Setting) (string, []string) { return s.Name, s.Aliases })
}

// Piece is one row of data/pieces.csv: what is worn.
type Piece struct {
	Name      string // "ring"
	Aliases   []string
	Knocks    int // 0 (a piece that is not worn) .. 3 (hit every day)
	Cosmetics int // 0..3: soap, cream, perfume, hair spray and sweat that reach it
	Source    string
}

// Pieces returns every row of data/pieces.csv, in the order of the file.
func Pieces() []*Piece { return pieces() }

var pieces = sync.OnceValue(load("pieces.csv", func(r row) *Piece {
	return &Piece{
		Name:      r.must("name"),
		Aliases:   r.list("aliases"),
		Knocks:    score(r, "knocks"),
		Cosmetics: score(r, "cosmetics"),
		Source:    r.must("source"),
	}
}))

// PieceNamed finds a piece by its name or an alias.
func PieceNamed(name string) (*Piece, *fault.Fault) {
	return find("piece", name, Pieces(), func(p *Piece) (string, []string) { return p.Name, p.Aliases })
}

// Wear is one row of data/wears.csv: how much a jewel is worn.
type Wear struct {
	Name         string // "daily"
	Aliases      []string
	Knocks       int     // 1 (gentle) .. 3 (hit often)
	HoursPerYear float64 // worn, an estimate: an order of magnitude
	Meaning      string
	Source       string
}

// Wears returns every row of data/wears.csv, the hardest wear first.
func Wears() []*Wear { return wears() }

var wears = sync.OnceValue(load("wears.csv", func(r row) *Wear {
	return &Wear{
		Name:         r.must("name"),
		Aliases:      r.list("aliases"),
		Knocks:       score(r, "knocks"),
		HoursPerYear: r.number("hours_per_year"),
		Meaning:      r.must("meaning"),
		Source:       r.must("source"),
	}
}))

// WearNamed finds a way of wearing by its name or an alias.
func WearNamed(name string) (*Wear, *fault.Fault) {
	return find("wear", name, Wears(), func(w *Wear) (string, []string) { return w.Name, w.Aliases })
}

// find looks a row up by its name or an alias, without regard to case. An
// unknown name is a fault of kind Invalid, code "unknown-NOUN", that names the
// nearest known ones or all of them.
func find[T any](noun, name string, rows []*T, namesOf func(*T) (string, []string)) (*T, *fault.Fault) {
	want := fold(name)
	var own, known []string
	for _, r := range rows {
		name, aliases := namesOf(r)
		own = append(own, name)
		for _, n := range append([]string{name}, aliases...) {
			if fold(n) == want {
				return r, nil
			}
			known = append(known, n)
		}
	}
	mend := fault.DidYouMean(want, known)
	if mend == "" {
		mend = "use one of: " + strings.Join(own, ", ")
	}
	return nil, fault.New(fault.Invalid, "unknown-"+strings.ReplaceAll(noun, " ", "-"), "no "+noun+" is known as \""+
		strings.TrimSpace(name)+"\"", mend)
}
