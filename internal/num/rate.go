package num

import (
	"fmt"
	"strings"

	"lotpaper/internal/fault"
)

// Rate is a rate of exchange or of metal: book units per 1, 100 or 1000
// foreign units, with at most 12 significant digits.
type Rate struct {
	value Dec
	per   int64
}

// ParseRate reads a positive rate quoted per 1, 100 or 1000 units.
func ParseRate(s string, per int64) (Rate, *fault.Fault) {
	d, f := ParseDec(s)
	if f != nil {
		return Rate{}, f
	}
	if d.Sign() <= 0 {
		return Rate{}, fault.New(fault.Invalid, "rate-not-positive", "a rate must be more than 0, but is "+quote(s),
			"enter the rate as a positive number")
	}
	if significant(d.String()) > 12 {
		return Rate{}, fault.New(fault.Invalid, "rate-too-fine", "a rate must have at most 12 significant digits, "+
			"but is "+
			quote(s), "round the rate")
	}
	if per != 1 && per != 100 && per != 1000 {
		return Rate{}, fault.New(fault.Invalid, "rate-per",
			fmt.Sprintf("a rate must be quoted per 1, 100 or 1000 units, but is per %d", per), "write 1, 100 or 1000")
	}
	return Rate{d, per}, nil
}

func significant(s string) int {
	s = strings.TrimLeft(strings.Replace(strings.TrimPrefix(s, "-"), ".", "", 1), "0")
	return len(s)
}

// Quoted is the rate as it was quoted: its value for per foreign units. The
// zero Rate is 1 for 1.
func (r Rate) Quoted() (value Dec, per int64) {
	if r.per == 0 {
		return Int(1), 1
	}
	return r.value, r.per
}

// PerOne is the rate for one foreign unit, exactly. The zero Rate is 1.
func (r Rate) PerOne() Dec {
	switch r.per {
	case 0:
		return Int(1)
	case 100:
		return r.value.Mul(Scaled(1, 2))
	case 1000:
		return r.value.Mul(Scaled(1, 3))
	}
	return r.value
}

// IsOne reports whether the rate changes nothing.
func (r Rate) IsOne() bool { return r.PerOne().Cmp(Int(1)) == 0 }

// String prints "1.0834" or "0.6312 per 100".
func (r Rate) String() string {
	switch r.per {
	case 0:
		return "1"
	case 1:
		return r.value.String()
	}
	return fmt.Sprintf("%s per %d", r.value, r.per)
}

// MarshalText prints what String prints.
func (r Rate) MarshalText() ([]byte, error) { return []byte(r.String()), nil }

// UnmarshalText reads what MarshalText wrote.
func (r *Rate) UnmarshalText(b []byte) error {
	value, per, found := strings.Cut(string(b), " per ")
	n := int64(1)
	if found {
		if _, err := fmt.Sscan(per, &n); err != nil {
			return fmt.Errorf("num: rate %q: %w", b, err)
		}
	}
	v, f := ParseRate(value, n)
	if f != nil {
		return f
	}
	*r = v
	return nil
}

// Percent is a percentage, exact: 12.5 is 12.5 %.
type Percent struct{ Dec }

// ParsePercent reads a percentage without its sign.
func ParsePercent(s string) (Percent, *fault.Fault) {
	d, f := ParseDec(strings.TrimSuffix(strings.TrimSpace(s), "%"))
	return Percent{d}, f
}

// Fraction is the percentage as a number: 12.5 % is 0.125.
func (p Percent) Fraction() Dec { return p.Mul(Scaled(1, 2)) }

// PercentOf returns 100 x part / whole rounded half up to places decimals. Of a
// whole of 0 every part is 0 percent.
func PercentOf(part, whole Dec, places int) Percent {
	if whole.IsZero() {
		return Percent{}
	}
	return Percent{part.Mul(Int(100)).Over(whole, places, HalfUp)}
}
