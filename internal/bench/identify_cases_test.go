package bench

import (
	"bytes"
	"errors"
	"fmt"
	"runtime"
	"strconv"
	"testing"

	"lotpaper/internal/answer"
	"lotpaper/internal/desk"
)

// caseFile is a file of n stones, named by their number.
func caseFile(t *testing.T, n int) *CaseFile {
	t.Helper()
	var b bytes.Buffer
	b.WriteString("case,color,ri_low,ri_high,sg\n")
	for i := range n {
		fmt.Fprintf(&b, "%d,pink,%.3f,%.3f,%.2f\n", i, 1.655+float64(i%10)/1000, 1.670+float64(i%13)/1000,
			3.15+float64(i%7)/100)
	}
	f, err := OpenCases(desk.Input{Name: "cases.csv", Reader: bytes.NewReader(b.Bytes()), Size: int64(b.Len())})
	if err != nil || f.Cases != n {
		t.Fatalf("%d cases: %v", n, err)
	}
	return f
}

func shortCases(t *testing.T) *Cases {
	t.Helper()
	cs, err := NewCases(CaseWords{Short: true})
	if err != nil {
		t.Fatal(err)
	}
	return cs
}

// Stones are judged on all cores and come in the file's order, whatever their
// number; the first error, of either side, stops them.
func TestEachCase_InOrder(t *testing.T) {
	cs := shortCases(t)
	name := func(c answer.CaseReport) (string, error) { return c.Case, nil }
	for _, n := range []int{1, 255, 256, 257, 700} {
		next := 0
		err := EachCase(caseFile(t, n), cs, name, func(got string) error {
			if got != strconv.Itoa(next) {
				t.Errorf("of %d: %q stands where %d belongs", n, got, next)
			}
			next++
			return nil
		})
		if err != nil || next != n {
			t.Errorf("%d of %d stones: %v", next, n, err)
		}
	}
	stop := errors.New("enough")
	taken := 0
	take := func(string) error { taken++; return nil }
	err := EachCase(caseFile(t, 700), cs, func(c answer.CaseReport) (string, error) {
		if c.Case == "300" {
			return "", stop
		}
		return c.Case, nil
	}, take)
	if !errors.Is(err, stop) || taken != 300 {
		t.Errorf("an error while stone 300 is worded: %v after %d stones", err, taken)
	}
	taken = 0
	err = EachCase(caseFile(t, 700), cs, name, func(got string) error {
		if taken++; taken == 10 {
			return stop
		}
		return nil
	})
	if !errors.Is(err, stop) || taken != 10 {
		t.Errorf("an error while stone 10 is taken: %v after %d stones", err, taken)
	}
}

// Four times as many stones cost four times the memory traffic, not more.
func TestEachCase_LinearInCases(t *testing.T) {
	cs := shortCases(t)
	traffic := func(n int) float64 {
		f := caseFile(t, n)
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		if err := EachCase(f, cs, func(c answer.CaseReport) (int, error) { return len(c.Candidates), nil },
			func(int) error { return nil }); err != nil {
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
