package answer

import (
	"fmt"
	"strings"

	"lotpaper/internal/durability"
)

// SettingAdvice says where a stone may go, best first, and what would lift
// each part that comes out at avoid.
type SettingAdvice struct {
	Stone   string `json:"stone"` // the lot, or the species as it was asked for
	Setting string `json:"setting"`
	Piece   string `json:"piece"`
	Wear    string `json:"wear"`
	durability.Advice
}

// Text is the verdict on what was asked and what would lift it; the settings
// that fit are a list of their own.
func (a *SettingAdvice) Text() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s as asked (%s, %s, %s): %s (bench %s, display %s)\n", a.Stone, a.Setting, a.Piece, a.Wear,
		a.Asked.Setting, a.Asked.Bench, a.Asked.Display)
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
