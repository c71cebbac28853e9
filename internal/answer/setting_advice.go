package answer

import (
	"fmt"
	"strings"

	"lotpaper/internal/durability"
	"lotpaper/internal/sheet"
)

// SettingAdvice says where a stone may go, best first, and what would lift
// each part that comes out at avoid.
type SettingAdvice struct {
	Stone   string `json:"stone"`   // the lot, or the species as it was asked for
	ReadAs  string `json:"read_as"` // how a name was read; empty for a lot
	Setting string `json:"setting"`
	Piece   string `json:"piece"`
	Wear    string `json:"wear"`
	durability.Advice
}

// fitsShown is how many settings that fit stand on screen.
const fitsShown = 30

var fitColumns = []column[durability.Option]{
	screen("verdict", func(o *durability.Option) sheet.Cell { return sheet.Text(o.Level.String()) }),
	screen("setting", func(o *durability.Option) sheet.Cell { return sheet.Text(o.Setting) }),
	screen("piece", func(o *durability.Option) sheet.Cell { return sheet.Text(o.Piece) }),
	screen("wear", func(o *durability.Option) sheet.Cell { return sheet.Text(o.Wear) }),
}

// Screen is the verdict on what was asked, what would lift it, and where the
// stone may go, best first.
func (a *SettingAdvice) Screen() Screen {
	s := screenOf(a.text())
	if len(a.Fits) > 0 {
		s.table(tableOf(fitColumns, shown(a.Fits, fitsShown)))
	}
	if more := len(a.Fits) - fitsShown; more > 0 {
		s.cut(true, "... and %d more", more)
	}
	return s
}

// text is the verdict on what was asked and what would lift it.
func (a *SettingAdvice) text() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s as asked (%s, %s, %s): %s (bench %s, display %s)\n", a.Stone, a.Setting, a.Piece, a.Wear,
		a.Asked.Setting, a.Asked.Bench, a.Asked.Display)
	if a.ReadAs != "" && a.ReadAs != a.Stone {
		fmt.Fprintf(&b, "  read as %s\n", Wrap(a.ReadAs, 90, "      "))
	}
	for _, l := range a.Lifts {
		fmt.Fprintf(&b, "  %s: %s brings it from avoid to %s\n", l.Part, Wrap(l.Change, 80, "      "), l.To)
	}
	for _, p := range a.Stuck {
		fmt.Fprintf(&b, "  %s: nothing tried here lifts it\n", p)
	}
	if len(a.Fits) == 0 {
		b.WriteString("  no setting, piece and wear comes out at care or better\n")
	}
	return b.String()
}
