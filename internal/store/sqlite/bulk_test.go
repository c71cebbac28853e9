package sqlite

import (
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"lotpaper/internal/store"
	"lotpaper/internal/store/sqlstore"
	"lotpaper/internal/testkit"
)

func createForBulk(t testing.TB) *sqlstore.Store {
	t.Helper()
	clock := testkit.NewClock()
	s, err := Create(t.Context(), filepath.Join(t.TempDir(), "book.db"), store.Meta{Currency: "EUR", Zone: "UTC",
		Created: clock.Now()}, Options{Now: clock.Now})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestBulkAllocations keeps what one bought stone costs in the heap, its record
// and making included, flat in the size of the purchase.
func TestBulkAllocations(t *testing.T) {
	perStone := func(stones int) (objects, bytes float64) {
		s := createForBulk(t)
		defer s.Close()
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		if err := (testkit.BigBook{Seed: 1, Stones: stones}).Fill(t.Context(), s, "2026-01-05"); err != nil {
			t.Fatal(err)
		}
		runtime.ReadMemStats(&after)
		return float64(after.Mallocs-before.Mallocs) / float64(stones), float64(after.TotalAlloc-before.TotalAlloc) /
			float64(stones)
	}
	for _, stones := range []int{2000, 10000} {
		objects, bytes := perStone(stones)
		t.Logf("%d stones: %.0f objects, %.0f bytes each", stones, objects, bytes)
		if objects > 160 || bytes > 14_000 {
			t.Errorf("%d stones: %.0f objects and %.0f bytes each", stones, objects, bytes)
		}
	}
}

// BenchmarkBuy buys 10,000 stones, one entry for each 1,000, in one transaction.
func BenchmarkBuy(b *testing.B) {
	for b.Loop() {
		b.StopTimer()
		s := createForBulk(b)
		b.StartTimer()
		if err := (testkit.BigBook{Seed: 1, Stones: 10_000}).Fill(b.Context(), s, "2026-01-05"); err != nil {
			b.Fatal(err)
		}
		b.StopTimer()
		if err := s.Close(); err != nil {
			b.Fatal(err)
		}
		b.StartTimer()
	}
}

// BenchmarkOpen is what every command pays before its own work.
func BenchmarkOpen(b *testing.B) {
	path := filepath.Join(b.TempDir(), "book.db")
	s, err := Create(b.Context(), path, store.Meta{Currency: "EUR", Zone: "UTC"}, Options{})
	if err != nil {
		b.Fatal(err)
	}
	if err := s.Close(); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		s, err := Open(b.Context(), path, Options{})
		if err != nil {
			b.Fatal(err)
		}
		if err := s.Close(); err != nil {
			b.Fatal(err)
		}
	}
	if info, err := os.Stat(path); err == nil {
		b.ReportMetric(float64(info.Size()), "bytes/empty-book")
	}
}
