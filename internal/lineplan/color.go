package lineplan

import "strings"

// hues are the plain hue words in the order of the colour circle, in steps of
// 30 degrees (common practice: hue names of the trade). Between two words lies
// the word of both, such as "green-blue".
var hues = map[string]float64{
	"red": 0, "orange": 30, "yellow": 60, "green": 120, "blue": 240, "violet": 270, "purple": 300, "pink": 330,
	"teal": 180, "turquoise": 180, "aqua": 190, "brown": 35, "golden": 50,
}

// neutral are colours without a hue.
var neutral = map[string]bool{"colourless": true, "colorless": true, "white": true, "black": true, "grey": true, "gray": true}

// Color is a colour read from words: hue on the circle in degrees when it has
// one, tone 0 (very light) to 10 (very dark), saturation 0 (neutral) to 10
// (vivid); a negative number is not said.
type Color struct {
	Hue, Tone, Saturation float64
	Neutral               string
}

var tones = map[string]float64{"very-light": 1, "light": 3, "pale": 2, "medium": 5, "deep": 7, "dark": 8, "very-dark": 9}
var saturations = map[string]float64{"greyish": 2, "brownish": 2, "moderate": 5, "strong": 7, "intense": 8, "vivid": 9}

// ParseColor reads colour words such as "light greenish blue". A modifier hue
// ("greenish") pulls the main hue a third of the way.
func ParseColor(s string) Color {
	c := Color{Hue: -1, Tone: -1, Saturation: -1}
	text := strings.ToLower(s)
	text = strings.NewReplacer("very light", "very-light", "very dark", "very-dark").Replace(text)
	var mains, modifiers []float64
	for _, w := range strings.FieldsFunc(text, func(r rune) bool {
		return r == ' ' || r == '-' && !strings.Contains(text, "very-") || r == '/' || r == ','
	}) {
		switch {
		case neutral[w]:
			c.Neutral = strings.Replace(strings.Replace(w, "colorless", "colourless", 1), "gray", "grey", 1)
		case has(tones, w):
			c.Tone = tones[w]
		case has(saturations, w):
			c.Saturation = saturations[w]
		case has(hues, w):
			mains = append(mains, hues[w])
		case strings.HasSuffix(w, "ish"):
			stem := strings.TrimSuffix(w, "ish")
			for _, try := range []string{stem, stem + "e", strings.TrimSuffix(stem, string(last(stem)))} {
				if has(hues, try) {
					modifiers = append(modifiers, hues[try])
					break
				}
			}
		}
	}
	if len(mains) == 0 {
		mains, modifiers = modifiers, nil
	}
	if len(mains) > 0 {
		h := mains[0]
		for _, m := range mains[1:] {
			h = toward(h, m, 0.5)
		}
		for _, m := range modifiers {
			h = toward(h, m, 1.0/3)
		}
		c.Hue = h
	}
	return c
}

func last(s string) byte {
	if s == "" {
		return 0
	}
	return s[len(s)-1]
}

func has[V any](m map[string]V, k string) bool { _, ok := m[k]; return ok }

// toward moves hue a part of the shorter way to b.
func toward(a, b, part float64) float64 {
	d := b - a
	if d > 180 {
		d -= 360
	}
	if d < -180 {
		d += 360
	}
	h := a + d*part
	if h < 0 {
		h += 360
	}
	if h >= 360 {
		h -= 360
	}
	return h
}

// Apart is the distance of two colours in steps of the trade: 30 degrees of
// hue, 2 of tone, 2 of saturation are one step each. What one side does not
// say counts nothing; a neutral colour is far from any hue.
func (c Color) Apart(o Color) float64 {
	if (c.Neutral != "") != (o.Neutral != "") && (c.Hue >= 0 || o.Hue >= 0) {
		return 6
	}
	if c.Neutral != o.Neutral {
		return 3
	}
	steps := 0.0
	if c.Hue >= 0 && o.Hue >= 0 {
		d := c.Hue - o.Hue
		if d < 0 {
			d = -d
		}
		if d > 180 {
			d = 360 - d
		}
		steps += d / 30
	}
	for _, pair := range [][2]float64{{c.Tone, o.Tone}, {c.Saturation, o.Saturation}} {
		if pair[0] >= 0 && pair[1] >= 0 {
			d := pair[0] - pair[1]
			if d < 0 {
				d = -d
			}
			steps += d / 2
		}
	}
	return steps
}

// acceptsColor: the wanted colours are words with ; or | between. A stone fits
// one of them when its own words name it or it lies within a step and a half.
func acceptsColor(wanted, have string) bool {
	if strings.TrimSpace(have) == "" {
		return false
	}
	h := ParseColor(have)
	for _, w := range splitWords(wanted) {
		if strings.EqualFold(w, have) {
			return true
		}
		c := ParseColor(w)
		if (c.Hue >= 0 || c.Neutral != "") && (h.Hue >= 0 || h.Neutral != "") && c.Apart(h) <= 1.5 {
			return true
		}
	}
	return false
}
