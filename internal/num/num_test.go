package num

import (
	"testing"

	"pgregory.net/rapid"
)

func TestParseDec_Faults(t *testing.T) {
	for in, code := range map[string]string{
		"1,234": "number-grouping", "1.234,56": "number-grouping", "1 234": "number-grouping",
		"1.2.3": "number-grouping",
		"1e3":   "number-text", "abc": "number-text", "": "number-missing", ".5": "number-text", "5.": "number-text",
		"-":                               "number-text",
		"1234567890123456789012345678901": "number-long", "１２": "number-text",
	} {
		if _, f := ParseDec(in); f == nil || f.Code != code {
			t.Errorf("ParseDec(%q) = %v, want code %s", in, f, code)
		}
	}
	for in, want := range map[string]string{" 12.50 ": "12.5", "-0.10": "-0.1", "+3": "3", "007": "7"} {
		if d, f := ParseDec(in); f != nil || d.String() != want {
			t.Errorf("ParseDec(%q) = %v, %v; want %s", in, d, f, want)
		}
	}
}

// The published examples of the rule nine: "How is diamond carat weight
// rounded", GIA; "Weighty Considerations", R. Cartier.
func TestHundredths(t *testing.T) {
	for _, c := range []struct {
		in, nine, half string
	}{
		{"1.768", "1.76 (1.768)", "1.77 (1.768)"},
		{"1.769", "1.77", "1.77"},
		{"0.025", "0.02 (0.025)", "0.03 (0.025)"},
		{"0.999", "1.00", "1.00"},
		{"1.764", "1.76", "1.76"},
	} {
		w, f := ParseCarat(c.in)
		if f != nil {
			t.Fatal(f)
		}
		if got := w.Stated(RuleNine); got != c.nine {
			t.Errorf("nine %s = %s, want %s", c.in, got, c.nine)
		}
		if got := w.Stated(RuleHalfUp); got != c.half {
			t.Errorf("half-up %s = %s, want %s", c.in, got, c.half)
		}
	}
}

func TestParseWeight(t *testing.T) {
	for _, c := range []struct {
		in   string
		unit WeightUnit
		want string
	}{{"1", UnitGram, "5.000"}, {"1", UnitMomme, "18.750"}, {"0.2", UnitGram, "1.000"}, {"2.5", UnitCarat, "2.500"},
		{"0.21345", UnitGram, "1.067"}} {
		if w, f := ParseWeight(c.in, c.unit); f != nil || w.String() != c.want {
			t.Errorf("ParseWeight(%s %s) = %s, %v; want %s", c.in, c.unit, w, f, c.want)
		}
	}
	if _, f := ParseCarat("1.2345"); f == nil || f.Code != "weight-too-fine" {
		t.Errorf("fault = %v", f)
	}
}

func TestMeasure_TextRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := Carat(rapid.Int64Range(-maxMeasure, maxMeasure).Draw(t, "carat"))
		text, _ := c.MarshalText()
		var back Carat
		if err := back.UnmarshalText(text); err != nil || back != c {
			t.Fatalf("%s -> %d, %v; want %d", text, back, err, c)
		}
		if p, f := ParseCarat(c.String()); f != nil || p != c {
			t.Fatalf("ParseCarat(%s) = %d, %v", c, p, f)
		}
	})
}

// Shares add up to the whole, each within one unit of the exact share, and a
// zero weight beside others gets nothing.
func TestShare_AddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		total := FromMinor(rapid.Int64Range(-1_000_000, 1_000_000).Draw(t, "total"), "EUR")
		n := rapid.IntRange(1, 12).Draw(t, "n")
		weights := make([]Dec, n)
		sum := Dec{}
		for i := range weights {
			weights[i] = Scaled(rapid.Int64Range(0, 5000).Draw(t, "w"), 2)
			sum = sum.Add(weights[i])
		}
		got := Zero("EUR")
		for i, p := range total.Share(weights) {
			if !p.IsWhole() {
				t.Fatalf("part %s is not whole", p)
			}
			got = got.Add(p)
			if sum.IsZero() {
				continue
			}
			exact := total.Dec().Mul(weights[i]).Over(sum, 10, HalfUp)
			if d := p.Dec().Sub(exact); d.Cmp(Scaled(1, 2)) >= 0 || d.Cmp(Scaled(-1, 2)) <= 0 {
				t.Fatalf("part %s is a cent or more off %s", p, exact)
			}
		}
		if got != total {
			t.Fatalf("parts add up to %s, want %s", got, total)
		}
	})
}

