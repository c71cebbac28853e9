package identify

import (
	"strings"

	"lotpaper/internal/facts"
)

// Look is what the eye sees before any instrument. The zero Look was not noted.
type Look struct {
	Transparency string   // "transparent", "translucent" or "opaque"
	Signs        []string // lustre and phenomena: "adamantine lustre", "play of color" ...
	Cut          string   // "faceted", "cabochon", "bead", "carved"
	Fixed        bool     // strung or set: it cannot be weighed or turned
}

// curved reports whether no flat facet can be read.
func (l *Look) curved() bool { return l.Cut == "cabochon" || l.Cut == "bead" || l.Cut == "carved" }

// Transparencies lists what Look.Transparency may hold.
var Transparencies = []string{"transparent", "translucent", "opaque"}

// clarity is the place of a word in Transparencies, -1 when it is none.
func clarity(word string) int8 {
	for i, w := range Transparencies {
		if strings.EqualFold(w, word) {
			return int8(i)
		}
	}
	return -1
}

// clearSpread is the chance that a piece is transparent, translucent or opaque,
// by what most pieces of its material are (unverified).
var clearSpread = map[facts.Transparency][3]float64{
	facts.MostlyTransparent: {0.90, 0.08, 0.02},
	facts.OftenTransparent:  {0.55, 0.35, 0.10},
	facts.Translucent:       {0.06, 0.64, 0.30},
	facts.Opaque:            {0.01, 0.09, 0.90},
}

// clearUnknown is the same when nothing is known.
var clearUnknown = [3]float64{0.55, 0.30, 0.15}

// clearOf is the spread of a material.
func clearOf(m *facts.Material) [3]float64 {
	if p, ok := clearSpread[m.Typical.Transparency]; ok {
		return p
	}
	return clearUnknown
}

// clearText says what most pieces of a material are.
func clearText(m *facts.Material) string {
	switch m.Typical.Transparency {
	case facts.MostlyTransparent:
		return "mostly transparent"
	case facts.OftenTransparent:
		return "transparent to translucent"
	case facts.Translucent:
		return "translucent"
	case facts.Opaque:
		return "opaque"
	}
	return "unknown"
}
