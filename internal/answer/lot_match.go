package answer

import (
	"fmt"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// LotMatch is stones that go with a lot's as a pair, the nearest first.
type LotMatch struct {
	Lot       string         `json:"lot"`
	Stone     string         `json:"stone"` // what the lot is called
	Length    book.Size      `json:"length"`
	Width     book.Size      `json:"width"`
	Depth     book.Size      `json:"depth"`
	Each      num.Carat      `json:"each"` // weight of its mean stone
	Color     string         `json:"color"`
	Tolerance num.Millimetre `json:"tolerance"` // that a mate may be apart in each measure
	Weight    num.Carat      `json:"weight"`    // and in weight
	Mates     []Mate         `json:"mates"`     // within the tolerance first
}

// Mate is a lot that has a stone to go with another one.
type Mate struct {
	Lot         string         `json:"lot"`
	Where       string         `json:"where"`
	Owner       book.Owner     `json:"owner"`
	Pieces      int64          `json:"pieces"`
	Length      book.Size      `json:"length"`
	Width       book.Size      `json:"width"`
	Depth       book.Size      `json:"depth"`
	Each        num.Carat      `json:"each"`
	Apart       num.Millimetre `json:"apart"` // in the worst measure
	CaratsApart num.Carat      `json:"carats_apart"`
	ColorSteps  float64        `json:"color_steps"` // steps of the trade that the colours lie apart
	Within      bool           `json:"within"`      // the tolerance
	Held        string         `json:"held"`        // why it cannot be had at once; empty: it can
	Differs     []string       `json:"differs"`     // what to look at
}

var mateColumns = []column[Mate]{
	screen("lot", func(m *Mate) sheet.Cell { return sheet.Text(m.Lot) }),
	screen("where", func(m *Mate) sheet.Cell { return sheet.Text(m.Where) }),
	screen("pieces", func(m *Mate) sheet.Cell { return sheet.Int(m.Pieces) }),
	screen("size mm", func(m *Mate) sheet.Cell { return sheet.Text(sizesWords(m.Length, m.Width, m.Depth)) }),
	screen("ct each", func(m *Mate) sheet.Cell { return sheet.Carats(m.Each) }),
	screen("mm apart", func(m *Mate) sheet.Cell { return sheet.Text(m.Apart.String()).Right() }),
	screen("ct apart", func(m *Mate) sheet.Cell { return sheet.Text(m.CaratsApart.String()).Right() }),
	screen("differs", func(m *Mate) sheet.Cell {
		return sheet.Text(strings.Join(append(fields(m.Held), m.Differs...),
			"; "))
	}),
}

// sizesWords are measures as they are written: 7.02 x 5.01 x 3.30.
func sizesWords(sizes ...book.Size) string {
	var out []string
	for _, s := range sizes {
		if !s.IsZero() {
			out = append(out, s.String())
		}
	}
	return strings.Join(out, " x ")
}

// shownMates is how many mates a screen shows.
const shownMates = 12

// Screen names the best mate, then all that were compared.
func (m *LotMatch) Screen() Screen {
	var s Screen
	within := fmt.Sprintf("%s mm and %s ct", m.Tolerance, m.Weight)
	switch {
	case len(m.Mates) == 0:
		s.line("no mate of %s: nothing else of its material, treatment and shape is in stock", m.Lot)
		return s
	case m.Mates[0].Within && m.Mates[0].Held == "":
		s.line("best mate of %s: %s", m.Lot, m.Mates[0].apart())
	case m.Mates[0].Within:
		s.line("no free mate of %s within %s; the best one is %s: %s%s", m.Lot, within, m.Mates[0].apart(),
			m.Mates[0].Held,
			m.nearestFree())
	default:
		s.line("no mate of %s within %s; the nearest is %s", m.Lot, within, m.Mates[0].apart())
	}
	s.line("%s: %s mm, %s ct each%s", m.Lot, sizesWords(m.Length, m.Width, m.Depth), m.Each, colorOf(m.Color))
	shown := m.Mates[:min(len(m.Mates), shownMates)]
	s.table(tableOf(mateColumns, shown))
	if n := len(m.Mates) - len(shown); n > 0 {
		s.cut(true, "%d farther ones are left out", n)
	}
	return s
}

func colorOf(color string) string {
	if color == "" {
		return ", colour not stated"
	}
	return ", " + color
}

// nearestFree names the nearest mate that can be had at once.
func (m *LotMatch) nearestFree() string {
	for i := range m.Mates {
		if m.Mates[i].Held == "" {
			return "; the nearest that can be had is " + m.Mates[i].apart()
		}
	}
	return ""
}

// apart is a mate's lot and how far apart the two are: "P1-7, 0.03 mm and 0.020 ct apart".
func (m *Mate) apart() string {
	return fmt.Sprintf("%s, %s mm and %s ct apart", m.Lot, m.Apart, m.CaratsApart)
}
