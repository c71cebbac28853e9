package answer

import "lotpaper/internal/durability"

// SettingBox says which stones must not lie loose in one box.
type SettingBox struct {
	Stones  []string           `json:"stones"`
	Clashes []durability.Clash `json:"clashes"`
}

// Screen is a line for each clash.
func (s *SettingBox) Screen() Screen {
	var out Screen
	if len(s.Clashes) == 0 {
		out.line("none of the %d is scratched by another; knocks against each other still chip edges", len(s.Stones))
	}
	for _, c := range s.Clashes {
		out.line("%s", c.Words)
	}
	return out
}
