package fitting_test

import (
	"strings"
	"testing"

	"lotpaper/internal/answer"
	"lotpaper/internal/chance"
	"lotpaper/internal/durability"
	"lotpaper/internal/facts"
	"lotpaper/internal/fitting"
	"lotpaper/internal/house"
	"lotpaper/internal/stockroom"
)

// lines counts the lines of a check of one stone.
func lines(t *testing.T, c answer.SettingCheck) int {
	t.Helper()
	n := 0
	for _, part := range c.Screen() {
		n += strings.Count(part.Text, "\n")
		if part.More { // the edge ends it
			n++
		}
	}
	return n
}

// A check of one stone is at most twelve lines: of every lot of the demo, and
// of 200 stones drawn from all materials, settings and treatments.
func atMostTwelveLines(t *testing.T, h *house.House) {
	list, err := h.Stockroom.StockList(t.Context(), stockroom.StockList{})
	if err != nil {
		t.Fatal(err)
	}
	in := func(setting string) fitting.Situation {
		return fitting.Situation{Setting: setting, Piece: "ring", Wear: "daily", Bench: []string{"torch",
			"steam", "pickle"},
			Display: durability.Display{Lux: 1500}}
	}
	most := 0
	hold := func(room *fitting.Room, req fitting.Check, name string) {
		t.Helper()
		c, err := room.Check(t.Context(), req)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		n := lines(t, c)
		if most = max(most, n); n > 12 {
			t.Errorf("%s: %d lines\n%v", name, n, c.Screen())
		}
	}
	var settings []string
	for _, s := range facts.Settings() {
		settings = append(settings, s.Name)
	}
	for i, row := range list.Lots {
		setting := settings[i%len(settings)]
		hold(h.Fitting, fitting.Check{Stone: fitting.Stone{Lot: row.Code}, Situation: in(setting)},
			row.Code+" "+setting)
	}
	stream := chance.NewStream(12, "twelve lines")
	pick := func(list []string) string { return list[stream.IntN(len(list))] }
	treatments := []string{"", "none", "heating", "oiling", "glass filling", "dyeing", "coating", "irradiation"}
	for range 200 {
		species := facts.Materials()[stream.IntN(len(facts.Materials()))].Name
		treatment, setting := pick(treatments), pick(settings)
		hold(fitting.NoBook(), fitting.Check{Stone: fitting.Stone{Species: species, Treatment: treatment,
			Shape: pick([]string{"", "round", "pear", "cabochon"})}, Situation: in(setting)},
			species+", "+treatment+", "+setting)
	}
	t.Logf("at most %d lines", most)
}
