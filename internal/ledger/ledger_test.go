package ledger_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
)

const (
	euro   = num.Currency("EUR")
	cutter = book.Place("cutter/Okoro")
	setter = book.Place("setter/Ito")
	vendor = book.Place("vendor/Silva")
)

func cents(n int64) num.Money { return num.FromMinor(n, euro) }

func codes(l fault.List) []string {
	var out []string
	for _, f := range l {
		out = append(out, f.Code)
	}
	return out
}

func TestEntryCheck(t *testing.T) {
	right := ledger.Entry{Kind: ledger.Buy, PostedOn: "2026-01-05", Reason: "bought", Postings: ledger.Move("A", vendor,
		book.Safe, 2, 3000, cents(500))}
	if l := right.Check(euro); len(l) > 0 {
		t.Fatalf("a right entry has faults: %v", l)
	}
	for name, c := range map[string]struct {
		change func(e *ledger.Entry)
		want   []string
	}{
		"no kind":          {func(e *ledger.Entry) { e.Kind = "" }, []string{"entry-head"}},
		"no date":          {func(e *ledger.Entry) { e.PostedOn = "" }, []string{"entry-head"}},
		"no reason":        {func(e *ledger.Entry) { e.Reason = "" }, []string{"entry-head"}},
		"no lot":           {func(e *ledger.Entry) { e.Postings[0].Lot = "" }, []string{"posting-place"}},
		"no place":         {func(e *ledger.Entry) { e.Postings[1].Place = "" }, []string{"posting-place"}},
		"pieces left over": {func(e *ledger.Entry) { e.Postings[0].Pieces++ }, []string{"entry-unbalanced"}},
		"carats left over": {func(e *ledger.Entry) { e.Postings[0].Carats++ }, []string{"entry-unbalanced"}},
		"cost left over":   {func(e *ledger.Entry) { e.Postings[0].Cost = cents(-499) }, []string{"entry-unbalanced"}},
		"fractions of cent": {func(e *ledger.Entry) {
			e.Postings = ledger.Move("A", vendor, book.Safe, 1, 1,
				num.Micros(1, euro))
		}, []string{"posting-cost", "posting-cost"}},
		"another currency": {func(e *ledger.Entry) {
			e.Postings = ledger.Move("A", vendor, book.Safe, 1, 1,
				num.FromMinor(1, "USD"))
		}, []string{"posting-cost", "posting-cost"}},
		"weight from made": {func(e *ledger.Entry) {
			e.Postings = ledger.Move("A", book.MadeCutting, cutter, 1, 1,
				cents(0))
		}, []string{"posting-made"}},
	} {
		e := right
		e.Postings = slices.Clone(right.Postings)
		c.change(&e)
		if got := codes(e.Check(euro)); !slices.Equal(got, c.want) {
			t.Errorf("%s: faults %v, want %v", name, got, c.want)
		}
	}
}

func TestBalanceCheck(t *testing.T) {
	for _, c := range []struct {
		b    ledger.Balance
		want string
	}{
		{ledger.Balance{Place: book.Safe, Pieces: 1, Carats: 0}, ""},
		{ledger.Balance{Place: book.Safe}, ""},
		{ledger.Balance{Place: vendor, Pieces: -5, Carats: -5, Cost: cents(-5)}, ""},
		{ledger.Balance{Place: cutter, Pieces: -1}, "balance-below-zero"},
		{ledger.Balance{Place: cutter, Pieces: 1, Carats: -1}, "balance-below-zero"},
		{ledger.Balance{Place: cutter, Pieces: 1, Cost: cents(-1)}, "balance-below-zero"},
		{ledger.Balance{Place: "memo/Ruiz", Carats: 1}, "balance-without-pieces"},
		{ledger.Balance{Place: "piece/R1", Cost: cents(1)}, "balance-without-pieces"},
	} {
		got := ""
		if f := c.b.Check(); f != nil {
			got = f.Code
		}
		if got != c.want {
			t.Errorf("%+v: fault %q, want %q", c.b, got, c.want)
		}
	}
}

