package testkit

import (
	"bytes"
	"encoding/csv"
	"testing"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
)

func TestBigBookIsTheSameEverywhere(t *testing.T) {
	file := func(seed uint64, stones int) []byte {
		var b bytes.Buffer
		if err := (BigBook{Seed: seed, Stones: stones}).WriteParcelCSV(&b); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	first := file(7, 2500)
	if !bytes.Equal(first, file(7, 2500)) {
		t.Error("the same seed gives other stones")
	}
	if bytes.Equal(first, file(8, 2500)) {
		t.Error("another seed gives the same stones")
	}
	if !bytes.HasPrefix(first, file(7, 1200)) {
		t.Error("a larger book does not begin as a smaller one")
	}
	rows, err := csv.NewReader(bytes.NewReader(first)).ReadAll()
	if err != nil || len(rows) != 2501 {
		t.Errorf("%d rows, %v", len(rows), err)
	}
}

func TestBigBookStonesAreSound(t *testing.T) {
	codes := map[string]bool{}
	err := BigBook{Seed: 1, Stones: 3000, Currency: "JPY"}.Each(func(s Stone) error {
		l := s.Lot
		if f := book.CheckCode("lot", l.Code); f != nil || codes[l.Code] {
			t.Errorf("code %q: %v, seen before: %v", l.Code, f, codes[l.Code])
		}
		codes[l.Code] = true
		if s.Weight <= 0 || s.Weight > num.Carat(60_000) || !l.Agreed.IsWhole() || l.Agreed.Sign() <= 0 ||
			l.Length.Min < l.Width.Min {
			t.Errorf("stone %+v", s)
		}
		return nil
	})
	if err != nil || len(codes) != 3000 {
		t.Errorf("%d stones, %v", len(codes), err)
	}
}
