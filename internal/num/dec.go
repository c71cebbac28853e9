// Package num holds the exact quantities of the trade: money, carats,
// millimetres, grams, percentages and rates. Each parses and prints without
// loss, and every rounding has a name and happens here. It is the only
// importer of the decimal library.
package num

import (
	"math/big"
	"strings"
	"unicode"

	"github.com/shopspring/decimal"

	"lotpaper/internal/fault"
)

// Rounding names the rule by which a digit is given up.
type Rounding int

// The rules. HalfUp rounds a tie away from zero, as invoices do.
const (
	HalfUp   Rounding = iota
	HalfEven          // a tie goes to the even digit
	Down              // towards zero
	Up                // away from zero
	Floor             // towards minus infinity
	Ceiling           // towards plus infinity
)

// maxDigits bounds the length of a number read from input.
const maxDigits = 30

// Dec is an exact decimal number. The zero value is 0.
type Dec struct{ d decimal.Decimal }

// Int returns n as a Dec.
func Int(n int64) Dec { return Dec{decimal.NewFromInt(n)} }

// Scaled returns n x 10^-places.
func Scaled(n int64, places int) Dec { return Dec{decimal.New(n, int32(-places))} }

// FromFloat returns f rounded by r to places decimals. It is the only way back
// from measurement and search to exact numbers. A NaN or an infinity gives 0.
func FromFloat(f float64, places int, r Rounding) Dec {
	if f != f || f > 1e300 || f < -1e300 {
		return Dec{}
	}
	return Dec{decimal.NewFromFloat(f)}.Round(places, r)
}

// ParseDec reads a number as users may write it: decimal point only, no
// grouping, no exponent, at most 30 digits. Surrounding blanks are ignored.
func ParseDec(s string) (Dec, *fault.Fault) {
	t := strings.TrimSpace(s)
	if t == "" {
		return Dec{}, fault.New(fault.Invalid, "number-missing", "a number is missing", "enter a number, e.g. 12.5")
	}
	body := strings.TrimPrefix(strings.TrimPrefix(t, "-"), "+")
	digits, points := 0, 0
	letters := strings.IndexFunc(body, unicode.IsLetter) >= 0 // "1.5 ct" is no grouping
	for _, c := range body {
		switch {
		case c >= '0' && c <= '9':
			digits++
		case c == '.':
			points++
		case !letters && (c == ',' || c == '\'' || c == ' ' || c == '\u00a0' || c == '\u202f'):
			return Dec{}, fault.New(fault.Invalid, "number-grouping",
				"a number must have a decimal point and no grouping, but is "+quote(t),
				"write it like 1234.56: no thousands separator, and a point before the decimals")
		default:
			return Dec{}, fault.New(fault.Invalid, "number-text", "a number is wanted, but found "+quote(t),
				"enter digits with a decimal point, e.g. 12.5; units and currency go in their own column")
		}
	}
	if points > 1 {
		return Dec{}, fault.New(fault.Invalid, "number-grouping",
			"a number must have one decimal point and no grouping, but is "+quote(t),
			"write it like 1234.56: no thousands separator, and a point before the decimals")
	}
	if digits == 0 || strings.HasSuffix(body, ".") || strings.HasPrefix(body, ".") {
		return Dec{}, fault.New(fault.Invalid, "number-text", "a number is wanted, but found "+quote(t),
			"write digits on both sides of the point, e.g. 0.5")
	}
	if digits > maxDigits {
		return Dec{}, fault.New(fault.Invalid, "number-long", "a number must have at most 30 digits, but found "+
			quote(t[:20]+"..."), "round it before entering")
	}
	d, err := decimal.NewFromString(t)
	if err != nil {
		return Dec{}, fault.New(fault.Invalid, "number-text", "a number is wanted, but found "+quote(t),
			"enter digits with a decimal point, e.g. 12.5")
	}
	return Dec{d}, nil
}

// MustDec is ParseDec for constants; it panics on a fault.
func MustDec(s string) Dec {
	d, f := ParseDec(s)
	if f != nil {
		panic(f.Error())
	}
	return d
}

func quote(s string) string {
	if len(s) > 40 {
		s = s[:40] + "..."
	}
	return "\"" + s + "\""
}

// Add returns d + o.
func (d Dec) Add(o Dec) Dec { return Dec{d.d.Add(o.d)} }

// Sub returns d - o.
func (d Dec) Sub(o Dec) Dec { return Dec{d.d.Sub(o.d)} }

// Mul returns d x o, exactly; round at each documented step.
func (d Dec) Mul(o Dec) Dec { return Dec{d.d.Mul(o.d)} }

