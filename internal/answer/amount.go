package answer

import (
	"fmt"
	"strconv"

	"lotpaper/internal/num"
)

// Amount is money in the currency that its answer names: in JSON it is the
// number alone.
type Amount struct{ num.Money }

// MarshalText prints the number without the currency.
func (a Amount) MarshalText() ([]byte, error) { return []byte(a.String()), nil }

// UnmarshalText reads what MarshalText wrote; the currency is then not known.
func (a *Amount) UnmarshalText(b []byte) error {
	m, f := num.ParseMoney(string(b), "")
	if f != nil {
		return f
	}
	a.Money = m
	return nil
}

// Units is a number of pieces that must be sold; below 0 no number is enough.
type Units int64

// String prints the number, or "never".
func (u Units) String() string {
	if u < 0 {
		return "never"
	}
	return strconv.FormatInt(int64(u), 10)
}

// MarshalText prints what String prints.
func (u Units) MarshalText() ([]byte, error) { return []byte(u.String()), nil }

// UnmarshalText reads what MarshalText wrote.
func (u *Units) UnmarshalText(b []byte) error {
	if string(b) == "never" {
		*u = -1
		return nil
	}
	n, err := strconv.ParseInt(string(b), 10, 64)
	if err != nil {
		return fmt.Errorf("read a number of pieces: %w", err)
	}
	*u = Units(n)
	return nil
}
