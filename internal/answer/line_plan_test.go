package answer

import (
	"encoding/json"
	"strings"
	"testing"

	"lotpaper/internal/num"
)

func samplePlan() *LinePlan {
	eur := func(cents int64) Amount { return Amount{num.FromMinor(cents, "EUR")} }
	box := []Point{{0, 0}, {500, 0}, {500, 700}, {0, 700}}
	piece := func(n int64, lot string, cost int64) PlanPiece {
		return PlanPiece{Design: "Bay ring", Number: n, Earns: eur(9050 - cost - 1188), Stones: []PlanStone{
			{Position: "center", Lot: lot, Name: "topaz", Shape: "oval", Size: "7.00 x 5.00 x 3.40 mm", Pieces: 1,
				Carats: 900, Cost: eur(cost), Outline: box},
			{Position: "sides", Lot: "S1", Name: "sapphire", Shape: "round", Size: "1.95-2.05 mm", Pieces: 4,
				Carats: 148, Cost: eur(1188), Note: "melee: about 0.037 ct each", Outline: box},
		}}
	}
	return &LinePlan{
		Head: Head{Title: "Plan of the line Sea", On: "2026-03-05", Currency: "EUR"}, Line: "Sea",
		Basis: "what they would bring loose", Mismatch: eur(49),
		Value: eur(13980), Bound: eur(14100), BoundOf: AllPairs, BoundAll: eur(14100), GapPercent: 0.85,
		Status:  "work limit",
		Designs: []PlanDesign{{Design: "Bay ring", Piece: "ring", Wanted: 3, Planned: 2, Before: eur(9050)}},
		Pieces:  []PlanPiece{piece(1, "T1", 818), piece(2, "T2", 877)},
		Short: []PlanShort{{Design: "Bay ring", Position: "center", Missing: 1,
			Why: "wants topaz: 2 fit by size, 2 used by this plan; 1 short", Worth: eur(7862), Together: []string{},
			Relaxed: []PlanWidened{{Rule: "any colour", Admits: 1, AtMost: eur(7000)}}}},
		Unmade: []PlanUnmade{{Design: "Bay ring", Pieces: 1, Why: "no stone is left"}},
		Changes: []PlanChange{{Design: "Bay ring", Position: "center", Lot: "T3", Before: 1,
			Why: "now it is kept out"}},
		Notes: []string{},
	}
}

// The workbook adds up by formulas: 90.50 a piece before its stones, 8.18 and
// 8.77 for the centers, 11.88 for the sides, less 0.49 of mismatch.
func TestLinePlan_Workbook(t *testing.T) {
	b, err := samplePlan().Workbook()
	if err != nil {
		t.Fatal(err)
	}
	f := readXLSX(t, writeBook(t, b))
	if got := strings.Join(f.names, ", "); got != "Plan, Pieces, Stones, Shortages, Changes, To scale" {
		t.Errorf("sheets: %s", got)
	}
	dump := f.dump()
	for _, want := range []string{"\"140.29\"", "\"139.8\"", "\"70.44\"", "\"69.85\"",
		"any colour: 1 more would fit, worth at most 70.00 EUR", "Now it is kept out.",
		"1 more are wanted: no stone is left."} {
		if !strings.Contains(dump, want) {
			t.Errorf("the workbook lacks %s", want)
		}
	}
	live := 0
	for _, name := range f.names {
		for _, c := range f.cells[name] {
			if c.Formula != "" {
				live++
			}
		}
	}
	if live < 9 {
		t.Errorf("%d live formulas, want those of two pieces, their sums and the value", live)
	}
	if f.media != 1 {
		t.Errorf("%d pictures, want the stones to scale", f.media)
	}
	empty := &LinePlan{Head: Head{Title: "Plan", On: "2026-03-05", Currency: "EUR"}}
	if _, err := empty.Workbook(); err != nil {
		t.Errorf("a plan without pieces: %v", err)
	}
}

func TestLinePlan_Figure(t *testing.T) {
	p := samplePlan()
	if d := p.Figure(); len(d.Pieces) != 1 || d.Pieces[0].Name != "Bay ring 1 to 2" ||
		d.Pieces[0].Stones[1].Count != 4 || d.Pieces[0].Note != "ring, 2 planned of 3" {
		t.Errorf("alike pieces are drawn once: %+v", d.Pieces)
	}
	p.Pieces[1].Stones[0].Size = "7.05 x 5.00 x 3.40 mm"
	if d := p.Figure(); len(d.Pieces) != 2 || d.Pieces[1].Name != "Bay ring 2" ||
		d.Pieces[1].Stones[0].Name != "T2 topaz 7.05 x 5.00" {
		t.Errorf("pieces that differ: %+v", d.Pieces)
	}
}

// The first line says the value and how close it is to the best; with a bound
// over candidate pairs it names that of all pairs too.
func TestLinePlan_Words(t *testing.T) {
	p := samplePlan()
	if got := p.Words(); got != "value 139.80 EUR, no plan is worth more than 141.00 EUR (gap 0.85 %, work limit)" {
		t.Errorf("all pairs: %s", got)
	}
	p.BoundOf, p.BoundAll = CandidatePairs, Amount{num.FromMinor(15000, "EUR")}
	if got := p.Words(); !strings.Contains(got, "no plan of the candidate pairs is worth more than 141.00 EUR") ||
		!strings.HasSuffix(got, "; with all pairs no plan is worth more than 150.00 EUR") {
		t.Errorf("candidate pairs: %s", got)
	}
	s := p.Short[0]
	if got := s.Words(); got != "one further stone may cost at most 78.62 EUR" {
		t.Errorf("a further stone: %s", got)
	}
	s.Together = []string{"sides"}
	if got := s.Words(); !strings.HasPrefix(got, "sides is short too: ") {
		t.Errorf("with others: %s", got)
	}
	s.Worth = Amount{num.Zero("EUR")}
	if got := s.Words(); got != "one further stone is worth nothing before sides is filled too" {
		t.Errorf("worth nothing with others: %s", got)
	}
	s.Together = nil
	if got := s.Words(); !strings.HasPrefix(got, "a further piece would not pay") {
		t.Errorf("worth nothing: %s", got)
	}
}

// In JSON an amount is the number alone, the currency stands in the head, and
// nothing is left out.
func TestLinePlan_JSON(t *testing.T) {
	raw, err := json.Marshal(samplePlan())
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`"value":"139.80"`, `"gap_percent":0.85`, `"currency":"EUR"`, `"book_head":""`,
		`"n":2,"earns":"69.85"`, `"together":[]`} {
		if !strings.Contains(string(raw), want) {
			t.Errorf("%s is not in %s", want, raw)
		}
	}
	if strings.Contains(string(raw), "outline") {
		t.Error("outlines are for the picture alone")
	}
}
