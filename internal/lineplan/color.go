package lineplan

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// The colour scale, in words or in numbers.
//
// Words are the plain hue words of the trade, with a tone (very light, light,
// medium, deep, dark, very dark) and a saturation (greyish, moderate, strong,
// intense, vivid): "light greenish blue".
//
// Numbers are our own scale: h is the hue in degrees on the colour circle
// (red 0, orange 30, yellow 60, green 120, teal 180, blue 240, violet 270,
// purple 300, pink 330), t the tone from 0 (colourless or white) to 10
// (black), s the saturation from 0 (neutral) to 10 (vivid). Each may be a
// range, and the hue may run through red: "h350-20 t3-6 s5". What is left out
// is not asked for.

// hues are the plain hue words on the circle, in degrees (common practice: hue
// names of the trade). Between two words lies the word of both, such as
// "green-blue".
var hues = map[string]float64{
	"red": 0, "orange": 30, "yellow": 60, "green": 120, "blue": 240, "violet": 270, "purple": 300, "pink": 330,
	"teal": 180, "turquoise": 180, "aqua": 190, "brown": 35, "golden": 50,
}

// neutral are colours without a hue, by the word that is printed.
var neutral = map[string]string{
	"colourless": "colourless", "colorless": "colourless", "white": "white", "black": "black", "grey": "grey",
	"gray": "grey",
}

var tones = map[string]float64{"verylight": 1, "light": 3, "pale": 2, "medium": 5, "deep": 7, "dark": 8, "verydark": 9}
var saturations = map[string]float64{"greyish": 2, "grayish": 2, "brownish": 2, "moderate": 5, "strong": 7,
	"intense": 8, "vivid": 9}

// Color is a colour read from words: hue on the circle in degrees, tone and
// saturation 0 to 10; a negative number is not said.
type Color struct {
	Hue, Tone, Saturation float64
	Neutral               string
}

// ParseColor reads colour words such as "light greenish blue", or the middle
// of a colour in numbers. A modifier hue ("greenish") pulls the main hue a
// third of the way.
func ParseColor(s string) Color {
	if r, ok, err := parseScale(s); ok && err == nil {
		return r.middle()
	}
	c := Color{Hue: -1, Tone: -1, Saturation: -1}
	text := strings.NewReplacer("very light", "verylight", "very-light", "verylight", "very dark", "verydark",
		"very-dark", "verydark").Replace(strings.ToLower(s))
	var mains, modifiers []float64
	for _, w := range strings.FieldsFunc(text, func(r rune) bool {
		return r == ' ' || r == '-' || r == '/' ||
			r == ','
	}) {
		tone, isTone := tones[w]
		saturation, isSaturation := saturations[w]
		hue, isHue := hues[w]
		switch {
		case neutral[w] != "":
			c.Neutral = neutral[w]
		case isTone:
			c.Tone = tone
		case isSaturation:
			c.Saturation = saturation
		case isHue:
			mains = append(mains, hue)
		default:
			if hue, ok := modifier(w); ok {
				modifiers = append(modifiers, hue)
			}
		}
	}
	if len(mains) == 0 {
		mains, modifiers = modifiers, nil
	}
	if len(mains) == 0 {
		return c
	}
	c.Hue = mains[0]
	for _, m := range mains[1:] {
		c.Hue = toward(c.Hue, m, 0.5)
	}
	for _, m := range modifiers {
		c.Hue = toward(c.Hue, m, 1.0/3)
	}
	return c
}

// modifier is the hue of a word in -ish: bluish, reddish, orangish.
func modifier(word string) (float64, bool) {
	stem, found := strings.CutSuffix(word, "ish")
	if !found || stem == "" {
		return 0, false
	}
	for _, try := range []string{stem, stem + "e", stem[:len(stem)-1]} {
		if hue, ok := hues[try]; ok {
			return hue, true
		}
	}
	return 0, false
}

// toward moves hue a part of the shorter way to b.
func toward(a, b, part float64) float64 {
	return wrap(a + (math.Mod(b-a+540, 360)-180)*part)
}

func wrap(h float64) float64 { return math.Mod(h+360, 360) }

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
		steps += math.Abs(math.Mod(c.Hue-o.Hue+540, 360)-180) / 30
	}
	for _, pair := range [][2]float64{{c.Tone, o.Tone}, {c.Saturation, o.Saturation}} {
		if pair[0] >= 0 && pair[1] >= 0 {
			steps += math.Abs(pair[0]-pair[1]) / 2
		}
	}
	return steps
}

// alike is how many steps two colours may lie apart and still go together.
const alike = 1.5

// GoesWith reports whether two stones of these colours may be set side by side.
func (c Color) GoesWith(o Color) bool { return c.Apart(o) <= alike }

// span is a range on one axis of the scale; a hue may run through 360.
type span struct {
	low, high float64
	known     bool
}

// holds reports whether o lies in the span; on the hue circle when circle.
func (s span) holds(o span, circle bool) bool {
	if !circle {
		return o.low >= s.low && o.high <= s.high
	}
	from, to, width := wrap(o.low-s.low), wrap(o.high-s.low), s.width()
	return width >= 360 || from <= width && to <= width && from <= to
}

// width is the extent of a hue range in degrees.
func (s span) width() float64 {
	if s.high >= s.low {
		return s.high - s.low
	}
	return s.high - s.low + 360
}