// Neg returns -d.
func (d Dec) Neg() Dec { return Dec{d.d.Neg()} }

// Cmp compares: -1, 0 or 1.
func (d Dec) Cmp(o Dec) int { return d.d.Cmp(o.d) }

// Sign is -1, 0 or 1.
func (d Dec) Sign() int { return d.d.Sign() }

// IsZero reports whether d is 0.
func (d Dec) IsZero() bool { return d.d.IsZero() }

// Rat returns d as a fraction.
func (d Dec) Rat() *big.Rat { return d.d.Rat() }

// Float returns the nearest float64, for measurement, search and display cells.
func (d Dec) Float() float64 { return d.d.InexactFloat64() }

// Div returns d / o rounded by r to places decimals; ok is false when o is 0.
func (d Dec) Div(o Dec, places int, r Rounding) (q Dec, ok bool) {
	if o.IsZero() {
		return Dec{}, false
	}
	n, m := d.d.Rat(), o.d.Rat()
	return FromRat(new(big.Rat).Quo(n, m), places, r), true
}

// Over returns d / o rounded by r to places decimals. The divisor must not be
// 0: it is a constant, or the caller has refused 0 before. A 0 is a mistake of
// the program and panics; where 0 is a possible answer, Div says so.
func (d Dec) Over(o Dec, places int, r Rounding) Dec {
	q, ok := d.Div(o, places, r)
	if !ok {
		panic("num: " + d.String() + " over 0")
	}
	return q
}

// Each returns what one of n things has of d, rounded by r to places decimals.
// Fewer than one thing counts as one: what is there is never divided away.
func (d Dec) Each(n int64, places int, r Rounding) Dec { return d.Over(Int(max(1, n)), places, r) }

// Round returns d rounded by r to places decimals.
func (d Dec) Round(places int, r Rounding) Dec {
	p := int32(places)
	switch r {
	case HalfEven:
		return Dec{d.d.RoundBank(p)}
	case Down:
		return Dec{d.d.Truncate(p)}
	case Up:
		return Dec{d.d.RoundUp(p)}
	case Floor:
		return Dec{d.d.RoundFloor(p)}
	case Ceiling:
		return Dec{d.d.RoundCeil(p)}
	default:
		return Dec{d.d.Round(p)}
	}
}

// FromRat returns an exact fraction rounded once by r to places decimals, so no
// digit is lost twice.
func FromRat(q *big.Rat, places int, r Rounding) Dec {
	scale := new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(places)), nil)
	scaled := new(big.Rat).Mul(q, new(big.Rat).SetInt(scale))
	whole, rest := new(big.Int).QuoRem(scaled.Num(), scaled.Denom(), new(big.Int))
	if rest.Sign() != 0 {
		away := big.NewInt(int64(scaled.Sign()))
		twice := new(big.Int).Lsh(new(big.Int).Abs(rest), 1).Cmp(scaled.Denom())
		step := false
		switch r {
		case HalfUp:
			step = twice >= 0
		case HalfEven:
			step = twice > 0 || twice == 0 && whole.Bit(0) == 1
		case Up:
			step = true
		case Floor:
			step = scaled.Sign() < 0
		case Ceiling:
			step = scaled.Sign() > 0
		case Down:
		}
		if step {
			whole.Add(whole, away)
		}
	}
	return Dec{decimal.NewFromBigInt(whole, int32(-places))}
}

// Places is the number of decimals that d needs.
func (d Dec) Places() int {
	s := d.String()
	if i := strings.IndexByte(s, '.'); i >= 0 {
		return len(s) - i - 1
	}
	return 0
}

// String prints d without trailing zeros.
func (d Dec) String() string { return d.d.String() }

// Fixed prints d with exactly places decimals, rounded half up when it has more.
func (d Dec) Fixed(places int) string { return d.Round(places, HalfUp).d.StringFixed(int32(places)) }

// MarshalText prints d canonically; in JSON it is a string.
func (d Dec) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads what MarshalText wrote.
func (d *Dec) UnmarshalText(b []byte) error {
	v, f := ParseDec(string(b))
	if f != nil {
		return f
	}
	*d = v
	return nil
}

// scaledInt returns d x 10^places as an integer; ok is false when d is finer
// than that or does not fit.
func (d Dec) scaledInt(places int) (n int64, ok bool) {
	s := d.d.Shift(int32(places))
	if !s.Equal(s.Truncate(0)) {
		return 0, false
	}
	b := s.BigInt()
	if !b.IsInt64() {
		return 0, false
	}
	return b.Int64(), true
}
