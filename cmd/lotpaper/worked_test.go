package main

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"lotpaper/internal/cli"
	"lotpaper/internal/testkit/vectors"
	"lotpaper/internal/ui"
)

// published is how a calc command answers a published worked example: what is
// typed, and which result answers which of the example's.
type published struct {
	args   string // split at blanks; "_" stands for a blank inside a value
	answer map[string]string
}

func one(args, name, result string) published {
	return published{args, map[string]string{name: result}}
}

// share answers the parts of an example by their names.
func share(args string) published { return published{args, nil} }

// examples are the rows of testdata/vectors/worked that a calc command answers.
var examples = map[string]published{
	"WE001": one("round --carats 1.768", "ct", "carats"),
	"WE002": one("round --carats 1.769", "ct", "carats"),
	"WE003": one("round --carats 0.025", "ct", "carats"),
	"WE004": one("round --carats 0.999", "ct", "carats"),
	"WE013": one("alloy --part Au=583 --part Ag=104 --part Cu=313", "sg", "density_exact"),
	"WE014": one("wax --model 6.221 --of sterling --metal 14k", "dwt", "metal_g"), // 4 dwt in grams
	"WE015": one("wax --wax 1.0 --metal 14k", "g", "metal_g"),
	"WE016": one("recut --weight 100 --after 95", "pct", "loss_percent"), // 20 g and 19 g in carats
	"WE017": {"ring --system US --size 0", map[string]string{"diameter_mm": "diameter_mm",
		"circumference_mm": "circumference_mm"}},
	"WE018": {"ring --system US --size 4", map[string]string{"diameter_mm": "diameter_mm",
		"circumference_mm": "circumference_mm"}},
	"WE019": one("ring --system ISO --size 54", "diameter_mm", "diameter_mm"),
	"WE020": one("ring --system ISO --size 50", "size", "IT"),
	"WE021": share("share --total 35000 --by pieces --part I=70 --part II=105 --part III=175"),
	"WE022": share("share --total 35000 --by nrv --part I=70x800-250 --part II=105x300-120 --part III=175x110-5"),
	"WE023": share("share --total 900000 --by pieces --part g1=1500000 --part g2=3000000 --part g3=1875000 --part " +
		"g4=1125000"),
	"WE024": share("share --total 900000 --by value --part g1=1500000x300 --part g2=3000000x225 --part " +
		"g3=1875000x140 --part g4=1125000x100"),
	"WE025": share("share --total 80000 --by value --part X=1x80000 --part Y=1x70000 --part Z=1x50000"),
	"WE026": share("share --total 12300 --by nrv --part LTen=3200x2.10-0.70 --part Triol=3700x5.40-1.10 --part " +
		"Pioze=2000x6.20-1.50"),
	"WE027": share("share --total 200 --by value --part item=1x200 --part others=1x600"),
	"WE028": share("share --total 4000 --by carats --part A=25000 --part B=15000"),
	"WE029": share("share --total 2300 --by value --part X=20x20 --part Y=20x5"),
	"WE036": {"margin --cost 50 --margin 50", map[string]string{"price": "price", "markup_pct": "markup_percent"}},
	"WE037": {"margin --cost 40 --markup 50", map[string]string{"price": "price", "margin_pct": "margin_percent"}},
	"WE038": {"margin --cost 10 --markup 100", map[string]string{"price": "price", "margin_pct": "margin_percent"}},
	"WE039": {"breakeven --price 200 --variable 170 --fixed 330000", map[string]string{"units": "units",
		"sales": "sales"}},
	"WE040": {"breakeven --price 50 --variable 32 --fixed 108000", map[string]string{"units": "units",
		"sales": "sales"}},
	"WE051": one("sample --bad-share 0.05 --confidence 0.99", "n", "n"),
	"WE052": one("sample --bad-share 0.01 --confidence 0.95", "n", "n"),
	"WE053": one("sample --pieces 1000 --bad 1 --confidence 0.95", "n", "n"),
	"WE054": one("sg --air 4.02 --water 3.32 --wire 0.30", "sg", "sg"),
	"WE055": one("sg --air 10.30 --water 6.50", "sg", "sg"), // grams to carats: 1 g = 5 ct
	"WE062": one("light --lux 50 --hours-per-day 8 --days-per-year 300 --limit-mlxh 0.15", "hours", "hours_left"),
	"WE063": {"recut --rough 186.0 --rough-price 12 --yield 30", map[string]string{"rough_cost": "rough_cost",
		"finished_ct": "finished_ct", "per_finished_ct": "per_finished_ct", "per_gram": "per_rough_gram"}},
	"WE064": {"recut --weight 10 --after 3", map[string]string{"yield_pct": "yield_percent",
		"rough_per_ct": "rough_per_finished_ct"}},
	"WE067": one("angle --ri 1.76", "deg", "critical_deg"),
	"WE068": one("angle --ri 1.61", "deg", "critical_deg"),
	"WE069": one("recut --weight 2.03 --after 1.38", "loss_pct", "loss_percent"),
	"WE070": one("weight --carats 1.00 --from-sg 3.52 --sg 4", "ct", "carats"),
	"WE071": one("weight --shape round --length 7.00 --depth 4.50 --sg 4.00", "ct", "handbook"),

	"WX01": share("share --total 100000 --by nrv --part A=5000x15-2 --part B=5000x15-4"), // further cost by unit
	"WX02": share("share --total 12300 --by nrv --part LTen=3200x2.10-0.70 --part Triol=3700x5.40-2.10 --part " +
		"Pioze=2000x6.20-1.50"),
	"WX03": one("breakeven --price 10 --variable 6 --fixed 300000", "units", "units"),
	"WX04": {"breakeven --price 100 --variable 60 --fixed 300000", map[string]string{"units": "units",
		"sales": "sales"}},
	"WX05": {"breakeven --price 21 --variable 12.50 --fixed 45000", map[string]string{"contribution": "contribution",
		"exact_units": "exact_units", "exact_sales": "exact_sales"}},
	"WX06": one("breakeven --price 21 --variable 12.50 --fixed 18000", "units", "units"),
	"WX13": {"margin --cost 75 --price 100", map[string]string{"margin": "margin_percent", "markup": "markup_percent"}},
	"WX14": {"margin --cost 60 --price 100", map[string]string{"margin": "margin_percent", "markup": "markup_percent"}},
	"WX15": {"margin --cost 70 --price 100", map[string]string{"margin": "margin_percent", "markup": "markup_percent"}},
	"WX16": {"margin --cost 80 --markup 25", map[string]string{"price": "price", "margin": "margin_percent"}},
	"WX17": one("alloy --part Au=642@19.3 --part Cu=358@8.5", "density", "density"),
	"WX18": share("share --total 465000 --by pieces --part a=4000 --part b=16000 --part c=12000"),
}

