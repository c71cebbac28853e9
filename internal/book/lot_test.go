package book

import (
	"encoding/json"
	"reflect"
	"testing"

	"lotpaper/internal/num"
)

// fullLot is a lot of which everything is known.
func fullLot() Lot {
	full := Lot{
		Code: "A-1.2", Kind: PieceLot, Label: "L", Parcel: "P1", Parent: "A-1", Stone: "S1", Tags: []string{"S1", "S2"},
		Owner: "memo-in/X", Species: "beryl", Variety: "aquamarine", Claim: "aqua",
		Facets: Facets{Species: Facet{"beryl", Tested}, Nature: StatedFacet("natural"), Treatment: Facet{"heat",
			LabReported}, Origin: StatedFacet("Serra")},
		Opinion: &Opinion{Species: "quartz", Variety: "citrine", Reason: "seen", Who: "MK", On: "2026-03-01"},
		Shape:   "oval", Length: Size{700, 720}, Width: Size{500, 500}, Depth: Size{300, 310}, Calibrated: true,
		Estimated: true, Color: "blue", Clarity: "eye clean", Cut: "good",
		Agreed: num.FromMinor(1250, "EUR"), Due: "2026-05-01", Fenced: "why", Note: "n",
	}
	full.Prices = &Prices{Ask: num.UnitPrice{Money: num.FromMinor(9000, "EUR")},
		Least: num.UnitPrice{Money: num.FromMinor(7500, "EUR")}, Basis: PerCarat}
	full.Jewel = &Jewel{Is: "ring", Design: "Sea/Shore", Metal: "gold", Weight: 4200, Size: "54", Since: "2026-04-01"}
	full.Damaged = &Damage{Reason: "chipped", Who: "MK", On: "2026-04-02"}
	rate, _ := num.ParseRate("0.92", 1)
	full.Foreign = &ForeignPrice{num.FromMinor(1359, "USD"), rate}
	return full
}

// What is stored of a lot reads back as the lot, with everything known and
// with nothing known.
func TestLot_StoredFormReadsBack(t *testing.T) {
	full := fullLot()
	for name, lot := range map[string]Lot{"full": full, "bare": {Code: "B", Parcel: "P1", Owner: Own}} {
		raw, err := json.Marshal(lot.StoredForm())
		if err != nil {
			t.Fatal(err)
		}
		var back Lot
		if err := json.Unmarshal(raw, &back); err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(back, lot) {
			t.Errorf("%s: %s came back as\n%+v, want\n%+v", name, raw, back, lot)
		}
		back = Lot{}
		if !back.ReadStored(raw) || !reflect.DeepEqual(back, lot) {
			t.Errorf("%s: %s was read as\n%+v, want\n%+v", name, raw, back, lot)
		}
		v, s := reflect.TypeFor[Lot](), reflect.TypeOf(lot.StoredForm())
		if v.NumField() != s.NumField() {
			t.Errorf("a lot has %d fields, its stored form %d", v.NumField(), s.NumField())
		}
	}
}

// A lot is read from its whole JSON too, which older entries hold; what is no
// plain stored form is left to encoding/json, and never read as something else.
func TestLot_ReadStored(t *testing.T) {
	for i, v := 0, reflect.ValueOf(fullLot()); i < v.NumField(); i++ {
		if v.Field(i).IsZero() {
			t.Errorf("the full lot has no %s", v.Type().Field(i).Name)
		}
	}
	for _, lot := range []Lot{fullLot(), {Code: "B", Parcel: "P1", Owner: Own}} {
		raw, err := json.Marshal(lot)
		if err != nil {
			t.Fatal(err)
		}
		var back Lot
		if !back.ReadStored(raw) || !reflect.DeepEqual(back, lot) {
			t.Errorf("%s was read as\n%+v, want\n%+v", raw, back, lot)
		}
		for n := range raw { // cut short it is no lot
			if back = (Lot{}); back.ReadStored(raw[:n]) {
				t.Errorf("%s was read as a lot", raw[:n])
			}
		}
	}
	for _, left := range []string{
		``, `null`, `[]`, `{"code":"A"}x`, `{"code":"A",}`, `{"code" :"A"}`, `{"code":7}`, `{"code":"A","code2":"B"}`,
		`{"note":"a \"b\""}`, `{"note":"\u2028"}`,
		`{"calibrated":1}`, `{"agreed":"1.00"}`, `{"length":{"min":"wide"}}`, `{"length":{"mid":"1"}}`,
		`{"tags":["a",1]}`, `{"tags":["a"`, `{"foreign":null}`, `{"facets":{"color":{}}}`,
		`{"facets":{"species":{"by":"x"}}}`, `{"prices":{"ask":"dear"}}`, `{"prices":{"total":"1"}}`,
	} {
		if l := new(Lot); l.ReadStored([]byte(left)) {
			t.Errorf("%s was read as %+v", left, *l)
		}
	}
}

func TestParsePlace(t *testing.T) {
	for in, real := range map[string]bool{"safe": true, "cutter/Okoro": true, "memo/A B": true, "piece/R-1": true,
		"vendor/V": false, "loss/cutting": false, "charge/freight": false} {
		p, f := ParsePlace(in)
		if f != nil || p.IsReal() != real {
			t.Errorf("ParsePlace(%q) = %v, real %v, %v", in, p, p.IsReal(), f)
		}
	}
	for _, bad := range []string{"", "cutter/", "bank/x", "loss/theft", "cutter/a/b", "memo/ x"} {
		if _, f := ParsePlace(bad); f == nil {
			t.Errorf("%q was taken for a place", bad)
		}
	}
}

func TestSeries(t *testing.T) {
	for _, c := range []struct {
		kind   Kind
		key    string
		series string
		n      int64
	}{
		{KindParcel, "P12", "parcel", 12}, {KindLot, "P12-3", "lot/P12", 3}, {KindLot, "p12-3.2", "lot/P12-3", 2},
		{KindLot, "A", "", 0},
		{KindDocument, "PROPOSAL-2026-0004", "document/PROPOSAL-2026", 4}, {KindReading, "R7", "reading", 7},
		{KindPrice, "x/1", "", 0},
	} {
		series, n, ok := Series(c.kind, c.key)
		if series != c.series || n != c.n || ok != (c.n > 0) {
			t.Errorf("Series(%s, %s) = %q, %d, %v", c.kind, c.key, series, n, ok)
		}
	}
}

func TestParseDate(t *testing.T) {
	for _, bad := range []string{"2026-2-30", "2026-02-30", "31.03.2026", "", "0001-01-01"} {
		if _, f := ParseDate(bad); f == nil {
			t.Errorf("%q was taken for a date", bad)
		}
	}
	if d, f := ParseDate(" 2026-02-28 "); f != nil || d != "2026-02-28" || d.Year() != 2026 {
		t.Errorf("date = %v, %v", d, f)
	}
}
