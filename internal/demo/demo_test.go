package demo

import (
	"bytes"
	"testing"

	"lotpaper/internal/cutting"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/intake"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
	"lotpaper/samples"
)

func sampleFile(t *testing.T, name string) *sheet.File {
	t.Helper()
	raw, err := samples.FS.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	f, faults := sheet.Open(bytes.NewReader(raw), int64(len(raw)), name, sheet.Options{})
	if faults.Blocks() {
		t.Fatal(faults)
	}
	return f
}

// Invented stones weigh what such stones weigh: every lot and every single
// stone lies in the band of the weight estimate for its shape, size and kind.
// The lot that is not what it claims weighs what it is.
func TestSamplesWeighWhatSuchStonesWeigh(t *testing.T) {
	rate, f := num.ParseRate("0.918", 1)
	if f != nil {
		t.Fatal(f)
	}
	head := intake.Head{Book: "EUR", Currency: "USD", RateOf: func(num.Currency) (num.Rate, *fault.Fault) {
		return rate,
			nil
	}}
	parcel, faults := intake.ReadParcel(sampleFile(t, "parcel.csv"), sampleFile(t, "stones.csv"), head)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	is := map[string]string{"A15": "synthetic spinel (flame fusion)"}
	weigh := func(lot intake.Lot, name string, pieces int64, carats num.Carat) {
		if other := is[lot.Label]; other != "" {
			name = other
		}
		named, f := facts.Resolve(name)
		if f != nil {
			t.Fatal(f)
		}
		m := named.Materials[0]
		shape, f := cutting.ParseShape(lot.Shape)
		if f != nil {
			t.Fatal(f)
		}
		middle := func(a, b num.Millimetre) num.Millimetre { return (a + b) / 2 }
		e, bad := cutting.Weigh(cutting.Measured{
			Shape: shape, Length: middle(lot.Length.Min, lot.Length.Max), Width: middle(lot.Width.Min, lot.Width.Max),
			Depth: lot.Depth.Min,
			SG:    num.FromFloat((m.SG.Min+m.SG.Max)/2, 3, num.HalfUp),
		})
		if bad.Blocks() {
			t.Fatal(bad)
		}
		if each := carats.Float() / float64(pieces); each < e.Low.Float() || each > e.High.Float() {
			t.Errorf("%s: %s weighs %.3f ct a stone, the estimate says %s to %s", lot.Label, name, each, e.Low, e.High)
		}
	}
	singles := int64(0)
	for _, lot := range parcel.Lots {
		weigh(lot, lot.Name(), lot.Pieces, lot.Carats)
		for _, s := range lot.Stones {
			one := lot
			one.Length, one.Width, one.Depth = s.Length, s.Width, s.Depth
			weigh(one, lot.Name(), 1, s.Carats)
		}
		if !lot.Estimated {
			singles += lot.Pieces
		}
	}
	if len(parcel.Lots) != 18 || singles != 150 {
		t.Errorf("the parcel has %d lots and %d stones beside the melee, want 18 and 150", len(parcel.Lots), singles)
	}
}
