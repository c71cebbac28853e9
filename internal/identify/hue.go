package identify

import "strings"

// hue is a set of plain hue words.
type hue uint16

const (
	hueRed hue = 1 << iota
	hueOrange
	hueYellow
	hueGreen
	hueBlue
	hueViolet // violet and purple, which observers do not keep apart
	huePink
	hueBrown
	hueWhite
	hueGrey
	hueBlack
	hueNone // colourless
)

// kin are the hues that one observer's word shares with another's.
func (h hue) kin() hue {
	k := h
	for _, p := range [...][2]hue{{hueRed, huePink}, {hueRed, hueOrange}, {hueOrange, hueYellow}, {hueOrange, hueBrown},
		{hueYellow, hueGreen}, {hueYellow, hueBrown}, {hueGreen, hueBlue}, {hueBlue, hueViolet}, {hueViolet, huePink},
		{hueWhite, hueGrey}, {hueGrey, hueBlack}, {hueWhite, hueNone}} {
		if h&p[0] != 0 {
			k |= p[1]
		}
		if h&p[1] != 0 {
			k |= p[0]
		}
	}
	return k
}

// SameHue reports whether two texts name a plain hue in common.
func SameHue(a, b string) bool { return huesOf(a)&huesOf(b) != 0 }

// huesOf finds the hue words in free text, without allocating. "Bluish",
// "violet-blue" and "golden" count.
func huesOf(text string) hue {
	var h hue
	for start := 0; start < len(text); {
		if !letter(text[start]) {
			start++
			continue
		}
		end := start
		for end < len(text) && letter(text[end]) {
			end++
		}
		h |= hueWord(text[start:end])
		start = end
	}
	return h
}

// huePale reports whether a colour is told to be pale.
func huePale(text string) bool {
	for start := 0; start < len(text); {
		end := start
		for end < len(text) && letter(text[end]) {
			end++
		}
		switch w := text[start:end]; {
		case strings.EqualFold(w, "pale"), strings.EqualFold(w, "light"):
			return true
		}
		start = end + 1
	}
	return false
}

func letter(c byte) bool { return c|0x20 >= 'a' && c|0x20 <= 'z' }

func hueWord(w string) hue {
	var lower [12]byte
	if len(w) > len(lower) {
		return 0
	}
	for i := range len(w) {
		lower[i] = w[i] | 0x20
	}
	switch string(lower[:len(w)]) {
	case "red", "reddish", "ruby", "crimson":
		return hueRed
	case "orange", "orangey", "orangish", "apricot":
		return hueOrange
	case "yellow", "yellowish", "golden", "gold", "honey":
		return hueYellow
	case "green", "greenish":
		return hueGreen
	case "blue", "bluish":
		return hueBlue
	case "violet", "purple", "purplish", "violetish", "lilac", "mauve", "lavender":
		return hueViolet
	case "pink", "pinkish", "rose", "peach":
		return huePink
	case "brown", "brownish":
		return hueBrown
	case "white", "chalky", "milky", "cream":
		return hueWhite
	case "grey", "gray", "greyish", "grayish", "silver":
		return hueGrey
	case "black", "blackish":
		return hueBlack
	case "colourless", "colorless":
		return hueNone
	}
	return 0
}

// strengthOf ranks a strength word: 0 inert or none, 1 weak, 2 moderate, 3 strong.
func strengthOf(word string) (int, bool) {
	switch {
	case strings.EqualFold(word, "inert"), strings.EqualFold(word, "none"):
		return 0, true
	case strings.EqualFold(word, "weak"), strings.EqualFold(word, "faint"), strings.EqualFold(word, "very weak"):
		return 1, true
	case strings.EqualFold(word, "moderate"), strings.EqualFold(word, "medium"), strings.EqualFold(word, "distinct"):
		return 2, true
	case strings.EqualFold(word, "strong"), strings.EqualFold(word, "very strong"), strings.EqualFold(word, "vivid"),
		strings.EqualFold(word, "bright"):
		return 3, true
	}
	return 0, false
}

// glow is a fluorescence made ready.
type glow struct {
	seen     bool
	strength int
	hues     hue
}

func makeGlow(g Glow) glow {
	strength, ok := strengthOf(g.Strength)
	if !ok && g.Colour == "" {
		return glow{}
	}
	if !ok {
		strength = 2 // a colour named without its strength
	}
	return glow{seen: true, strength: strength, hues: huesOf(g.Colour)}
}

// glowFact is one line of what is published of a material's fluorescence: a
// reaction, and the stone colours that it is published for (0: any).
type glowFact struct {
	strength int
	hues     hue
	stones   hue
}

// glowFacts parses a cell such as "strong orange (pink to lilac kunzite); weak
// orange (yellow-green); inert".
func glowFacts(cell string) []glowFact {
	var out []glowFact
	for _, part := range strings.Split(cell, ";") {
		told, where, _ := strings.Cut(part, "(")
		first, rest, _ := strings.Cut(strings.TrimSpace(told), " ")
		strength, ok := strengthOf(first)
		if first == "variable" {
			strength, ok = glowVariable, true
		}
		if !ok {
			continue
		}
		out = append(out, glowFact{strength: strength, hues: huesOf(rest), stones: huesOf(where)})
	}
	return out
}

// The share of a material's stones that show none of its published reactions,
// and how observers spread one strength over its neighbours (common practice:
// fluorescence is an often-fact and never proof).
const glowSurprise = 0.25

var glowSpread = [5][4]float64{ // published strength -> seen strength
	{0.80, 0.15, 0.04, 0.01},
	{0.30, 0.50, 0.17, 0.03},
	{0.10, 0.25, 0.45, 0.20},
	{0.05, 0.10, 0.25, 0.60},
	{0.40, 0.25, 0.20, 0.15}, // published as variable
}

const glowVariable = 4

// glowAnywhere is how the trade's stones react when nothing is known.
var glowAnywhere = [4]float64{0.60, 0.20, 0.12, 0.08}

// chance of the seen reaction under the published facts, for a stone of the
// given colour (0: not told).
func (g glow) chance(facts []glowFact, stone hue) float64 {
	hueAnywhere := 1.0
	if g.strength > 0 && g.hues != 0 {
		hueAnywhere = 0.2
	}
	anywhere := glowAnywhere[g.strength] * hueAnywhere
	sum, n := 0.0, 0.0
	for _, f := range facts {
		weight := 1.0
		if f.stones != 0 && stone != 0 && f.stones&stone.kin() == 0 {
			weight = 0.1 // published for stones of another colour
		}
		p := glowSpread[f.strength][g.strength]
		if g.strength > 0 && g.hues != 0 {
			switch {
			case f.hues == 0 || f.strength == 0:
				p *= 0.2
			case f.hues&g.hues != 0:
				p *= 0.8
			case f.hues.kin()&g.hues != 0:
				p *= 0.3
			default:
				p *= 0.03
			}
		}
		sum += weight * p
		n += weight
	}
	if n == 0 {
		return anywhere
	}
	return (1-glowSurprise)*sum/n + glowSurprise*anywhere
}
