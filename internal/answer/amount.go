package answer

import (
	"strconv"

	"lotpaper/internal/num"
)

// Amount is money in the currency that its answer names: in JSON it is the
// number alone.
type Amount struct{ num.Money }

// MarshalText prints the number without the currency.
func (a Amount) MarshalText() ([]byte, error) { return []byte(a.String()), nil }

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
