package book

import (
	"slices"
	"testing"
)

// Every kind has a blank record that says its own kind.
func TestKinds(t *testing.T) {
	for _, k := range Kinds {
		if !k.Known() || k.Blank().RecordKind() != k {
			t.Errorf("the blank %s is missing or of another kind", k)
		}
	}
	if len(blank) != len(Kinds) || Kind("shelf").Known() {
		t.Errorf("%d blanks for %d kinds", len(blank), len(Kinds))
	}
}

func TestRefs(t *testing.T) {
	lots := []SuppliedLot{{Lot: "A-1"}, {Lot: "A-2"}}
	for _, c := range []struct {
		record Record
		want   []Ref
	}{
		{Lot{Code: "A-1", Owner: Own}, nil},
		{Lot{Code: "A-1.1", Parcel: "P1", Parent: "A-1", Owner: "memo-in/Silva"},
			[]Ref{ToParcel("P1"), ToLot("A-1"), ToParty("Silva")}},
		{Charge{Code: "C1", Parcel: "P1"}, []Ref{ToParcel("P1")}},
		{Report{Lab: "Lab", Number: "1", Lot: "A-1"}, []Ref{ToLot("A-1"), ToParty("Lab")}},
		{Order{Number: "O1", Cutter: "Okoro", Supplied: []Supply{{SuppliedLot: lots[0]}, {SuppliedLot: lots[1]}}},
			[]Ref{ToParty("Okoro"), ToLot("A-1"), ToLot("A-2")}},
		{Sale{Number: "S1", Customer: "Lind", From: "piece/R1", Lots: lots[:1]},
			[]Ref{ToParty("Lind"), ToPiece("R1"), ToLot("A-1")}},
		{Sale{Number: "S2", Customer: "Lind", From: "memo/Lind", Memo: "M1"}, []Ref{ToParty("Lind"), ToPaper("M1")}},
		{Work{Setter: "Ito", Lot: "A-1", Piece: "R1"}, []Ref{ToParty("Ito"), ToLot("A-1"), ToPiece("R1")}},
		{Document{SHA256: "ab"}, []Ref{ToFile("ab")}},
		{Picture{Lot: "A-1", SHA256: "ab", SmallSHA256: "cd"}, []Ref{ToLot("A-1"), ToFile("ab"), ToFile("cd")}},
		{Picture{Design: "Sea/Ring", SHA256: "ab"}, []Ref{ToLine("Sea"), ToFile("ab")}},
		{Setting{Key: "k"}, nil},
	} {
		if got := c.record.Refs(); !slices.Equal(got, c.want) {
			t.Errorf("refs of %+v = %v, want %v", c.record, got, c.want)
		}
	}
	if !ToParty("Öz").Same(ToParty("öz")) || ToParty("x").Same(ToLot("x")) {
		t.Error("refs compare by kind, and by name without case")
	}
}

func TestPlaces(t *testing.T) {
	for text, isReal := range map[string]bool{
		"safe": true, "safe/Porto": true, "paper/M12": true, "cutter/Okoro": true,
		"setter/Ito": true, "memo/Lind": true, "piece/R1": true,
		"vendor/Acme": false, "customer/Lind": false, "charge/freight": false,
		"made/cutting": false, "made/piece": false, "loss/count": false,
	} {
		if p, f := ParsePlace(text); f != nil || p.IsReal() != isReal {
			t.Errorf("%s: %v, stones can lie there: %v", text, f, p.IsReal())
		}
	}
	for _, text := range []string{"", "shelf", "safe/", "paper", "made/shelf", "paper/a/b"} {
		if _, f := ParsePlace(text); f == nil {
			t.Errorf("%q is taken for a place", text)
		}
	}
}
