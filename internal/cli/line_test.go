package cli

import (
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/fault"
	"lotpaper/internal/lineplan"
	"lotpaper/internal/lines"
	"lotpaper/internal/num"
	"lotpaper/internal/testkit/books"
)

// lineBook is a book with the line Sea and its stones.
func lineBook(t *testing.T) *program {
	t.Helper()
	p := newBook(t)
	for _, args := range [][]string{
		{"parcel", "import", p.file("parcel.csv", books.Parcel), "--vendor", "V", "--currency", "EUR"},
		{"rates", "import", p.file("rates.csv", books.Rates)},
		{"prices", "import", p.file("prices.csv", books.Prices)},
		{"line", "import", "--line", "Sea", "--designs", p.file("designs.csv", books.Designs), "--positions",
			p.file("positions.csv", books.Positions)},
	} {
		p.must(append(args, "--date", "2026-02-02")...)
	}
	return p
}

// faultCode is the code of the first fault of an error.
func faultCode(err error) string {
	l, ok := fault.From(err)
	if !ok || len(l) == 0 {
		return ""
	}
	return l[0].Code
}

// parsed are flags that read args.
func parsed(t *testing.T, flags func(*cobra.Command), args ...string) {
	t.Helper()
	c := &cobra.Command{Use: "x"}
	flags(c)
	if err := c.ParseFlags(args); err != nil {
		t.Fatal(err)
	}
}

// Each flag of a plan becomes a typed field of the request; a name may hold an
// equals sign, a slash and a comma.
func TestPlanFlags_Request(t *testing.T) {
	var p planFlags
	var w whatIf
	parsed(t, func(c *cobra.Command) { p.flags(c); w.flags(c) }, "--work", "7", "--seed", "3",
		"--without", "A-1 in Bay ring,A-2", "--lock", "A-3 in R/center", "--quantity", "a=b=12", "--quantity",
		"Ring, small=0", "--assume", "metal/gold=95.5", "--count-cutter", "2026-04-20", "--price", "Ring=95",
		"--with-offer", "P2", "--lost", "A-4", "--keep-worth", "10", "--hold")
	got, err := p.request(&root{who: "me", dryRun: true}, "Sea")
	if err != nil {
		t.Fatal(err)
	}
	if err := w.fill(&got); err != nil {
		t.Fatal(err)
	}
	keep := num.Int(10)
	want := lines.Plan{Line: "Sea", Work: 7, Seed: 3, Hold: true,
		Without:     []lines.Without{{Lot: "A-1", Design: "Bay ring"}, {Lot: "A-2"}},
		Locks:       []lineplan.Lock{{Lot: "A-3", In: "R/center"}},
		Quantities:  map[string]int64{"a=b": 12, "Ring, small": 0},
		Assume:      map[string]num.Dec{"metal/gold": num.MustDec("95.5")},
		Prices:      map[string]num.Dec{"Ring": num.Int(95)},
		CountCutter: "2026-04-20", WithOffers: []string{"P2"}, Lost: []string{"A-4"}, Keep: &keep}
	want.Who, want.DryRun = "me", true
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
}

func TestPlanFlags_Faults(t *testing.T) {
	for _, c := range []struct{ flag, value, code string }{
		{"quantity", "many", "quantity-form"}, {"quantity", "R=-1", "quantity-form"}, {"quantity", "=3",
			"quantity-form"},
		{"assume", "metal/gold", "assume-form"}, {"assume", "metal/gold=dear", "assume-form"},
		{"lock", "A-1", "lock-form"}, {"price", "Ring", "price-form"}, {"price", "Ring=dear", "price-form"},
		{"picture", "plan.gif", "picture-kind"}, {"compare", filepath.Join(t.TempDir(), "none.json"), "file-missing"},
	} {
		var p planFlags
		var w whatIf
		parsed(t, func(c *cobra.Command) { p.flags(c); w.flags(c) }, "--"+c.flag, c.value)
		req, err := p.request(&root{}, "Sea")
		if err == nil {
			err = w.fill(&req)
		}
		l, _ := fault.From(err)
		if faultCode(err) != c.code || l[0].Where.Field != c.flag {
			t.Errorf("--%s %s: %v, want %s", c.flag, c.value, err, c.code)
		}
	}
}

