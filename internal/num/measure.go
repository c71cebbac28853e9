package num

import (
	"strconv"
	"strings"

	"lotpaper/internal/fault"
)

// Carat is a mass in thousandths of a metric carat (0.2 mg each).
type Carat int64

// Millimetre is a length in hundredths of a millimetre.
type Millimetre int64

// Gram is a mass of metal in thousandths of a gram.
type Gram int64

const (
	caratPlaces      = 3
	millimetrePlaces = 2
	gramPlaces       = 3
	// maxMeasure keeps sums of a million lots inside int64.
	maxMeasure = 1_000_000_000_000
)

// WeightUnit is a unit in which a stone's weight may be entered.
type WeightUnit string

// The weight units: 1 g = 5 ct; 1 momme = 3.75 g = 18.75 ct (pearl trade).
const (
	UnitCarat WeightUnit = "ct"
	UnitGram  WeightUnit = "g"
	UnitMomme WeightUnit = "momme"
)

var caratsPer = map[WeightUnit]Dec{UnitCarat: Int(1), UnitGram: Int(5), UnitMomme: Scaled(1875, 2)}

// ParseWeightUnit reads ct, g or momme; empty is ct.
func ParseWeightUnit(s string) (WeightUnit, *fault.Fault) {
	u := WeightUnit(strings.ToLower(strings.TrimSpace(s)))
	if u == "" {
		return UnitCarat, nil
	}
	if _, ok := caratsPer[u]; !ok {
		return "", fault.New(fault.Invalid, "weight-unit", "the weight unit must be ct, g or momme, but is "+quote(s),
			"write ct, g or momme, or leave it empty for ct")
	}
	return u, nil
}

// ParseCarat reads a weight in carats, at most 3 decimals.
func ParseCarat(s string) (Carat, *fault.Fault) {
	n, f := parseScaled(s, caratPlaces, "a weight", "ct", "weight")
	return Carat(n), f
}

// ParseWeight reads a weight in unit u as carats. Grams and momme that are
// finer than a thousandth of a carat are rounded half up to it.
func ParseWeight(s string, u WeightUnit) (Carat, *fault.Fault) {
	if u == UnitCarat || u == "" {
		return ParseCarat(s)
	}
	d, f := ParseDec(s)
	if f != nil {
		return 0, f
	}
	n, ok := d.Mul(caratsPer[u]).Round(caratPlaces, HalfUp).scaledInt(caratPlaces)
	if !ok || n > maxMeasure || n < -maxMeasure {
		return 0, tooLarge("a weight", s, "weight")
	}
	return Carat(n), nil
}

// ParseMillimetre reads a length in millimetres, at most 2 decimals.
func ParseMillimetre(s string) (Millimetre, *fault.Fault) {
	n, f := parseScaled(s, millimetrePlaces, "a length", "mm", "length")
	return Millimetre(n), f
}

// ParseGram reads a mass in grams, at most 3 decimals.
func ParseGram(s string) (Gram, *fault.Fault) {
	n, f := parseScaled(s, gramPlaces, "a mass", "g", "mass")
	return Gram(n), f
}

func parseScaled(s string, places int, what, unit, code string) (int64, *fault.Fault) {
	if n, ok := plainScaled(s, places); ok && n <= maxMeasure && n >= -maxMeasure {
		return n, nil
	}
	d, f := ParseDec(s)
	if f != nil {
		return 0, f
	}
	if d.Places() > places {
		return 0, fault.New(fault.Invalid, code+"-too-fine",
			what+" must have at most "+strconv.Itoa(places)+" decimals in "+unit+", but is "+quote(s),
			"round it to "+Scaled(1, places).String()+" "+unit)
	}
	n, ok := d.scaledInt(places)
	if !ok || n > maxMeasure || n < -maxMeasure {
		return 0, tooLarge(what, s, code)
	}
	return n, nil
}

func tooLarge(what, s, code string) *fault.Fault {
	return fault.New(fault.Invalid, code+"-too-large", what+" is far too large: "+quote(s),
		"check the unit and the decimal point")
}

// MillimetreFromFloat rounds a computed length by r to a hundredth.
func MillimetreFromFloat(f float64, r Rounding) Millimetre {
	n, _ := FromFloat(f, millimetrePlaces, r).scaledInt(millimetrePlaces)
	return Millimetre(n)
}

// GramFromDec rounds d grams by r to a thousandth.
func GramFromDec(d Dec, r Rounding) Gram {
	n, _ := d.Round(gramPlaces, r).scaledInt(gramPlaces)
	return Gram(n)
}

// CaratFromDec rounds d carats by r to a thousandth.
func CaratFromDec(d Dec, r Rounding) Carat {
	n, _ := d.Round(caratPlaces, r).scaledInt(caratPlaces)
	return Carat(n)
}

// Dec returns the weight in carats.
func (c Carat) Dec() Dec { return Scaled(int64(c), caratPlaces) }

// Dec returns the length in millimetres.
func (m Millimetre) Dec() Dec { return Scaled(int64(m), millimetrePlaces) }

// Dec returns the mass in grams.
func (g Gram) Dec() Dec { return Scaled(int64(g), gramPlaces) }

// Float returns the weight in carats for measurement and search.
func (c Carat) Float() float64 { return float64(c) / 1000 }

