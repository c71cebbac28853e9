package stockroom_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"lotpaper/internal/desk"
	"lotpaper/internal/house"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/store/sqlite"
	"lotpaper/internal/testkit"
)

// Memos from before papers are listed as they were at any moment, by their records
// of then; asking for one moment leaves the others as they are.
func TestMemoList_OldMemosAsOf(t *testing.T) {
	s, err := sqlite.Open(t.Context(), testkit.FrozenBook(t, testkit.EveryKind), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	h := house.Open(s, time.Now)
	list := func(then desk.AsOf) (out []string) {
		memos, err := h.Stockroom.MemoList(t.Context(), stockroom.MemoList{AsOf: then, All: true})
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range memos.Memos {
			line := m.Number + " " + m.State
			for _, l := range m.Lots {
				line += fmt.Sprintf(" %s", l.Lot)
			}
			out = append(out, line)
		}
		return out
	}
	for _, c := range []struct {
		then desk.AsOf
		want []string
	}{
		{desk.AsOf{On: "2026-03-05"}, nil},
		{desk.AsOf{At: "E39"}, nil},
		{desk.AsOf{At: "E40"}, []string{"M1 out A2 A3"}},
		{desk.AsOf{At: "E41"}, []string{"M1 void"}},
		{desk.AsOf{At: "E43"}, []string{"M1 void", "M2 out A2 A3", "M3 out A3 A6"}},
		{desk.AsOf{On: "2026-03-06"}, list(desk.AsOf{})},
		{desk.AsOf{At: "E91"}, list(desk.AsOf{})},
	} {
		if got := list(c.then); !slices.Equal(got, c.want) {
			t.Errorf("%+v: %q, want %q", c.then, got, c.want)
		}
	}
}
