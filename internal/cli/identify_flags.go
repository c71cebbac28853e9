package cli

import (
	"strings"

	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// numbers reports every reading flag that is no number. An edge may be over the
// limit: ">1.79".
func (f *identifyFlags) numbers() error {
	var l fault.List
	for _, x := range []struct{ name, text string }{
		{"ri-low", strings.TrimPrefix(f.low, ">")}, {"ri-high", strings.TrimPrefix(f.high, ">")},
		{"ri-spot", strings.TrimPrefix(f.spot, ">")}, {"ri-u", f.ru}, {"birefringence", f.dr},
		{"sg", f.sg}, {"sg-u", f.sgu}, {"water-c", f.waterC}, {"balance", f.balance},
	} {
		if x.text == "" {
			continue
		}
		if _, bad := num.ParseDec(x.text); bad != nil {
			l.Add(bad.AtField(x.name))
		}
	}
	return l.Err()
}

// ofFlags makes the faults of a reading that was given by flags faults of usage:
// there is no row or record to point at.
func ofFlags(err error) error {
	l, ok := fault.From(err)
	if !ok {
		return err
	}
	out := make(fault.List, len(l))
	for i, f := range l {
		if f.Kind == fault.Invalid {
			f = f.At(fault.Where{Field: f.Where.Field})
			f.Kind = fault.Usage
		}
		out[i] = f
	}
	return out
}