// Float returns the length in millimetres for measurement and search.
func (m Millimetre) Float() float64 { return float64(m) / 100 }

// Float returns the mass in grams for measurement and search.
func (g Gram) Float() float64 { return float64(g) / 1000 }

// String prints carats with three decimals: the scale reading.
func (c Carat) String() string { return fixed(int64(c), caratPlaces) }

// String prints millimetres with two decimals.
func (m Millimetre) String() string { return fixed(int64(m), millimetrePlaces) }

// String prints grams with three decimals.
func (g Gram) String() string { return fixed(int64(g), gramPlaces) }

// fixed prints n x 10^-places with all its decimals, without allocation-heavy
// decimals: a million lots are printed this way.
func fixed(n int64, places int) string {
	var buf [24]byte
	b := strconv.AppendInt(buf[:0], n, 10)
	neg := b[0] == '-'
	digits := b
	if neg {
		digits = b[1:]
	}
	out := make([]byte, 0, 26)
	if neg {
		out = append(out, '-')
	}
	if places == 0 {
		return string(append(out, digits...))
	}
	if len(digits) <= places {
		out = append(out, '0', '.')
		for range places - len(digits) {
			out = append(out, '0')
		}
		return string(append(out, digits...))
	}
	out = append(out, digits[:len(digits)-places]...)
	out = append(out, '.')
	return string(append(out, digits[len(digits)-places:]...))
}

// CaratRule is how a scale reading becomes the hundredths of a document.
type CaratRule string

// RuleNine raises the hundredth only when the thousandth is 9 (laboratory and
// trade practice: "How is diamond carat weight rounded", GIA); RuleHalfUp
// raises it from 5 on (the window of US 16 CFR 23.18).
const (
	RuleNine   CaratRule = "nine"
	RuleHalfUp CaratRule = "half-up"
)

// ParseCaratRule reads nine or half-up; empty is nine.
func ParseCaratRule(s string) (CaratRule, *fault.Fault) {
	switch r := CaratRule(strings.ToLower(strings.TrimSpace(s))); r {
	case "":
		return RuleNine, nil
	case RuleNine, RuleHalfUp:
		return r, nil
	}
	return "", fault.New(fault.Invalid, "carat-rule", "the carat rule must be nine or half-up, but is "+quote(s),
		"write nine or half-up")
}

// Hundredths returns the weight as a document states it, a whole number of
// hundredths of a carat, by rule r. Never sum rounded weights.
func (c Carat) Hundredths(r CaratRule) Carat {
	neg := c < 0
	if neg {
		c = -c
	}
	h, rest := c/10, c%10
	if r == RuleHalfUp && rest >= 5 || r != RuleHalfUp && rest == 9 {
		h++
	}
	if neg {
		h = -h
	}
	return h * 10
}

// Stated prints the weight with two decimals by rule r, and the scale reading
// in brackets when the two rules differ.
func (c Carat) Stated(r CaratRule) string {
	s := fixed(int64(c.Hundredths(r))/10, 2)
	if c.Hundredths(RuleNine) != c.Hundredths(RuleHalfUp) {
		s += " (" + c.String() + ")"
	}
	return s
}

// MarshalText prints carats with three decimals.
func (c Carat) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

// UnmarshalText reads what MarshalText wrote.
func (c *Carat) UnmarshalText(b []byte) error { return unmarshalScaled(b, caratPlaces, (*int64)(c)) }

// MarshalText prints millimetres with two decimals.
func (m Millimetre) MarshalText() ([]byte, error) { return []byte(m.String()), nil }

// UnmarshalText reads what MarshalText wrote.
func (m *Millimetre) UnmarshalText(b []byte) error {
	return unmarshalScaled(b, millimetrePlaces, (*int64)(m))
}

// MarshalText prints grams with three decimals.
func (g Gram) MarshalText() ([]byte, error) { return []byte(g.String()), nil }

// UnmarshalText reads what MarshalText wrote.
func (g *Gram) UnmarshalText(b []byte) error { return unmarshalScaled(b, gramPlaces, (*int64)(g)) }

func unmarshalScaled(b []byte, places int, to *int64) error {
	n, f := parseScaled(string(b), places, "a measure", "its unit", "measure")
	if f != nil {
		return f
	}
	*to = n
	return nil
}

// plainScaled reads digits with at most places decimals, such as "12" or
// "-7.05", in units of 10^-places. It spares the decimal library for the rows
// of a large file; what it does not read, ParseDec reads or refuses.
func plainScaled(s string, places int) (int64, bool) {
	digits, neg := strings.CutPrefix(s, "-")
	if len(digits) == 0 || len(digits) > 15 {
		return 0, false
	}
	var n int64
	decimals := -1 // before the point
	for i := range len(digits) {
		c := digits[i]
		switch {
		case c == '.' && decimals < 0 && i > 0 && i < len(digits)-1:
			decimals = 0
			continue
		case c < '0' || c > '9':
			return 0, false
		}
		n = n*10 + int64(c-'0')
		if decimals >= 0 {
			decimals++
		}
	}
	if decimals > places {
		return 0, false
	}
	for range places - max(decimals, 0) {
		n *= 10
	}
	if neg {
		n = -n
	}
	return n, true
}
