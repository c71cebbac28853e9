package cli

import (
	"strings"
	"testing"

	"lotpaper/internal/answer"
)

func TestSetting_FlagsToRequest(t *testing.T) {
	var s settingFlags
	c := newRoot("setting").settingCheck()
	c.ResetFlags()
	s.ofSituation(c)
	err := c.ParseFlags([]string{"--species", "topaz", "--length", "9", "--width", "7.25", "--setting", "bezel",
		"--bench", "torch,steam", "--lux", "0", "--neighbour", "diamond"})
	if err != nil {
		t.Fatal(err)
	}
	stone, err := s.request(nil)
	if err != nil || stone.Length != 900 || stone.Width != 725 || stone.Neighbours[0] != "diamond" {
		t.Errorf("%+v, %v", stone, err)
	}
	if s.in.Setting != "bezel" || len(s.in.Bench) != 2 || !s.in.Display.Dark || s.in.Wear != "daily" {
		t.Errorf("%+v", s.in)
	}
	if _, err := s.request([]string{"A1"}); err == nil {
		t.Error("a lot and a species together were not refused")
	}
}

// Stones that are only named need no book; lots do.
func TestSetting_Forms(t *testing.T) {
	p := newProgram(t)
	check := []string{"setting", "check", "--species", "kunzite", "--setting", "prong", "--piece", "ring"}
	if out := p.must(check...); !strings.HasPrefix(out, "kunzite: avoid (wear avoid") {
		t.Errorf("text:\n%s", out)
	}
	var found answer.SettingCheck
	readJSON(t, p.must(append(check, "--json")...), &found)
	if len(found.Pairs) != 1 || found.Pairs[0].Verdict != "avoid" || len(found.Pairs[0].Losses) != 2 {
		t.Errorf("JSON: %+v", found)
	}
	file := p.file("pairs.csv", "pair,species,setting,piece,wear\na,sapphire,prong,ring,daily\n"+
		"b,opal,channel,ring,daily\n")
	if out := p.must("setting", "check", "--file", file); !strings.Contains(out, "\nb\tavoid\t") {
		t.Errorf("table of a file:\n%s", out)
	}
	var advice answer.SettingAdvice
	readJSON(t, p.must("setting", "advise", "--species", "kunzite", "--json"), &advice)
	if advice.Stone != "kunzite" || advice.Setting != "prong" || advice.Piece != "ring" || len(advice.Fits) == 0 {
		t.Errorf("advice: %+v", advice)
	}
	if out := p.must("setting", "box", "--species", "diamond,opal"); !strings.Contains(out, "is scratched by diamond") {
		t.Errorf("box:\n%s", out)
	}
	if out := p.must("setting", "light", "--species", "kunzite"); !strings.Contains(out, "\nplace or way of wear\t") {
		t.Errorf("light:\n%s", out)
	}
	wantFault(t, p.run("setting", "light", "--species", "kunzite", "--lux", "5", "--hours-per-day", "50"), 2,
		"where: --hours-per-day")
	wantFault(t, p.run("setting", "check", "A1", "--setting", "prong"), 4, "no book")
	wantFault(t, p.run("setting", "check"), 2, "no stone was named")
}
