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
// of then. Two memos of one party that have stones of one lot have their own each.
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
				line += fmt.Sprintf(" %s:%d:%s", l.Lot, l.Pieces, l.Carats)
			}
			out = append(out, line)
		}
		slices.Sort(out) // what is overdue by now comes first
		return out
	}
	// A3 lies at the customer's with 4 pieces, 2 on each memo.
	now := []string{"M1 void", "M2 out A2:1:0.675 A3:2:2.200", "M3 out A3:2:2.200 A6:2:7.060"}
	for _, c := range []struct {
		then desk.AsOf
		want []string
	}{
		{desk.AsOf{On: "2026-03-05"}, nil},
		{desk.AsOf{At: "E39"}, nil},
		{desk.AsOf{At: "E40"}, []string{"M1 out A2:2:1.350 A3:4:4.400"}},
		{desk.AsOf{At: "E41"}, []string{"M1 void"}},
		{desk.AsOf{At: "E43"}, []string{"M1 void", "M2 out A2:2:1.350 A3:4:4.400",
			"M3 out A3:2:2.200 A6:4:14.110"}},
		{desk.AsOf{On: "2026-03-06"}, now},
		{desk.AsOf{At: "E91"}, now},
		{desk.AsOf{}, now},
	} {
		if got := list(c.then); !slices.Equal(got, c.want) {
			t.Errorf("%+v: %q, want %q", c.then, got, c.want)
		}
	}
}
