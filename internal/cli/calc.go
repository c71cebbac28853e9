package cli

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

func (r *root) calcCommands() *cobra.Command {
	return r.group("calc", "Bench and desk calculators; no book needed",
		r.calcWeight, r.calcRecut, r.calcSG, r.calcAlloy, r.calcWax, r.calcRing, r.calcShare, r.calcMargin,
		r.calcBreakEven, r.calcSample, r.calcLight, r.calcAngle, r.calcRound, r.calcFX)
}

// calculator is one calc command while its flags are read: every value is
// text on the command line, and all its faults come at once.
type calculator struct {
	flags  map[string]*string
	lists  map[string]*[]string
	help   map[string]string
	faults fault.List
}

// calc makes the command NAME. Flags are "name=what it is"; a name that ends in
// "..." may be given more than once.
func (r *root) calc(name, short, long string, flags []string,
	run func(k *calculator) (answer.Calculation, error)) *cobra.Command {
	k := &calculator{flags: map[string]*string{}, lists: map[string]*[]string{}, help: map[string]string{}}
	c := verb(name, short, long, cobra.NoArgs, func(context.Context, []string) error {
		done, err := run(k)
		if err = k.usage(err); err != nil {
			return err
		}
		return r.show("calc-"+name, &done)
	})
	for _, f := range flags {
		flag, help, _ := strings.Cut(f, "=")
		if one, many := strings.CutSuffix(flag, "..."); many {
			k.lists[one] = c.Flags().StringArray(one, nil, help)
			continue
		}
		k.flags[flag] = c.Flags().String(flag, "", help)
		k.help[flag] = help
	}
	return c
}

// usage turns every fault into a fault of usage: a calculator has no input but
// its flags.
func (k *calculator) usage(err error) error {
	l := k.faults
	if err != nil {
		more, ok := fault.From(err)
		if !ok {
			return err
		}
		l = append(l, more...)
	}
	var out fault.List
	for _, f := range l {
		g := *f
		if !g.Warning {
			g.Kind = fault.Usage
		}
		out.Add(&g)
	}
	return out.Err()
}

// has reports whether a flag was given.
func (k *calculator) has(name string) bool {
	if list, ok := k.lists[name]; ok {
		return len(*list) > 0
	}
	return *k.flags[name] != ""
}

// need is the flag's text, a fault when it is missing.
func (k *calculator) need(name string) string {
	if !k.has(name) {
		k.faults.Add(fault.New(fault.Usage, "flag-missing", "--"+name+" is missing",
			"give --"+name+": "+k.help[name]).AtField(name))
	}
	return *k.flags[name]
}

// text is the flag's text, empty when it was not given.
func (k *calculator) text(name string) string { return *k.flags[name] }

// read parses a flag that was given; the zero value stands for one that was not.
func read[T any](k *calculator, name string, parse func(string) (T, *fault.Fault)) (v T) {
	if !k.has(name) {
		return v
	}
	v, f := parse(k.text(name))
	if f != nil {
		k.faults.Add(f.AtField(name))
	}
	return v
}

// must is read for a flag that has to be given.
func must[T any](k *calculator, name string, parse func(string) (T, *fault.Fault)) T {
	k.need(name)
	return read(k, name, parse)
}

// ready fails when a flag was wrong so far.
func (k *calculator) ready() error {
	if len(k.faults) > 0 {
		return errFlags
	}
	return nil
}

// errFlags stands for the faults that a calculator has collected.
var errFlags = fault.List{}

// noAnswer is returned beside an error.
var noAnswer answer.Calculation

// only refuses flags that do not go together.
func (k *calculator) only(names ...string) (one string) {
	for _, n := range names {
		switch {
		case !k.has(n):
		case one == "":
			one = n
		default:
			k.faults.Add(fault.New(fault.Usage, "flags-together", "--"+one+" and --"+n+" do not go together",
				"give one of --"+strings.Join(names, ", --")).AtField(n))
		}
	}
	if one == "" {
		k.faults.Add(fault.New(fault.Usage, "flag-missing", "one of --"+strings.Join(names, ", --")+" is missing",
			"give one of them").AtField(names[0]))
	}
	return one
}

// parseCount reads a whole number from low on.
func parseCount(low int) func(string) (int, *fault.Fault) {
	return func(s string) (int, *fault.Fault) {
		n, err := strconv.Atoi(strings.TrimSpace(s))
		if err != nil || n < low || n > 1_000_000_000 {
			return 0, fault.New(fault.Usage, "count-bad",
				fmt.Sprintf("a whole number from %d on is wanted, but found %q", low, s),
				fmt.Sprintf("write digits only, e.g. %d", max(low, 12)))
		}
		return n, nil
	}
}

// parseShare reads a number above 0 and at most 1; with whole false below 1.
func parseShare(whole bool) func(string) (num.Dec, *fault.Fault) {
	return func(s string) (num.Dec, *fault.Fault) {
		d, f := num.ParseDec(s)
		if f != nil {
			return d, f
		}
		over := d.Cmp(num.Int(1))
		if d.Sign() <= 0 || over > 0 || over == 0 && !whole {
			limit := "under 1"
			if whole {
				limit = "at most 1"
			}
			return d, fault.New(fault.Usage, "share-range",
				"a share must be above 0 and "+limit+", but is "+d.String(), "write 0.95 for 95 %")
		}
		return d, nil
	}
}

// parsePositive reads a number of at least 0, or above it.
func parsePositive(zero bool) func(string) (num.Dec, *fault.Fault) {
	return func(s string) (num.Dec, *fault.Fault) {
		d, f := num.ParseDec(s)
		if f == nil && (d.Sign() < 0 || d.Sign() == 0 && !zero) {
			f = fault.New(fault.Usage, "number-range", "a number above 0 is wanted, but found "+d.String(),
				"write it like 12.5")
		}
		return d, f
	}
}

// above0 refuses a measure that is not more than 0.
func above0[T ~int64](parse func(string) (T, *fault.Fault)) func(string) (T, *fault.Fault) {
	return func(s string) (T, *fault.Fault) {
		v, f := parse(s)
		if f == nil && v <= 0 {
			f = fault.New(fault.Usage, "number-range", "a measure above 0 is wanted, but found "+s, "measure it again")
		}
		return v, f
	}
}

// currency is the currency of --currency; without one, amounts have two
// decimals and no name.
func (k *calculator) currency() num.Currency {
	return read(k, "currency", num.ParseCurrency)
}

// money reads an amount at the minor unit.
func (k *calculator) money(name string) num.Money {
	c := k.currency()
	return read(k, name, func(s string) (num.Money, *fault.Fault) {
		m, f := num.ParseMoney(s, c)
		if f != nil && f.Code == "money-too-fine" && c == "" {
			f = fault.New(fault.Usage, f.Code,
				"an amount without a currency must have at most 2 decimals, but is \""+s+"\"",
				"round it, or give --currency")
		}
		return m, f
	})
}

// price reads a unit price.
func (k *calculator) price(name string) num.UnitPrice {
	c := k.currency()
	return read(k, name, func(s string) (num.UnitPrice, *fault.Fault) { return num.ParseUnitPrice(s, c) })
}

// currencyFlag is the one flag that all money calculators share.
const currencyFlag = "currency=ISO 4217 code; its minor unit is what amounts are rounded to (default: 2 decimals)"