// One plan in every form: the table, JSON that reads back into its model, the
// workbook, the picture and the model for other solvers.
func TestLinePlan_Forms(t *testing.T) {
	p := lineBook(t)
	at := func(name string) string { return filepath.Join(p.dir, name) }
	table := p.must("line", "plan", "Sea", "--date", "2026-02-03")
	var plan answer.LinePlan
	asJSON := p.must("line", "plan", "Sea", "--date", "2026-02-03", "--json")
	readJSON(t, asJSON, &plan)
	if plan.Line != "Sea" || plan.On != "2026-02-03" || plan.Currency != "EUR" || len(plan.Book) != 64 ||
		plan.BoundOf != answer.AllPairs || len(plan.Designs) != 3 || len(plan.Pieces) == 0 {
		t.Errorf("plan %+v", plan)
	}
	for _, want := range []string{"value " + plan.Value.String() + " EUR", plan.Pieces[0].Name() + "\t"} {
		if !strings.Contains(table, want) {
			t.Errorf("the table does not say %q:\n%s", want, table)
		}
	}
	quiet := p.must("line", "plan", "Sea", "--date", "2026-02-03", "-o", at("plan.xlsx"), "--picture", at("plan.svg"),
		"--mps", at("plan.mps"))
	if quiet != table {
		t.Errorf("files beside the answer change it:\n%s", quiet)
	}
	for name, start := range map[string]string{"plan.xlsx": "PK", "plan.svg": "<?xml", "plan.mps": "NAME"} {
		raw, err := os.ReadFile(at(name))
		if err != nil || !strings.HasPrefix(string(raw), start) {
			t.Errorf("%s: %v, starts with %.20q", name, err, raw)
		}
	}
	if mps := p.must("line", "plan", "Sea", "--date", "2026-02-03", "--mps", "-"); !strings.HasPrefix(mps, "NAME") ||
		strings.Contains(mps, "value ") {
		t.Error("with --mps - the model is the whole answer")
	}
	wantFault(t, p.run("line", "plan", "Sea", "--mps", at("plan.mps")), 5, "exists already", "--force")
	earlier := p.file("earlier.json", asJSON)
	if again := p.must("line", "plan", "Sea", "--date", "2026-02-03", "--compare", earlier); again != table {
		t.Errorf("nothing moved, but the answer differs:\n%s", again)
	}
	wantFault(t, p.run("line", "plan", "Sea", "--compare", at("plan.svg")), 2, "is no plan", "--compare")
	wantFault(t, p.run("line", "plan", "Sea", "--price", "Ring=0"), 2, "must be more than 0", "--price")
	wantFault(t, p.run("line", "plan", "Sea", "--lost", "T", "--keep-worth", "-1"), 2, "must not be negative",
		"--keep-worth")
}

func TestLinePrice_Forms(t *testing.T) {
	p := lineBook(t)
	var price answer.LinePrice
	readJSON(t, p.must("line", "price", "Sea", "--date", "2026-02-03", "--set", "Ring, drop", "--json"), &price)
	if price.Line != "Sea" || len(price.Designs) != 3 || len(price.Plan.Pieces) == 0 || price.Plan.Currency != "EUR" ||
		len(price.Sets) != 1 || strings.Join(price.Sets[0].Designs, ", ") != "Ring, Drop" {
		t.Errorf("price %+v", price)
	}
	table := p.must("line", "price", "Sea", "--date", "2026-02-03", "--set", "Ring,Drop")
	for _, want := range []string{"Ring\t4\t4\t", "the line earns " + price.Earned.String() + " EUR",
		"set of Ring, Drop: " + price.Sets[0].Price.String()} {
		if !strings.Contains(table, want) {
			t.Errorf("the table does not say %q:\n%s", want, table)
		}
	}
	tree := p.must("line", "price", "Sea", "--date", "2026-02-03", "--explain", "ring")
	if !strings.Contains(tree, "metal in the piece") || !strings.Contains(tree, "trade price 520.00 EUR") {
		t.Errorf("the tree of a design:\n%s", tree)
	}
	wantFault(t, p.run("line", "price", "Sea", "--date", "2026-02-03", "--explain", "Stud"), 4, "no design Stud",
		"--explain")
	wantFault(t, p.run("line", "price", "Sea", "--date", "2026-02-03", "--set", "Ring,Stud"), 4, "no design Stud",
		"--set")
}

func TestLineRisk_Forms(t *testing.T) {
	p := lineBook(t)
	at := func(name string) string { return filepath.Join(p.dir, name) }
	ask := []string{"line", "risk", "Sea", "--date", "2026-02-03", "--runs", "200", "--range", "metal/gold=70..110"}
	var risk answer.LineRisk
	readJSON(t, p.must(append(ask, "--json")...), &risk)
	gold := risk.Moves[0]
	for _, m := range risk.Moves {
		if m.Key == "metal/gold" {
			gold = m
		}
	}
	if risk.Outcome.Runs < 200 || gold.Low.String() != "70" || gold.High.String() != "110" || gold.Assumed ||
		len(risk.Book) != 64 {
		t.Errorf("risk %+v", risk)
	}
	table := p.must(append(ask, "--rows", "1", "--chart", at("profit.svg"), "--tornado", at("moves.png"))...)
	if !strings.Contains(table, "planned to earn "+risk.Earned.String()+" EUR") {
		t.Errorf("table:\n%s", table)
	}
	for name, start := range map[string]string{"profit.svg": "<?xml", "moves.png": "\x89PNG"} {
		raw, err := os.ReadFile(at(name))
		if err != nil || !strings.HasPrefix(string(raw), start) {
			t.Errorf("%s: %v, starts with %.20q", name, err, raw)
		}
	}
	wantFault(t, p.run("line", "risk", "Sea", "--range", "metal/gold=70"), 2, "--range")
	wantFault(t, p.run("line", "risk", "Sea", "--date", "2026-02-03", "--quantity", "Ring=0", "--quantity", "Drop=0",
		"--quantity", "Studs=0"), 5, "nothing is at risk", "lotpaper line plan Sea")
}

func TestLineShow_Forms(t *testing.T) {
	p := lineBook(t)
	var all answer.Lines
	readJSON(t, p.must("line", "show", "--json"), &all)
	if len(all.Lines) != 1 || len(all.Lines[0].Designs) != 3 {
		t.Errorf("lines %+v", all)
	}
	if table := p.must("line", "show", "sea"); !strings.Contains(table, "Sea\tRing\tring\tgold 585\t4\t") {
		t.Errorf("table:\n%s", table)
	}
	wantFault(t, p.run("line", "show", "Land"), 4, "Land")
}
