package num

import (
	"fmt"
	"strconv"
	"strings"

	"lotpaper/internal/fault"
)

// moneyPlaces: money is kept in millionths of the currency unit.
const moneyPlaces = 6

// maxMoney bounds one amount (a thousand million units), so that the sum of
// several thousand of them stays inside int64.
const maxMoney = 1_000_000_000_000_000

// Money is an amount in millionths of a currency unit. The zero Money has no
// currency and adds to any.
type Money struct {
	micros   int64
	currency Currency
}

// Micros returns n millionths of currency c.
func Micros(n int64, c Currency) Money { return Money{n, c} }

// Zero is no money of currency c.
func Zero(c Currency) Money { return Money{0, c} }

// ParseMoney reads an amount of c with at most the decimals of its minor unit.
func ParseMoney(s string, c Currency) (Money, *fault.Fault) {
	d, f := ParseDec(s)
	if f != nil {
		return Money{}, f
	}
	if d.Places() > c.Digits() {
		return Money{}, fault.New(fault.Invalid, "money-too-fine",
			fmt.Sprintf("an amount of %s must have at most %d decimals, but is %s", c, c.Digits(), quote(s)),
			"round it to the currency's minor unit")
	}
	n, ok := d.scaledInt(moneyPlaces)
	if !ok || n > maxMoney || n < -maxMoney {
		return Money{}, tooLarge("an amount", s, "money")
	}
	return Money{n, c}, nil
}

// MoneyFromDec rounds d units of c by r to the minor unit.
func MoneyFromDec(d Dec, c Currency, r Rounding) Money {
	n, _ := d.Round(c.Digits(), r).scaledInt(moneyPlaces)
	return Money{n, c}
}

// Micros returns the amount in millionths.
func (m Money) Micros() int64 { return m.micros }

// Currency returns the currency; empty for the zero Money.
func (m Money) Currency() Currency { return m.currency }

// Dec returns the amount in currency units.
func (m Money) Dec() Dec { return Scaled(m.micros, moneyPlaces) }

// Float returns the amount for search, statistics and display cells.
func (m Money) Float() float64 { return float64(m.micros) / 1e6 }

// Sign is -1, 0 or 1.
func (m Money) Sign() int {
	switch {
	case m.micros < 0:
		return -1
	case m.micros > 0:
		return 1
	}
	return 0
}

// IsZero reports whether there is no money, of whatever currency.
func (m Money) IsZero() bool { return m.micros == 0 }

// Add returns m + o. Amounts of two currencies never meet: input is converted
// when it is read, so a mix here is a bug and panics.
func (m Money) Add(o Money) Money {
	return Money{m.micros + o.micros, m.with(o)}
}

// Sub returns m - o.
func (m Money) Sub(o Money) Money { return Money{m.micros - o.micros, m.with(o)} }

// Neg returns -m.
func (m Money) Neg() Money { return Money{-m.micros, m.currency} }

// Cmp compares two amounts of one currency.
func (m Money) Cmp(o Money) int {
	m.with(o)
	switch {
	case m.micros < o.micros:
		return -1
	case m.micros > o.micros:
		return 1
	}
	return 0
}

func (m Money) with(o Money) Currency {
	switch {
	case m.currency == o.currency || o.currency == "":
		return m.currency
	case m.currency == "":
		return o.currency
	}
	panic(fmt.Sprintf("num: %s met %s", m.currency, o.currency))
}

// IsWhole reports whether the amount is a whole number of minor units.
func (m Money) IsWhole() bool { return m.micros%minorMicros(m.currency) == 0 }

// Minor returns the amount in minor units (cents), rounded by r.
func (m Money) Minor(r Rounding) int64 {
	n, _ := m.Dec().Round(m.currency.Digits(), r).scaledInt(m.currency.Digits())
	return n
}

// FromMinor returns n minor units of c.
func FromMinor(n int64, c Currency) Money { return Money{n * minorMicros(c), c} }