// perDwt turns grams into pennyweights, in which one example is stated.
const perDwt = 1.55517384

// noCommand are the rows of a calculator's topic that it does not answer whole.
var noCommand = map[string]string{
	"WE060": "the day and the decade are the year divided and multiplied",
	"WE061": "two doses side by side; the calculator gives one",
}

// topics are those that the calculators are for: each row is answered, or has
// its reason.
var topics = []string{"carat rounding", "alloy density", "wax to metal", "metal weight conversion", "ring size",
	"joint cost", "margin", "markup", "keystone", "break-even",
	"success-run", "detect at least one", "hydrostatic SG", "light", "critical angle", "recut loss", "weight by SG",
	"weight estimate", "rough cost", "yield"}

// TestWorkedExamples: every published example that a calc command can answer
// comes out of the command itself.
func TestWorkedExamples(t *testing.T) {
	seen := 0
	for _, file := range []string{"worked_examples.csv", "more_examples.csv"} {
		for _, row := range vectors.Read(t, "worked/"+file) {
			id, topic := row["id"], row["topic"]
			p, ok := examples[id]
			if !ok {
				for _, ours := range topics {
					if strings.HasPrefix(topic, ours) && noCommand[id] == "" {
						t.Errorf("%s (%s) is not answered by a calc command and has no reason", id, topic)
					}
				}
				continue
			}
			seen++
			t.Run(id, func(t *testing.T) {
				check(t, p, row["result"], row["tolerance_abs"], row["source"])
			})
		}
	}
	if seen != len(examples) {
		t.Errorf("%d of %d examples were found", seen, len(examples))
	}
}

func check(t *testing.T, p published, results, tolerances, source string) {
	got := calculate(t, p.args)
	wanted := values(t, results)
	if len(wanted) == 0 {
		t.Fatal("the example has no result")
	}
	for name, want := range wanted {
		key := name
		if p.answer != nil {
			key = p.answer[name]
		}
		v, ok := got[key]
		if !ok {
			t.Errorf("no result answers %s; there are %v", name, got)
			continue
		}
		if name == "dwt" {
			v /= perDwt
		}
		tolerance := 0.0
		if one, err := strconv.ParseFloat(tolerances, 64); err == nil {
			tolerance = one
		} else {
			tolerance = values(t, tolerances)[name]
		}
		if math.Abs(v-want) > tolerance+1e-9 {
			t.Errorf("%s is %v, %s says %v +/- %v", name, v, source, want, tolerance)
		}
	}
}

// values reads "a=1; b=2".
func values(t *testing.T, s string) map[string]float64 {
	out := map[string]float64{}
	for _, field := range strings.Split(s, ";") {
		name, text, _ := strings.Cut(strings.TrimSpace(field), "=")
		v, err := strconv.ParseFloat(text, 64)
		if err != nil {
			t.Fatalf("%q: %v", s, err)
		}
		out[name] = v
	}
	return out
}

// calculate runs a calc command in this process and returns its results by
// name; those of a share also as NAME, NAME_each, NAME_total and, when all are
// alike, per_stone and per_gallon.
func calculate(t *testing.T, args string) map[string]float64 {
	t.Helper()
	words := append([]string{"calc"}, strings.Fields(args)...)
	for i, w := range words {
		words[i] = strings.ReplaceAll(w, "_", " ")
	}
	var out, errs bytes.Buffer
	code := cli.Main(context.Background(), append(words, "--json"),
		cli.Deps{Streams: &ui.Streams{In: strings.NewReader(""), Out: &out, Err: &errs}, Now: time.Now})
	if code != 0 {
		t.Fatalf("exit status %d: %s", code, errs.String())
	}
	var doc struct {
		Result          map[string]any
		Formula, Source string
	}
	if err := json.Unmarshal(out.Bytes(), &doc); err != nil {
		t.Fatal(err)
	}
	if doc.Formula == "" || doc.Source == "" {
		t.Errorf("the answer has no formula or source: %s", out.String())
	}
	got := map[string]float64{}
	put := func(name string, v any) {
		text, ok := v.(string)
		if !ok {
			return
		}
		if n, err := strconv.ParseFloat(text, 64); err == nil {
			got[name] = n
		}
	}
	for name, v := range doc.Result {
		put(name, v)
	}
	parts, _ := doc.Result["parts"].([]any)
	for _, p := range parts {
		if part, ok := p.(map[string]any); ok && part["name"] != nil {
			name := part["name"].(string)
			put(name, part["amount"])
			put(name+"_total", part["amount"])
			put(name+"_each", part["each"])
			put("per_stone", part["each"])
			put("per_gallon", part["each"])
		}
	}
	return got
}
