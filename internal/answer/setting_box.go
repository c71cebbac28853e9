package answer

import (
	"fmt"
	"strings"

	"lotpaper/internal/durability"
)

// SettingBox says which stones must not lie loose in one box.
type SettingBox struct {
	Stones  []string           `json:"stones"`
	Clashes []durability.Clash `json:"clashes"`
}

// Text is a line for each clash.
func (s *SettingBox) Text() string {
	if len(s.Clashes) == 0 {
		return fmt.Sprintf("none of the %d is scratched by another; knocks against each other still chip edges\n",
			len(s.Stones))
	}
	var b strings.Builder
	for _, c := range s.Clashes {
		b.WriteString(c.Words + "\n")
	}
	return b.String()
}
