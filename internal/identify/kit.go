package identify

import (
	"fmt"
	"io/fs"
	"slices"
	"strconv"
	"strings"

	"lotpaper/internal/csvtable"
	"lotpaper/internal/fault"
)

// The instruments that Next can reckon with.
const (
	Refractometer = "refractometer"
	RotationTest  = "refractometer rotation"
	SpotReading   = "refractometer spot"
	Polariscope   = "polariscope"
	Conoscope     = "conoscope"
	Balance       = "balance"
	HeavyLiquids  = "heavy liquids"
	Dichroscope   = "dichroscope"
	Spectroscope  = "spectroscope"
	LongWaveLamp  = "long-wave lamp"
	ShortWaveLamp = "short-wave lamp"

	LookOver        = "look"
	Loupe           = "loupe"
	ColourFilter    = "colour filter"
	ThermalProbe    = "thermal probe"
	ElectricalProbe = "electrical probe"
)

// Instruments lists every instrument that a kit may name.
var Instruments = []string{Refractometer, RotationTest, SpotReading, Polariscope, Conoscope, Balance, HeavyLiquids,
	Dichroscope, Spectroscope, LongWaveLamp, ShortWaveLamp, LookOver, Loupe, ColourFilter, ThermalProbe,
	ElectricalProbe}

// Instrument is one that stands on the user's bench.
type Instrument struct {
	Name    string
	Minutes float64  // of one test
	Cannot  []string // what cannot take it: words of barWords
	Caution string
	Usual   bool   // stands on a bench of which nothing is said
	Source  string // of the minutes and the caution
}

// ReadKit reads a kit with the columns instrument, minutes, cannot, caution,
// usual (yes or no) and source. All faults come at once.
func ReadKit(files fs.FS, name string) ([]Instrument, error) {
	rows, err := csvtable.Read(files, name)
	if err != nil {
		return nil, fmt.Errorf("read the bench kit: %w", err)
	}
	var kit []Instrument
	var faults fault.List
	for i, row := range rows {
		in := Instrument{Name: row["instrument"], Caution: row["caution"], Usual: row["usual"] == "yes",
			Source: row["source"]}
		at := fault.Where{File: name, Row: i + csvtable.FirstLine}
		if !slices.Contains(Instruments, in.Name) {
			at.Header = "instrument"
			faults.Add(fault.New(fault.Invalid, "instrument-unknown",
				fmt.Sprintf("%q is no instrument of the bench kit", in.Name), "use one of "+strings.Join(Instruments,
					", ")).At(at))
		}
		minutes, err := strconv.ParseFloat(row["minutes"], 64)
		if err != nil || minutes <= 0 {
			at.Header = "minutes"
			faults.Add(fault.New(fault.Invalid, "minutes-unreadable",
				fmt.Sprintf("the minutes of a test must be more than 0, but are %q", row["minutes"]),
				"enter e.g. 2").At(at))
		}
		in.Minutes = minutes
		if usual := row["usual"]; usual != "yes" && usual != "no" {
			at.Header = "usual"
			faults.Add(fault.New(fault.Invalid, "usual-unreadable", fmt.Sprintf("usual must be yes or no, but is %q",
				usual), "enter yes or no").At(at))
		}
		for _, word := range strings.Split(row["cannot"], ";") {
			if word = strings.TrimSpace(word); word == "" {
				continue
			}
			if _, known := barWords[word]; !known {
				at.Header = "cannot"
				faults.Add(fault.New(fault.Invalid, "cannot-unknown", fmt.Sprintf("%q is nothing that a test can be "+
					"barred by", word), "use some of aggregate, opaque, porous, assembled, curved, fixed, light, "+
					"heat").At(at))
			}
			in.Cannot = append(in.Cannot, word)
		}
		kit = append(kit, in)
	}
	return kit, faults.Err()
}