// TestTakeEmpties: whatever is taken from the places of a lot, one draw after
// the other, the costs that leave add up to the cost that was there.
func TestTakeEmpties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		places := []book.Place{book.Safe, cutter, setter}
		var have []ledger.Balance
		total := num.Zero(euro)
		for _, p := range places[:rapid.IntRange(1, 3).Draw(t, "places")] {
			b := ledger.Balance{Lot: "A", Place: p, Pieces: rapid.Int64Range(1, 30).Draw(t, "pieces"),
				Carats: num.Carat(rapid.Int64Range(0, 9000).Draw(t, "carats")),
				Cost:   cents(rapid.Int64Range(0, 1_000_000).Draw(t, "cost"))}
			have = append(have, b)
			total = total.Add(b.Cost)
		}
		gone := num.Zero(euro)
		for len(have) > 0 {
			i := rapid.IntRange(0, len(have)-1).Draw(t, "from")
			b := &have[i]
			pieces := rapid.Int64Range(1, b.Pieces).Draw(t, "take")
			carats := b.Carats
			if pieces < b.Pieces {
				carats = num.Carat(rapid.Int64Range(0, int64(b.Carats)).Draw(t, "weight"))
			}
			cost, f := ledger.Take(have, b.Place, pieces, carats)
			if f != nil {
				t.Fatal(f)
			}
			if cost.Sign() < 0 || cost.Cmp(b.Cost) > 0 || !cost.IsWhole() {
				t.Fatalf("took %s of %s", cost, b.Cost)
			}
			b.Pieces, b.Carats, b.Cost = b.Pieces-pieces, b.Carats-carats, b.Cost.Sub(cost)
			gone = gone.Add(cost)
			if f := b.Check(); f != nil {
				t.Fatal(f)
			}
			if b.Pieces == 0 {
				have = slices.Delete(have, i, i+1)
			}
		}
		if gone.Cmp(total) != 0 {
			t.Errorf("%s left, %s was there", gone, total)
		}
	})
}

func TestTakeAverages(t *testing.T) {
	// 10 pieces of 20 ct for 400.00 lie in two places; by carats the average is
	// 20.00 per carat, so 3 ct carry 60.00 wherever they lie.
	have := []ledger.Balance{
		{Lot: "A", Place: book.Safe, Pieces: 6, Carats: 12000, Cost: cents(24000)},
		{Lot: "A", Place: cutter, Pieces: 4, Carats: 8000, Cost: cents(16000)},
		{Lot: "A", Place: vendor, Pieces: -10, Carats: -20000, Cost: cents(-40000)}, // a boundary counts for nothing
	}
	if got, f := ledger.Take(have, cutter, 1, 3000); f != nil || got.String() != "60.00" {
		t.Errorf("take 3 ct = %s, %v, want 60.00", got, f)
	}
	if got, f := ledger.Take(have, book.Safe, 6, 12000); f != nil || got.String() != "240.00" {
		t.Errorf("take all = %s, %v, want 240.00", got, f)
	}
	for _, c := range []struct {
		pieces int64
		carats num.Carat
		want   string
	}{{7, 1000, "take-too-much"}, {1, 12001, "take-too-much"}, {0, 0, "take-nothing"}, {6, 11999, "take-weight"}} {
		if _, f := ledger.Take(have, book.Safe, c.pieces, c.carats); f == nil || f.Code != c.want {
			t.Errorf("take %d pieces %s ct: %v, want %s", c.pieces, c.carats, f, c.want)
		}
	}
}

// TestDivideAddsUp: cost is shared out whole, pieces and carats balance, and a
// part with a fixed amount carries at least that.
func TestDivideAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := ledger.Balance{Lot: "A", Place: book.Safe, Cost: cents(rapid.Int64Range(0, 10_000_000).Draw(t, "cost"))}
		var parts []ledger.Part
		left := from.Cost
		for i := range rapid.IntRange(1, 8).Draw(t, "parts") {
			p := ledger.Part{Lot: "A." + string(rune('1'+i)), Pieces: rapid.Int64Range(1, 50).Draw(t, "pieces"),
				Carats: num.Carat(rapid.Int64Range(1, 99999).Draw(t, "carats")), Weight: num.Int(rapid.Int64Range(0,
					1000).Draw(t, "weight"))}
			if rapid.Bool().Draw(t, "fixed") {
				p.Fixed = cents(rapid.Int64Range(0, left.Minor(num.HalfUp)).Draw(t, "amount"))
				left = left.Sub(p.Fixed)
			}
			from.Pieces += p.Pieces
			from.Carats += p.Carats
			parts = append(parts, p)
		}
		diff := num.Carat(rapid.Int64Range(-20, 20).Draw(t, "scale"))
		if from.Carats+diff <= 0 {
			diff = 0
		}
		from.Carats += diff
		postings, faults := ledger.Divide(from, parts, 20)
		if faults.Blocks() {
			t.Fatal(faults)
		}
		e := ledger.Entry{Kind: ledger.Sort, PostedOn: "2026-01-05", Reason: "sorted", Postings: postings}
		state := ledger.NewBalances()
		state.Put(from)
		if l := state.Apply(e, euro); l.Blocks() {
			t.Fatal(l)
		}
		if !state.At("A", book.Safe).IsZero() {
			t.Errorf("the lot is not empty: %+v", state.At("A", book.Safe))
		}
		for _, p := range parts {
			if got := state.At(p.Lot, book.Safe); got.Pieces != p.Pieces || got.Carats != p.Carats ||
				got.Cost.Cmp(p.Fixed) < 0 {
				t.Errorf("part %+v has %+v", p, got)
			}
		}
	})
}