// scale is a colour in numbers.
type scale struct{ hue, tone, saturation span }

func (s scale) middle() Color {
	c := Color{Hue: -1, Tone: -1, Saturation: -1}
	if s.hue.known {
		c.Hue = wrap(s.hue.low + s.hue.width()/2)
	}
	if s.tone.known {
		c.Tone = (s.tone.low + s.tone.high) / 2
	}
	if s.saturation.known {
		c.Saturation = (s.saturation.low + s.saturation.high) / 2
	}
	return c
}

// parseScale reads a colour in numbers; ok is false when s is in words.
func parseScale(s string) (out scale, ok bool, err error) {
	fields := strings.Fields(strings.ToLower(s))
	if len(fields) == 0 {
		return out, false, nil
	}
	for _, f := range fields {
		if len(f) < 2 || !strings.ContainsRune("hts", rune(f[0])) || f[1] < '0' || f[1] > '9' {
			return out, false, nil
		}
	}
	for _, f := range fields {
		low, high, isRange := strings.Cut(f[1:], "-")
		if !isRange {
			high = low
		}
		a, errA := strconv.ParseFloat(low, 64)
		b, errB := strconv.ParseFloat(high, 64)
		to, most := &out.hue, 360.0
		switch f[0] {
		case 't':
			to, most = &out.tone, 10
		case 's':
			to, most = &out.saturation, 10
		}
		switch {
		case errA != nil || errB != nil:
			return out, true, fmt.Errorf("%q is no number or range", f)
		case to.known:
			return out, true, fmt.Errorf("%q says %c twice", s, f[0])
		case a > most || b > most || a < 0 || b < 0:
			return out, true, fmt.Errorf("%q lies outside 0 to %g", f, most)
		case a > b && f[0] != 'h':
			return out, true, fmt.Errorf("%q runs backwards", f)
		}
		*to = span{a, b, true}
	}
	return out, true, nil
}

// CheckColor says what is wrong with the colours that a position wants; nil
// when they can be read.
func CheckColor(wanted string) error {
	for _, w := range splitWords(wanted) {
		if _, isScale, err := parseScale(w); isScale {
			if err != nil {
				return err
			}
			continue
		}
		if c := ParseColor(w); c.Hue < 0 && c.Neutral == "" && c.Tone < 0 && c.Saturation < 0 {
			return fmt.Errorf("%q names no colour that can be compared", w)
		}
	}
	return nil
}

// shade is a stone's colour, read once.
type shade struct {
	word  string
	color Color
	exact scale // of the words' middle when they are words
}

func readShade(s string) shade {
	out := shade{word: strings.TrimSpace(s), color: ParseColor(s)}
	if r, ok, err := parseScale(s); ok && err == nil {
		out.exact = r
		return out
	}
	for _, axis := range []struct {
		to *span
		v  float64
	}{{&out.exact.hue, out.color.Hue}, {&out.exact.tone, out.color.Tone}, {&out.exact.saturation,
		out.color.Saturation}} {
		if axis.v >= 0 {
			*axis.to = span{axis.v, axis.v, true}
		}
	}
	return out
}

// colorWindow is the colours that a position takes.
type colorWindow struct {
	words  []shade
	scales []scale
}

func readWindow(wanted string) colorWindow {
	var out colorWindow
	for _, w := range splitWords(wanted) {
		if s, ok, err := parseScale(w); ok && err == nil {
			out.scales = append(out.scales, s)
			continue
		}
		out.words = append(out.words, readShade(w))
	}
	return out
}

// accepts reports whether a stone's colour is wanted, and why not. Words are met
// by the same words, or within a step and a half of what both say. Numbers are
// met by a whole range inside the window: what the stone does not say is not
// taken for granted.
func (w colorWindow) accepts(s shade) (ok bool, why string) {
	if s.word == "" {
		return false, "colour not stated"
	}
	for _, want := range w.words {
		if strings.EqualFold(want.word, s.word) {
			return true, ""
		}
		c, h := want.color, s.color
		if (c.Hue >= 0 || c.Neutral != "") && (h.Hue >= 0 || h.Neutral != "") && c.Apart(h) <= alike {
			return true, ""
		}
		if c.Hue < 0 && c.Neutral == "" && (c.Tone >= 0 || c.Saturation >= 0) && (c.Tone < 0 || h.Tone >= 0) &&
			(c.Saturation < 0 || h.Saturation >= 0) && c.Apart(h) <= alike {
			return true, "" // a tone or a saturation alone was asked for
		}
	}
	for _, want := range w.scales {
		missing, outside := "", false
		for _, axis := range []struct {
			name       string
			want, have span
			circle     bool
		}{{"hue", want.hue, s.exact.hue, true}, {"tone", want.tone, s.exact.tone, false}, {"saturation",
			want.saturation, s.exact.saturation, false}} {
			switch {
			case !axis.want.known:
			case !axis.have.known:
				missing = axis.name
			case !axis.want.holds(axis.have, axis.circle):
				outside = true
			}
		}
		if missing == "" && !outside {
			return true, ""
		}
		if !outside {
			why = fmt.Sprintf("%s (%s not stated)", s.word, missing)
		}
	}
	if why == "" {
		why = s.word
	}
	return false, why
}