func minorMicros(c Currency) int64 {
	n := int64(1)
	for range moneyPlaces - c.Digits() {
		n *= 10
	}
	return n
}

// Round returns the amount rounded by r to the minor unit.
func (m Money) Round(r Rounding) Money { return MoneyFromDec(m.Dec(), m.currency, r) }

// Times returns m x d rounded by r to the minor unit.
func (m Money) Times(d Dec, r Rounding) Money { return MoneyFromDec(m.Dec().Mul(d), m.currency, r) }

// Each returns the n-th part of m, rounded by r to the minor unit; n must not be
// 0.
func (m Money) Each(n int64, r Rounding) Money {
	return MoneyFromDec(m.Dec().Each(n, m.currency.Digits(), r), m.currency, r)
}

// Convert turns m into currency to at rate x (units of to per unit of m),
// rounded by r to the minor unit.
func (m Money) Convert(x Rate, to Currency, r Rounding) Money {
	return MoneyFromDec(m.Dec().Mul(x.PerOne()), to, r)
}

// String prints the amount with the decimals of its minor unit, more only when
// it is finer, and no currency.
func (m Money) String() string {
	if d := m.currency.Digits(); m.IsWhole() {
		return fixed(m.micros/minorMicros(m.currency), d)
	}
	return m.Dec().String()
}

// Words prints the amount with its currency: "12.50 EUR".
func (m Money) Words() string { return m.String() + " " + string(m.currency) }

// MarshalText prints "12.50 EUR"; the zero Money prints "0".
func (m Money) MarshalText() ([]byte, error) {
	if m.currency == "" {
		return []byte("0"), nil
	}
	return []byte(m.Words()), nil
}

// UnmarshalText reads what MarshalText wrote.
func (m *Money) UnmarshalText(b []byte) error {
	amount, code, found := strings.Cut(string(b), " ")
	if !found {
		if amount == "0" || amount == "" {
			*m = Money{}
			return nil
		}
		return fmt.Errorf("num: money %q has no currency", b)
	}
	d, f := ParseDec(amount)
	if f != nil {
		return f
	}
	n, ok := d.scaledInt(moneyPlaces)
	if !ok {
		return fmt.Errorf("num: money %q is finer than a millionth", b)
	}
	*m = Money{n, Currency(code)}
	return nil
}

// UnitPrice is a price per carat, piece or gram, kept to six decimals.
type UnitPrice struct{ Money }

// ParseUnitPrice reads a unit price of c with at most six decimals, not
// negative.
func ParseUnitPrice(s string, c Currency) (UnitPrice, *fault.Fault) {
	d, f := ParseDec(s)
	if f != nil {
		return UnitPrice{}, f
	}
	if d.Sign() < 0 {
		return UnitPrice{}, fault.New(fault.Invalid, "price-negative", "a price must not be negative, but is "+quote(s),
			"enter the price as a positive number")
	}
	n, ok := d.scaledInt(moneyPlaces)
	if !ok || n > maxMoney {
		return UnitPrice{}, fault.New(fault.Invalid, "price-too-fine", "a price must have at most 6 decimals and a "+
			"sane "+
			"size, but is "+quote(s), "round it to "+strconv.Itoa(moneyPlaces)+" decimals")
	}
	return UnitPrice{Money{n, c}}, nil
}

// UnitPriceFromDec rounds d units of c by r to six decimals.
func UnitPriceFromDec(d Dec, c Currency, r Rounding) UnitPrice {
	n, _ := d.Round(moneyPlaces, r).scaledInt(moneyPlaces)
	return UnitPrice{Money{n, c}}
}

// ForCarats is the price of w, rounded by r to the minor unit.
func (u UnitPrice) ForCarats(w Carat, r Rounding) Money { return u.Times(w.Dec(), r) }

// ForPieces is the price of n pieces, rounded by r to the minor unit.
func (u UnitPrice) ForPieces(n int64, r Rounding) Money { return u.Times(Int(n), r) }
