package costing

import (
	"fmt"
	"math"
	"strings"

	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// RingSystem is a national system of ring sizes.
type RingSystem string

// The systems. CH is the Swiss, Italian and Spanish one.
const (
	RingISO RingSystem = "ISO"
	RingUS  RingSystem = "US"
	RingUK  RingSystem = "UK"
	RingJP  RingSystem = "JP"
	RingCH  RingSystem = "CH"
)

// RingSize is one inside circumference in every system.
type RingSize struct {
	Circumference num.Dec `json:"circumference_mm"` // 2 decimals
	Diameter      num.Dec `json:"diameter_mm"`      // 2 decimals
	ISO           string  `json:"ISO"`              // the circumference in whole millimetres
	US            string  `json:"US"`               // nearest quarter size
	UK            string  `json:"UK"`               // nearest half letter: approximate
	JP            string  `json:"JP"`               // nearest whole size
	CH            string  `json:"CH"`               // circumference - 40
	Formula       string  `json:"formula"`
	Source        string  `json:"source"`
	Note          string  `json:"note"`
}

const (
	ringFormula = "circumference = pi x diameter; US: diameter = 25.4 x (0.458 + 0.032 n) mm; UK: circumference = 37.5 + 1.25 a letter; JP: diameter = 13 + (n - 1) / 3 mm; Swiss, Italian: circumference - 40"
	ringSource  = "ISO 8653:2016; Ring size systems table (Wikipedia); UK letters from memory: BS 6820; JP: common practice"
	ringNote    = "sticks differ between makers by up to 0.5 mm of circumference; UK letters are approximate: the usual charts differ by up to half a letter. Keep the circumference."
)

// ukFirst and ukStep: BS 6820 A = 37.5 mm, C = 40.0 mm (from memory).
const (
	ukFirst = 37.5
	ukStep  = 1.25
)

// RingBySize converts a size of a system: US "7", "6.5", "6 1/2"; UK "N",
// "N1/2"; ISO the circumference; JP and CH numbers.
func RingBySize(system RingSystem, size string) (RingSize, *fault.Fault) {
	size = strings.TrimSpace(size)
	bad := func(mend string) *fault.Fault {
		return fault.New(fault.Invalid, "ring-size", fmt.Sprintf("%q is no ring size of the %s system", size, system), mend).AtFlag("size")
	}
	var c float64
	switch RingSystem(strings.ToUpper(string(system))) {
	case RingISO:
		v, ok := ringNumber(size)
		if !ok || v < 38 || v > 80 {
			return RingSize{}, bad("write the inside circumference in mm, 41 to 76")
		}
		c = v
	case RingUS:
		v, ok := ringNumber(size)
		if !ok || v < 0 || v > 16 {
			return RingSize{}, bad("write a number from 0 to 16, e.g. 7 or 6.5")
		}
		c = math.Pi * 25.4 * (0.458 + 0.032*v)
	case RingJP:
		v, ok := ringNumber(size)
		if !ok || v < 1 || v > 35 {
			return RingSize{}, bad("write a number from 1 to 35")
		}
		c = math.Pi * (13 + (v-1)/3)
	case RingCH:
		v, ok := ringNumber(size)
		if !ok || v < 0 || v > 40 {
			return RingSize{}, bad("write the circumference less 40, e.g. 14")
		}
		c = v + 40
	case RingUK:
		letter := strings.ToUpper(size)
		half := 0.0
		for _, h := range []string{" 1/2", "1/2", " ½", "½", ".5"} {
			if strings.HasSuffix(letter, h) {
				letter, half = strings.TrimSuffix(letter, h), 0.5
				break
			}
		}
		if len(letter) != 1 || letter[0] < 'A' || letter[0] > 'Z' {
			return RingSize{}, bad("write a letter A to Z, e.g. N or N1/2")
		}
		c = ukFirst + ukStep*(float64(letter[0]-'A')+half)
	default:
		return RingSize{}, fault.New(fault.Usage, "ring-system", "ring sizes are known as US, UK, ISO, JP or CH, but not as \""+string(system)+"\"", "write --system US, UK, ISO, JP or CH").AtFlag("system")
	}
	return ringOf(c), nil
}

// RingByDiameter converts an inside diameter in mm.
func RingByDiameter(d num.Dec) (RingSize, *fault.Fault) {
	if v := d.Float(); v < 10 || v > 30 {
		return RingSize{}, fault.New(fault.Invalid, "ring-diameter", "a ring's inside diameter lies between 10 and 30 mm, but is "+d.String(), "measure the inside diameter in mm, e.g. 17.3").AtFlag("diameter")
	}
	return ringOf(d.Float() * math.Pi), nil
}

// ringNumber reads 6.5 or 6 1/2.
func ringNumber(s string) (float64, bool) {
	whole, fraction, _ := strings.Cut(s, " ")
	d, f := num.ParseDec(whole)
	if f != nil {
		return 0, false
	}
	extra, ok := map[string]float64{"": 0, "1/4": 0.25, "1/2": 0.5, "3/4": 0.75, "¼": 0.25, "½": 0.5, "¾": 0.75}[strings.TrimSpace(fraction)]
	return d.Float() + extra, ok
}

func ringOf(c float64) RingSize {
	d := c / math.Pi
	out := func(v float64, low, high, step float64) string {
		n := math.Round(v/step) * step
		if n < low || n > high {
			return "" // outside the system
		}
		return num.FromFloat(n, 2, num.HalfUp).String()
	}
	r := RingSize{
		Circumference: num.FromFloat(c, 2, num.HalfUp), Diameter: num.FromFloat(d, 2, num.HalfUp),
		ISO: out(c, 38, 80, 1), US: out((d/25.4-0.458)/0.032, 0, 16, 0.25), JP: out((d-13)*3+1, 1, 35, 1), CH: out(c-40, 0, 40, 0.25),
		Formula: ringFormula, Source: ringSource, Note: ringNote,
	}
	if n := math.Round((c-ukFirst)/ukStep*2) / 2; n >= 0 && n < 26 {
		r.UK = string(rune('A' + int(n)))
		if n != math.Trunc(n) {
			r.UK += "1/2"
		}
	}
	return r
}

// BandBlank is the length of strip for a band: inside circumference + pi x
// thickness, + 0.5 mm when wider than 4 mm (Measuring a ring blank, Rio Grande).
func BandBlank(circumference, thickness, width num.Dec) num.Dec {
	l := circumference.Float() + math.Pi*thickness.Float()
	if width.Cmp(num.Int(4)) > 0 {
		l += 0.5
	}
	return num.FromFloat(l, 2, num.HalfUp)
}
