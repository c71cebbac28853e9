package cli

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/bench"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/intake"
)

// identifyFlags are what identify is asked by.
type identifyFlags struct {
	file, encoding, chart string
	noNext, explain       bool
	out                   output
	excluded              int
	strata                []string
	filter                desk.StockFilter
	reading               map[string]*string // readings of one stone, by the name of their field
	maximum               bool
	changed               func(flag string) bool
}

// readingFlags are the readings of one stone on the command line: a flag is
// the field of a case, with - for _.
var readingFlags = []struct{ field, help string }{
	{"color", "of the stone, in plain words"},
	{"ri_low", "lower shadow edge; >1.79 is over the limit"},
	{"ri_high", "upper shadow edge"},
	{"ri_spot", "spot reading"},
	{"ri_u", "standard uncertainty of an edge"},
	{"birefringence", "as read"},
	{"optic", "isotropic, anomalous, aggregate, doubly, uniaxial[+-], biaxial[+-]"},
	{"sg", "specific gravity"},
	{"sg_u", "its standard uncertainty"},
	{"air", "weight in air, ct"},
	{"water", "weight in water, ct"},
	{"water_c", "temperature of the water"},
	{"balance", "resolution of the balance, ct"},
	{"lw", "long-wave fluorescence: strength and colour"},
	{"sw", "short-wave fluorescence: strength and colour"},
	{"pleochroism", "strength and colours"},
	{"look", "transparent, translucent or opaque; faceted, cabochon, bead or carved; lustre, phenomena"},
	{"magnification", "what the loupe shows, e.g. gas bubbles"},
}

func (f *identifyFlags) register(c *cobra.Command) {
	fl := c.Flags()
	fl.StringVar(&f.file, "file", "", "CSV or XLSX with stones to identify")
	fl.StringVar(&f.encoding, "encoding", "", "encoding of a CSV that is not UTF-8: windows-1252")
	fl.BoolVar(&f.noNext, "no-next", false, "leave the next tests out: faster for large files")
	fl.BoolVar(&f.explain, "explain", false, "all that the readings say: every material left or excluded, and why")
	fl.IntVar(&f.excluded, "excluded", 1000, "how many excluded materials to name for each stone, nearest first")
	fl.StringSliceVar(&f.strata, "strata", nil, "the lot's pieces by appearance, e.g. blue=30,green=12; a tested "+
		"stone belongs where its color reading says")
	fl.StringVar(&f.chart, "chart", "", "draw n against SG to this .svg or .png file")
	f.out.ofList(c)
	f.reading = map[string]*string{}
	for _, x := range readingFlags {
		f.reading[x.field] = fl.String(strings.ReplaceAll(x.field, "_", "-"), "", x.help)
	}
	fl.BoolVar(&f.maximum, "birefringence-max", false, "the stone was turned until it was greatest")
	stockFilter(c, &f.filter)
	f.changed = fl.Changed
}

// together refuses a flag that says nothing of what is asked about: a lot, a
// file of stones, a stone whose readings the flags hold, or the lots of the
// book.
func (f *identifyFlags) together(args []string) error {
	readings := []string{"birefringence-max"}
	for _, x := range readingFlags {
		readings = append(readings, strings.ReplaceAll(x.field, "_", "-"))
	}
	lots := []string{"parcel", "species", "shape", "place", "owner", "all"}
	refuse := func(why, mend string, flags ...string) *fault.Fault {
		i := slices.IndexFunc(flags, f.changed)
		if i < 0 {
			return nil
		}
		return fault.New(fault.Usage, "identify-flag", "--"+flags[i]+" "+why, mend).
			AtField(strings.ReplaceAll(flags[i], "-", "_"))
	}
	var bad *fault.Fault
	switch {
	case len(args) > 0:
		if bad = refuse("does not go with a lot, which is judged by the readings in the book",
			"add it to them", readings...); bad != nil {
			return bad.Do("reading", "add", args[0])
		}
		bad = refuse("does not go with one lot", "leave it out, or the lot", lots...)
	case f.file != "":
		bad = refuse("does not go with a file of stones", "leave it out, or the file", slices.Concat(readings, lots,
			[]string{"strata", "chart"})...)
	case f.given():
		bad = refuse("does not go with the readings of one stone", "leave it out, or the readings",
			append(lots, "strata", "output")...)
	default:
		if bad = refuse("is no reading by itself", "give one too, such as --ri-low or --sg", readings...); bad == nil {
			bad = refuse("is of one lot or stone", "name the lot", "explain")
		}
	}
	if bad == nil {
		return nil
	}
	return bad
}

// given reports whether the flags hold a reading.
func (f *identifyFlags) given() bool {
	about := []string{"color", "ri_u", "sg_u", "water_c", "balance"} // of a stone or a reading, but none by itself
	for _, field := range slices.Sorted(maps.Keys(f.reading)) {
		if *f.reading[field] != "" && !slices.Contains(about, field) {
			return true
		}
	}
	return false
}

// stones is the request for the stone whose readings the flags hold.
func (f *identifyFlags) stones() (bench.IdentifyStones, error) {
	fields := map[string]string{"case": "stone"}
	for field, text := range f.reading {
		fields[field] = *text
	}
	if f.maximum {
		fields["birefringence_max"] = "yes"
	}
	stone, faults := intake.CaseOf(fields)
	return bench.IdentifyStones{Stones: []intake.Case{stone}, Next: !f.noNext, Excluded: f.excluded,
		Chart: f.chart != ""}, faults.Err()
}

// lots is the request for lots of the book.
func (f *identifyFlags) lots(args []string) (bench.Identify, error) {
	out := bench.Identify{Filter: f.filter, Chart: f.chart != ""}
	if len(args) > 0 {
		out.Lot = args[0]
	}
	if out.Chart && out.Lot == "" {
		return out, fault.New(fault.Usage, "chart-lot", "a chart is of one lot or stone", "name the lot").
			AtField("chart")
	}
	var err error
	out.Strata, err = strataOf(f.strata, out.Lot)
	return out, err
}

// strataOf reads "blue=30".
func strataOf(parts []string, lot string) (map[string]int, error) {
	if len(parts) == 0 {
		return nil, nil
	}
	out := map[string]int{}
	for _, part := range parts {
		name, count, _ := strings.Cut(part, "=")
		n, err := strconv.Atoi(strings.TrimSpace(count))
		name = strings.ToLower(strings.TrimSpace(name))
		if err != nil || n < 1 || name == "" || out[name] > 0 || lot == "" {
			return nil, fault.New(fault.Usage, "strata",
				fmt.Sprintf("strata are the colours of one lot, each once, with their pieces, but one is %q", part),
				"write them like --strata blue=30,green=12 beside the lot").AtField("strata")
		}
		out[name] = n
	}
	return out, nil
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