func TestMoney_Minor(t *testing.T) {
	for _, c := range []struct {
		cur  Currency
		in   string
		want int64
	}{{"USD", "1.99", 199}, {"JPY", "123", 123}, {"KWD", "1.234", 1234}} { // ISO 4217 minor units
		m, f := ParseMoney(c.in, c.cur)
		if f != nil || m.Minor(HalfUp) != c.want || m.String() != c.in {
			t.Errorf("%s %s = %d (%s), %v", c.in, c.cur, m.Minor(HalfUp), m, f)
		}
	}
	if _, f := ParseMoney("1.5", "JPY"); f == nil {
		t.Error("a yen has no decimals")
	}
}

func TestMoney_Text(t *testing.T) {
	for _, s := range []string{"12.50 EUR", "-3 JPY", "0", "0.000001 EUR"} {
		var m Money
		if err := m.UnmarshalText([]byte(s)); err != nil {
			t.Fatal(err)
		}
		if b, _ := m.MarshalText(); string(b) != s {
			t.Errorf("%q came back as %q", s, b)
		}
	}
}

func TestRate(t *testing.T) {
	r, f := ParseRate("0.6312", 100)
	if f != nil {
		t.Fatal(f)
	}
	if got := FromMinor(10000, "JPY").Convert(r, "EUR", HalfUp).Words(); got != "63.12 EUR" {
		t.Errorf("10000 JPY = %s", got)
	}
	var back Rate
	if err := back.UnmarshalText([]byte(r.String())); err != nil || back.String() != "0.6312 per 100" {
		t.Errorf("back = %s, %v", back, err)
	}
	for _, bad := range []string{"0", "-1", "1.2345678901234"} {
		if _, f := ParseRate(bad, 1); f == nil {
			t.Errorf("rate %s accepted", bad)
		}
	}
}

func TestDiv(t *testing.T) {
	for _, c := range []struct {
		n, d string
		r    Rounding
		want string
	}{{"2", "3", HalfUp, "0.67"}, {"1", "8", HalfEven, "0.12"}, {"-1", "8", HalfUp, "-0.13"}, {"1", "3", Up, "0.34"},
		{"-1", "3", Floor, "-0.34"}, {"-1", "3", Ceiling, "-0.33"}} {
		if q, ok := MustDec(c.n).Div(MustDec(c.d), 2, c.r); !ok || q.String() != c.want {
			t.Errorf("%s/%s = %s, want %s", c.n, c.d, q, c.want)
		}
	}
	if _, ok := Int(1).Div(Dec{}, 2, HalfUp); ok {
		t.Error("division by zero")
	}
}

// Over is Div where the divisor is not 0, and refuses 0 loudly; Each takes
// fewer than one for one; a percentage of nothing is 0.
func TestDivision_ByZero(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := Scaled(rapid.Int64Range(-1e9, 1e9).Draw(t, "d"), 3)
		n := rapid.Int64Range(-3, 1000).Draw(t, "n")
		places := rapid.IntRange(0, 8).Draw(t, "places")
		r := Rounding(rapid.IntRange(int(HalfUp), int(Ceiling)).Draw(t, "rounding"))
		if q, ok := d.Div(Int(n), places, r); ok != (n != 0) || ok && q.Cmp(d.Over(Int(n), places, r)) != 0 {
			t.Fatalf("%s / %d: Div and Over differ", d, n)
		}
		want := d.Round(places, r)
		if n > 1 {
			want = d.Over(Int(n), places, r)
		}
		if got := d.Each(n, places, r); got.Cmp(want) != 0 {
			t.Fatalf("each of %d of %s = %s, want %s", n, d, got, want)
		}
		if p := PercentOf(d, Int(n), places); n == 0 && !p.IsZero() || n != 0 &&
			p.Cmp(d.Mul(Int(100)).Over(Int(n), places, HalfUp)) != 0 {
			t.Fatalf("%s of %d = %s %%", d, n, p)
		}
	})
	defer func() {
		if recover() == nil {
			t.Error("1 over 0 gave a number")
		}
	}()
	Int(1).Over(Dec{}, 2, HalfUp)
}

// The quick path reads what ParseDec reads, and nothing that it refuses.
func TestPlainScaled_LikeParseDec(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.StringMatching(`-?[0-9]{0,9}\.?[0-9]{0,5}[ ,x]?`).Draw(t, "s")
		n, ok := plainScaled(s, 3)
		if !ok {
			return
		}
		d, f := ParseDec(s)
		if f != nil || d.Places() > 3 || Scaled(n, 3).Cmp(d) != 0 {
			t.Fatalf("%q: quick %d, exact %s %v", s, n, d, f)
		}
	})
}
