package fitting_test

import (
	"fmt"
	"path/filepath"
	"testing"

	"lotpaper/internal/answer"
	"lotpaper/internal/demo"
	"lotpaper/internal/durability"
	"lotpaper/internal/facts"
	"lotpaper/internal/fitting"
	"lotpaper/internal/house"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/store/sqlite"
)

// demoHouse is the invented dealer's book after the whole job.
func demoHouse(t *testing.T) *house.House {
	t.Helper()
	clock := demo.NewClock()
	s, err := sqlite.Create(t.Context(), filepath.Join(t.TempDir(), "demo.db"), demo.Meta(),
		sqlite.Options{Now: clock.Now})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() })
	if _, err := demo.Run(t.Context(), s, clock); err != nil {
		t.Fatal(err)
	}
	return house.Open(s, clock.Now)
}

// TestDemo asks about the lots of one book after the demo's whole job.
func TestDemo(t *testing.T) {
	t.Parallel()
	h := demoHouse(t)
	t.Run("lots stand as their material", func(t *testing.T) { lotsStandAsTheirMaterial(t, h) })
	t.Run("at most twelve lines", func(t *testing.T) { atMostTwelveLines(t, h) })
}

// A lot that its tests do not speak against stands where its own material
// stands: in each cell of the demo's matrix, for each piece and wear.
func lotsStandAsTheirMaterial(t *testing.T, h *house.House) {
	against := map[string]bool{"mixed": true, "doubted": true, "contradicted": true}
	lots := map[string]answer.StockLot{}
	levels := map[string]durability.Level{}
	cells, worse := 0, 0
	for _, on := range []struct{ piece, wear string }{{"ring", "daily"}, {"ring", "evening"}, {"bracelet", "daily"},
		{"pendant", "occasional"}} {
		m, err := h.Fitting.Matrix(t.Context(), fitting.Matrix{Piece: on.piece,
			Wear: on.wear})
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range m.Rows {
			if against[row.Checked[len("as "):]] {
				continue
			}
			lot, known := lots[row.Lot]
			if !known {
				found, err := h.Stockroom.LotShow(t.Context(), stockroom.LotShow{Lot: row.Lot})
				if err != nil {
					t.Fatal(err)
				}
				lot = found.StockLot
				lots[row.Lot] = lot
			}
			for _, cell := range row.Cells {
				key := fmt.Sprint(lot.Name(), lot.Color, lot.Facets.Treatment.Value, lot.Shape, lot.Length, lot.Width,
					cell.Setting, on)
				own, known := levels[key]
				if !known {
					own = ownLevel(t, lot, cell.Setting, on.piece, on.wear)
					levels[key] = own
				}
				cells++
				if named, f := facts.Resolve(row.Name); f != nil {
					t.Fatal(f)
				} else if cell.Level < own && len(named.Materials) > 1 {
					continue // by name alone a group is the worst of its members, however rare
				}
				if cell.Level != own {
					worse++
					t.Errorf("%s %s (%s), %s %s %s: %s, its own material %s", row.Lot, row.Name, row.Checked, on.wear,
						on.piece, cell.Setting, cell.Level, own)
				}
			}
		}
	}
	t.Logf("%d cells of %d lots, %d differ", cells, len(lots), worse)
	if len(lots) < 40 || cells < 2_000 {
		t.Errorf("only %d cells of %d lots", cells, len(lots))
	}
}

// ownLevel is the headline of what the lot is called, without any test.
func ownLevel(t *testing.T, lot answer.StockLot, setting, piece, wear string) durability.Level {
	t.Helper()
	c, err := fitting.NoBook().Check(t.Context(), fitting.Check{
		Stone: fitting.Stone{Species: lot.Name(), Color: lot.Color, Treatment: lot.Facets.Treatment.Value,
			Shape: lot.Shape, Length: lot.Length.Max, Width: lot.Width.Min},
		Situation: fitting.Situation{Setting: setting, Piece: piece, Wear: wear},
	})
	if err != nil {
		t.Fatal(err)
	}
	return c.Pairs[0].Level
}
