package bench

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"reflect"
	"runtime"
	"strconv"
	"testing"

	"lotpaper/internal/answer"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/intake"
)

// caseFile is a file of n stones, named by their number, of which verdicts and
// shares alone are asked.
func caseFile(t *testing.T, n int) *CaseFile {
	t.Helper()
	var b bytes.Buffer
	b.WriteString("case,color,ri_low,ri_high,sg\n")
	for i := range n {
		fmt.Fprintf(&b, "%d,pink,%.3f,%.3f,%.2f\n", i, 1.655+float64(i%10)/1000, 1.670+float64(i%13)/1000,
			3.15+float64(i%7)/100)
	}
	f, err := NoBook().IdentifyFile(t.Context(), IdentifyFile{Brief: true,
		File: desk.Input{Name: "cases.csv", Reader: bytes.NewReader(b.Bytes()), Size: int64(b.Len())}})
	if err != nil || f.Cases != n {
		t.Fatalf("%d cases: %v", n, err)
	}
	return f
}

// Stones are judged on all cores and come in the file's order, whatever their
// number; an error of the one who takes them ends the work, and so does an
// interruption.
func TestCaseFile_InOrder(t *testing.T) {
	for _, n := range []int{1, 255, 256, 257, 700} {
		next := 0
		err := caseFile(t, n).Each(t.Context(), func(cases []answer.Case) error {
			for _, c := range cases {
				if c.Name != strconv.Itoa(next) {
					t.Errorf("of %d: %q stands where %d belongs", n, c.Name, next)
				}
				next++
			}
			return nil
		})
		if err != nil || next != n {
			t.Errorf("%d of %d stones: %v", next, n, err)
		}
	}
	stop := errors.New("enough")
	batches := 0
	err := caseFile(t, 700).Each(t.Context(), func([]answer.Case) error {
		batches++
		return stop
	})
	if !errors.Is(err, stop) || batches != 1 {
		t.Errorf("an error at the first batch: %v after %d batches", err, batches)
	}
	ctx, cancel := context.WithCancel(t.Context())
	batches = 0
	err = caseFile(t, 700).Each(ctx, func([]answer.Case) error { batches++; cancel(); return nil })
	if !errors.Is(err, context.Canceled) || batches != 1 {
		t.Errorf("interrupted in the first batch: %v after %d batches", err, batches)
	}
}

// Four times as many stones cost four times the memory traffic, not more.
func TestCaseFile_LinearInCases(t *testing.T) {
	traffic := func(n int) float64 {
		f := caseFile(t, n)
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		if err := f.Each(t.Context(), func([]answer.Case) error { return nil }); err != nil {
			t.Fatal(err)
		}
		runtime.ReadMemStats(&after)
		return float64(after.TotalAlloc - before.TotalAlloc)
	}
	traffic(1000) // what is made once
	if one, four := traffic(1000), traffic(4000); four > 4.4*one {
		t.Errorf("%.0f bytes for 1,000 stones, %.0f for 4,000", one, four)
	}
}

// A stone given by fields, as by flags or a form, is answered as the same stone
// of a file is.
func TestIdentifyStones_AsOfFile(t *testing.T) {
	fields := map[string]string{"case": "a", "color": "pink", "ri_low": "1.660", "ri_high": "1.676", "ri_u": "0.002",
		"optic": "biaxial+", "air": "4.57", "water": "3.14", "water_c": "21", "balance": "0.01",
		"lw": "faint orange", "pleochroism": "strong pink / colourless", "birefringence": "0.016",
		"birefringence_max": "yes"}
	stone, faults := intake.CaseOf(fields)
	if faults.Blocks() {
		t.Fatal(faults)
	}
	byFields, err := NoBook().IdentifyStones(t.Context(), IdentifyStones{Stones: []intake.Case{stone}, Next: true,
		Excluded: 5, Chart: true})
	if err != nil {
		t.Fatal(err)
	}
	if c := byFields.Chart; c == nil || len(c.Stones) != 1 || len(c.Boxes) == 0 {
		t.Errorf("chart %+v", c)
	}
	text := "case,color,ri_low,ri_high,ri_u,optic,weight_air_ct,weight_water_ct,water_c,balance_ct,lw,pleochroism," +
		"birefringence,birefringence_max\na,pink,1.660,1.676,0.002,biaxial+,4.57,3.14,21,0.01,faint orange," +
		"strong pink / colourless,0.016,yes\n"
	f, err := NoBook().IdentifyFile(t.Context(), IdentifyFile{Next: true, Excluded: 5,
		File: desk.Input{Name: "c.csv", Reader: bytes.NewReader([]byte(text)), Size: int64(len(text))}})
	if err != nil {
		t.Fatal(err)
	}
	err = f.Each(t.Context(), func(cases []answer.Case) error {
		if !reflect.DeepEqual(cases, byFields.Cases) {
			t.Errorf("of the file %+v, of the fields %+v", cases, byFields.Cases)
		}
		return nil
	})
	if err != nil {
		t.Error(err)
	}
}

// Faults of fields point at the fields as they were given, all at once.
func TestFields_Faults(t *testing.T) {
	_, faults := intake.CaseOf(map[string]string{"ri_low": "deep", "sg": "99", "air": "x", "smell": "sweet"})
	_, more := intake.ReadingOf(map[string]string{"lot": "A1", "test": "taste", "balance": "0.x", "drawn": "perhaps"})
	for name, l := range map[string]struct {
		got  fault.List
		want []string
	}{
		"case":    {faults, []string{"smell", "ri_low", "sg", "air", "water"}},
		"reading": {more, []string{"drawn", "test", "balance"}},
	} {
		var fields []string
		for _, f := range l.got {
			fields = append(fields, f.Where.Field)
		}
		for _, want := range l.want {
			found := false
			for _, f := range fields {
				found = found || f == want || want == "water" && f == "weight_water_ct"
			}
			if !found {
				t.Errorf("%s: no fault at %s, but at %v", name, want, fields)
			}
		}
	}
}
