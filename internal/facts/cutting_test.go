package facts

import (
	"strconv"
	"strings"
	"testing"
)

func TestWeightCoefficients(t *testing.T) {
	type key struct {
		diamond bool
		shape   string
	}
	uses := map[key]map[string]bool{}
	last := map[string]float64{}
	for _, w := range WeightCoefficients() {
		k := key{w.Diamond, w.Shape}
		if uses[k] == nil {
			uses[k] = map[string]bool{}
		}
		uses[k][w.Use] = true
		c, err := strconv.ParseFloat(w.Coefficient, 64)
		most := 0.005 // a block: nothing inside its box weighs more
		if w.Diamond {
			most *= 3.52
		}
		if err != nil || c < 0.001 || c > most {
			t.Errorf("%s %s: coefficient %s", w.Shape, w.Use, w.Coefficient)
		}
		if w.Use == "corrected" {
			low, _ := strconv.ParseFloat(w.Low, 64)
			high, _ := strconv.ParseFloat(w.High, 64)
			if low < 0.7 || low >= 1 || high <= 1 || high > 1.4 {
				t.Errorf("%s: band %s to %s", w.Shape, w.Low, w.High)
			}
			if strings.Contains(w.Source, "fitted") != (w.Stones > 0 && w.Stones < 1000) {
				t.Errorf("%s: source %q of %d stones", w.Shape, w.Source, w.Stones)
			}
		}
		if w.Ratio != "" {
			r, _ := strconv.ParseFloat(w.Ratio, 64)
			at := strconv.FormatBool(w.Diamond) + w.Shape + w.Use
			if r <= last[at] {
				t.Errorf("%s %s: ratio %s does not rise", w.Shape, w.Use, w.Ratio)
			}
			last[at] = r
		}
	}
	for k, u := range uses {
		if !u["handbook"] || !u["corrected"] {
			t.Errorf("%v: %v", k, u)
		}
	}
}

func TestCuttingAndCostingSources(t *testing.T) {
	check := func(what, source string) {
		if source == "" || strings.Contains(source, "://") || strings.Contains(source, "www.") {
			t.Errorf("%s: source %q", what, source)
		}
	}
	for _, w := range WeightCoefficients() {
		check("weight of "+w.Shape, w.Source)
	}
	for _, o := range Orientations() {
		check("orientation of "+o.Species, o.Source)
		if _, f := Resolve(o.Species); f != nil {
			t.Error(f)
		}
	}
	for _, c := range CostingRates() {
		check(c.Kind+" "+c.Name, c.Source)
	}
	if len(Orientations()) < 5 || len(CostingRates()) < 4 || len(WeightCoefficients()) < 80 {
		t.Errorf("%d, %d, %d rows", len(Orientations()), len(CostingRates()), len(WeightCoefficients()))
	}
}
