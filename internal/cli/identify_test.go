package cli

import (
	"reflect"
	"strings"
	"testing"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
)

// flagsOf is what identify reads from a command line.
func flagsOf(t *testing.T, args ...string) identifyFlags {
	t.Helper()
	var f identifyFlags
	c := newRoot().identifyCommand()
	c.ResetFlags()
	f.register(c)
	if err := c.ParseFlags(args); err != nil {
		t.Fatal(err)
	}
	return f
}

func TestIdentify_FlagsToRequest(t *testing.T) {
	f := flagsOf(t, "--ri-low", "1.660", "--ri-high", "1.676", "--ri-u", "0.002", "--color", "pink", "--air", "4.57",
		"--water", "3.14", "--balance", "0.01", "--birefringence", "0.016", "--birefringence-max", "--no-next",
		"--excluded", "3")
	req, err := f.stones()
	if err != nil {
		t.Fatal(err)
	}
	want := []book.Reading{
		{Lot: "stone", Drawn: "picked", Test: "ri", Low: "1.660", High: "1.676", PlusMinus: "0.002"},
		{Lot: "stone", Drawn: "picked", Test: "birefringence", Low: "0.016", Result: "maximum"},
		{Lot: "stone", Drawn: "picked", Test: "hydrostatic", Air: 4570, Water: 3140, Resolution: "0.01"},
	}
	if got := req.Stones[0]; got.Color != "pink" || !reflect.DeepEqual(got.Readings, want) {
		t.Errorf("readings %+v, want %+v", got, want)
	}
	if req.Next || req.Excluded != 3 || req.Chart {
		t.Errorf("next %v, excluded %d, chart %v", req.Next, req.Excluded, req.Chart)
	}
	if empty := flagsOf(t, "--color", "pink"); empty.given() || !f.given() {
		t.Error("a colour alone is no reading")
	}
	lots := flagsOf(t, "--strata", "Blue=6,green=4", "--chart", "a.svg")
	got, err := lots.lots([]string{"A1"})
	strata := map[string]int{"blue": 6, "green": 4}
	if err != nil || got.Lot != "A1" || !got.Chart || !reflect.DeepEqual(got.Strata, strata) {
		t.Errorf("%+v, %v", got, err)
	}
	if _, err := lots.lots(nil); err == nil {
		t.Error("a chart of every lot was not refused")
	}
}

// A weighing without its second weight and an unreadable number are faults of
// their flags, all at once.
func TestIdentify_Faults(t *testing.T) {
	p := newProgram(t)
	wantFault(t, p.run("identify", "--air", "4.5"), 2, "weight_water_ct is missing")
	wantFault(t, p.run("identify", "--ri-low", "deep", "--sg", "99"), 2, "where: --ri-low", "where: --sg")
	wantFault(t, p.run("identify", "A1", "--file", "x.csv"), 2, "two questions")
	wantFault(t, p.run("identify", "--lw", "strong red", "--chart", p.dir+"/a.svg"), 5, "neither a refractive index")
}

// One answer in every form: text, JSON, chart; of a stone, a file and a lot.
func TestIdentify_Forms(t *testing.T) {
	p := newBook(t)
	stone := []string{"identify", "--ri-low", "1.660", "--ri-high", "1.676", "--sg", "3.18"}
	if out := p.must(stone...); !strings.HasPrefix(out, "spodumene, 99.8 %: established by") ||
		strings.Count(out, "\n") > 8 {
		t.Errorf("text of a stone:\n%s", out)
	}
	if out := p.must(append(stone, "--explain")...); !strings.Contains(out, "spodumene: share") {
		t.Errorf("all of a stone:\n%s", out)
	}
	var cases answer.Cases
	readJSON(t, p.must(append(stone, "--json", "--chart", p.dir+"/stone.svg")...), &cases)
	if len(cases.Cases) != 1 || cases.Chart == nil || len(cases.Chart.Stones) != 1 {
		t.Errorf("JSON of a stone: %+v", cases)
	}
	file := p.file("cases.csv", "case,ri_low,sg\na,1.62,3.06\nb,1.577,2.71\n")
	if out := p.must("identify", "--file", file); !strings.HasPrefix(out, "case\tverdict\tis\talso possible\na\t") {
		t.Errorf("table of a file:\n%s", out)
	}
	parcel := p.file("parcel.csv", "lot,species,shape,pieces,weight,price,price_basis\nA1,topaz,oval,2,2.4,40,total\n")
	p.must("parcel", "import", parcel, "--vendor", "V", "--currency", "EUR")
	p.must("reading", "add", "A1", "--stone", "1", "--drawn", "random", "--test", "ri", "--low", "1.61",
		"--high", "1.62")
	var lots answer.Identity
	readJSON(t, p.must("identify", "A1", "--json"), &lots)
	if len(lots.Lots) != 1 || lots.Lots[0].Tested != 1 || len(lots.Book) != 64 || lots.Scope != "lot A1" ||
		len(lots.Lots[0].Facets) != 4 || lots.Lots[0].Chart != nil {
		t.Errorf("JSON of a lot: %+v", lots)
	}
	wantFault(t, p.run("reading", "add", "A1", "--test", "ri"), 2, "where: --low")
	wantFault(t, p.run("reading", "add", "A1", "--test", "ri", "--low", "16.1"), 2, "where: --low")
}
