package cli

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
)

func TestMoving(t *testing.T) {
	for _, c := range []struct {
		text string
		want stockroom.Moving
		code string // of the fault; empty: none
	}{
		{"P1-3", stockroom.Moving{Lot: "P1-3"}, ""},
		{"P1-3:4", stockroom.Moving{Lot: "P1-3", Pieces: 4}, ""},
		{"P1-3:4:6.250", stockroom.Moving{Lot: "P1-3", Pieces: 4, Carats: 6250}, ""},
		{"P1-3:0:6.250", stockroom.Moving{}, "pieces-bad"},
		{"", stockroom.Moving{}, "moving-form"},
		{":4:6.250", stockroom.Moving{}, "moving-form"},
		{"P1-3:4:6.250:9", stockroom.Moving{}, "moving-form"},
		{"P1-3:four", stockroom.Moving{}, "pieces-bad"},
		{"P1-3:-4", stockroom.Moving{}, "pieces-bad"},
	} {
		got, err := moving([]string{c.text})
		if c.code != "" {
			usage(t, c.text, err, c.code)
			continue
		}
		if err != nil || !cmp.Equal(got, []stockroom.Moving{c.want}) {
			t.Errorf("%s is read as %+v, %v, want %+v", c.text, got, err, c.want)
		}
	}
	if _, err := moving([]string{"P1-3:4:heavy"}); fault.KindOf(err) != fault.Usage {
		t.Errorf("a weight in words gives %v", err)
	}
}

func TestSortPart(t *testing.T) {
	eur := func(s string) num.Money {
		m, f := num.ParseMoney(s, "EUR")
		if f != nil {
			t.Fatal(f)
		}
		return m
	}
	for _, c := range []struct {
		text string
		want stockroom.SortPart
		code string
	}{
		{"A:12:18.40", stockroom.SortPart{Label: "A", Pieces: 12, Carats: 18400}, ""},
		{":12:18.40", stockroom.SortPart{Pieces: 12, Carats: 18400}, ""}, // the next child code
		{"A:12:18.40:900", stockroom.SortPart{Label: "A", Pieces: 12, Carats: 18400, Value: eur("900")}, ""},
		{"A:12:18.40:900:15.50", stockroom.SortPart{Label: "A", Pieces: 12, Carats: 18400, Value: eur("900"),
			Further: eur("15.50")}, ""},
		{"A:12", stockroom.SortPart{}, "part-form"},
		{"A:12:18.40:900:15:1", stockroom.SortPart{}, "part-form"},
		{"A:0:18.40", stockroom.SortPart{}, "pieces-bad"},
	} {
		got, err := sortPart(c.text, "EUR")
		if c.code != "" {
			usage(t, c.text, err, c.code)
			continue
		}
		same := got.Label == c.want.Label && got.Pieces == c.want.Pieces && got.Carats == c.want.Carats &&
			got.Value.String() == c.want.Value.String() && got.Further.String() == c.want.Further.String()
		if err != nil || !same {
			t.Errorf("%s is read as %+v, %v, want %+v", c.text, got, err, c.want)
		}
	}
}

func TestOrderItems(t *testing.T) {
	got, err := orderItems([]string{"topaz:oval:8x6:3", " sky blue topaz : round:5:10"})
	want := []stockroom.OrderItem{{Material: "topaz", Shape: "oval", Length: 800, Width: 600, Count: 3},
		{Material: "sky blue topaz", Shape: "round", Length: 500, Width: 500, Count: 10}}
	if err != nil || !cmp.Equal(got, want) {
		t.Errorf("items %+v, %v, want %+v", got, err, want)
	}
	for _, text := range []string{"", "topaz:oval:8x6", "topaz:oval:wide:3", "topaz:oval:8x6:few", "a:b:8x6:3:4"} {
		_, err := orderItems([]string{text})
		usage(t, text, err, "item-form")
	}
}

// usage fails unless err is a fault of usage with the code.
func usage(t *testing.T, of string, err error, code string) {
	t.Helper()
	l, ok := fault.From(err)
	if !ok || len(l) != 1 || l[0].Code != code || l[0].Kind != fault.Usage {
		t.Errorf("%q gives %v, want the fault %s", of, err, code)
	}
}
