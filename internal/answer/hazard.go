package answer

import (
	"slices"
	"strings"
)

// PeopleHazard is what of a stone can hurt people.
type PeopleHazard struct {
	Stone  string   `json:"stone"`
	Hazard string   `json:"hazard"`
	When   []string `json:"when"` // handled, worn, stored, cut, heated, pickled
	Advice string   `json:"advice"`
	Source string   `json:"source"`
}

func (h PeopleHazard) words() string { return h.Hazard + " (" + h.Stone + "): " + h.Advice }

// JewelHazards are the hazards that remain when the stones are cut: those of
// handling, wear, storage, heat and pickle.
func JewelHazards(list []PeopleHazard) []PeopleHazard {
	var out []PeopleHazard
	for _, h := range list {
		if slices.ContainsFunc(h.When, func(when string) bool { return when != "cut" }) {
			out = append(out, h)
		}
	}
	return out
}

// HazardWords say what can hurt people, one sentence for each hazard with the
// stones that have it.
func HazardWords(list []PeopleHazard) []string {
	out := []string{}
	said := map[string]bool{}
	for i, h := range list {
		if said[h.Hazard+h.Advice] {
			continue
		}
		said[h.Hazard+h.Advice] = true
		var stones []string
		for _, same := range list[i:] {
			if same.Hazard == h.Hazard && same.Advice == h.Advice && !slices.Contains(stones, same.Stone) {
				stones = append(stones, same.Stone)
			}
		}
		h.Stone = strings.Join(stones, ", ")
		out = append(out, h.words())
	}
	return out
}