func TestDivideRefuses(t *testing.T) {
	from := ledger.Balance{Lot: "A", Place: book.Safe, Pieces: 3, Carats: 3000, Cost: cents(300)}
	part := func(pieces int64, carats num.Carat, fixed int64) ledger.Part {
		return ledger.Part{Lot: "A.1", Pieces: pieces, Carats: carats, Fixed: cents(fixed), Weight: num.Int(1)}
	}
	for _, c := range []struct {
		parts []ledger.Part
		want  []string
	}{
		{[]ledger.Part{part(2, 3000, 0)}, []string{"sort-pieces"}},
		{[]ledger.Part{part(3, 2979, 0)}, []string{"sort-weight"}},
		{[]ledger.Part{part(3, 3021, 0)}, []string{"sort-weight"}},
		{[]ledger.Part{part(3, 3000, 301)}, []string{"sort-fixed"}},
		{[]ledger.Part{part(3, 3000, 0), part(0, 0, 0)}, []string{"part-empty"}},
		{[]ledger.Part{part(3, 2980, 300)}, nil},
	} {
		if _, l := ledger.Divide(from, c.parts, 20); !slices.Equal(codes(l), c.want) {
			t.Errorf("%+v: %v, want %v", c.parts, codes(l), c.want)
		}
	}
}

// TestReversedUndoes: an entry and its reversal leave every balance as it was.
func TestReversedUndoes(t *testing.T) {
	state := ledger.NewBalances()
	apply := func(e ledger.Entry) {
		t.Helper()
		if l := state.Apply(e, euro); l.Blocks() {
			t.Fatal(l)
		}
	}
	apply(ledger.Entry{Code: "E1", Kind: ledger.Buy, PostedOn: "2026-01-05", Reason: "bought",
		Postings: ledger.Move("A", vendor, book.Safe, 5, 7000, cents(900))})
	before := state.List()
	cut := ledger.Entry{Code: "E2", Kind: ledger.Cut, PostedOn: "2026-01-05", Reason: "cut", Postings: append(
		ledger.Move("A", book.Safe, cutter, 2, 2000, cents(400)),
		ledger.Posting{Lot: "A", Place: cutter, Pieces: 1, Carats: -500},
		ledger.Posting{Lot: "A", Place: book.MadeCutting, Pieces: -1},
		ledger.Posting{Lot: "A", Place: book.LossCutting, Carats: 500})}
	apply(cut)
	back := cut.Reversed("2026-01-06", "not cut after all", "Ada")
	if back.Kind != ledger.Reverse || back.Reverses != "E2" {
		t.Errorf("reversal = %+v", back)
	}
	apply(back)
	if !slices.Equal(state.List(), before) {
		t.Errorf("after the reversal %v, before %v", state.List(), before)
	}
}

func TestBlockers(t *testing.T) {
	entry := func(code string, p ...ledger.Posting) ledger.Entry { return ledger.Entry{Code: code, Postings: p} }
	buy := entry("E1", ledger.Move("A", vendor, book.Safe, 9, 9000, cents(900))...)
	issue := entry("E2", ledger.Move("A", book.Safe, cutter, 4, 4000, cents(400))...)
	charge := entry("E3", ledger.Move("A", "charge/freight", book.Safe, 0, 0, cents(50))...)
	cut := entry("E4", ledger.Posting{Lot: "A", Place: cutter, Carats: -100}, ledger.Posting{Lot: "A",
		Place: book.LossCutting, Carats: 100})
	other := entry("E5", ledger.Move("B", vendor, book.Safe, 1, 1000, cents(100))...)
	all := []ledger.Entry{buy, issue, charge, cut, other}
	for i, want := range [][]string{
		{"E2", "E3", "E4"}, // the cut takes weight whose cost the purchase made
		{"E3", "E4"},       // the charge lies on what the issue left, the cut on what it brought
		{"E4"},             // what was cut carries a share of the charge
		nil,
	} {
		var got []string
		for _, b := range all[i].Blockers(all[i+1:]) {
			got = append(got, b.Code)
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s is blocked by %v, want %v", all[i].Code, got, want)
		}
	}
	// Moving pieces between two places changes no average: a sale elsewhere stays.
	sale := entry("E6", ledger.Move("A", setter, "customer/Lind", 1, 1000, cents(100))...)
	if got := issue.Blockers([]ledger.Entry{sale}); got != nil {
		t.Errorf("an issue is blocked by a sale from elsewhere: %v", got)
	}
}
