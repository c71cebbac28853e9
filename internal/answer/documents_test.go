package answer

import (
	"bytes"
	"fmt"
	"maps"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"lotpaper/internal/book"
	"lotpaper/internal/durability"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

func sampleCards(t *testing.T) *CareCards {
	p := sampleProposal(t)
	h := p.Head
	h.Number, h.Title = "CARE-2026-0004", "Care cards: line Tideline"
	c := &CareCards{Head: h, Line: p.Line}
	for _, d := range p.Designs {
		card := CareCard{Design: d.Design, Piece: d.Piece, Metal: d.Metal, CareWords: d.Care}
		for _, s := range p.Stones {
			if s.Design == d.Design && s.Unit == 1 {
				card.Stones = append(card.Stones, CareStone{Pieces: s.Pieces, Carats: s.Carats,
					StoneWords: s.StoneWords})
			}
		}
		c.Cards = append(c.Cards, card)
	}
	return c
}

func sampleStock() *StockList {
	h := sampleHead
	h.Number, h.Title = "", "Stock list"
	facets := func(treatment string) book.Facets {
		return book.Facets{Nature: book.Facet{Value: "natural"}, Treatment: book.Facet{Value: treatment}}
	}
	safe := []ledger.Balance{{Place: book.Safe}}
	size := func(low, high num.Millimetre) book.Size { return book.Size{Min: low, Max: high} }
	return &StockList{Head: h, Scope: "all lots in real places", Lots: []StockRow{
		{StockLot{Lot: book.Lot{Code: "P1-1", Parcel: "P1", Label: "T-07", Species: "topaz", Facets: facets(""),
			Shape: "oval", Length: size(900, 900), Width: size(700, 700), Depth: size(440, 460), Color: "blue",
			Owner: "own", Note: "=HYPERLINK(\"x\") is text here"}, Places: safe, Pieces: 12, Carats: 27419,
			Cost: eur("548.38")}, "verified", ""},
		{StockLot{Lot: book.Lot{Code: "P1-9", Parcel: "P1", Species: "tourmaline", Variety: "indicolite",
			Facets: facets("none"), Shape: "round", Length: size(210, 230), Owner: "memo-in/Harbour Gems",
			Estimated: true}, Places: safe, Pieces: 140, Carats: 9633, Cost: eur("0")}, "supported", ""},
	}}
}

func sampleValue() *StockValue {
	h := sampleHead
	h.Number, h.Title = "VALUE-2026-0001", "Stock valuation"
	nrv := func(s string) *num.Money { m := eur(s); return &m }
	return &StockValue{Head: h, Scope: "own stock in real places", By: "species", Cost: eur("942.73"),
		Value: eur("886.48"), WriteDown: eur("56.25"), Unpriced: 1, Rows: []ValueRow{
			{Group: "topaz", Lot: "P1-1", Parcel: "P1", Name: "blue topaz", Place: "safe", Pieces: 12, Carats: 27419,
				Cost: eur("548.38"), NRV: nrv("610.00"), WriteDown: eur("0"), Price: "price list 2026-03-01",
				Bought: "2025-11-02", Days: 149},
			{Group: "beryl", Lot: "P1-2", Parcel: "P1", Name: "aquamarine", Place: "setter/Ines", Pieces: 10,
				Carats: 9495, Cost: eur("306.35"), NRV: nrv("250.10"), WriteDown: eur("56.25"),
				Price:  "price list 2026-03-01",
				Bought: "2025-11-02", Days: 149},
			{Group: "topaz", Lot: "P2-1", Parcel: "P2", Name: "white topaz", Place: "safe", Pieces: 40, Carats: 31110,
				Cost: eur("88.00"), WriteDown: eur("0"), Bought: "2024-01-15", Days: 806}}}
}

func sampleMatrix() *SettingMatrix {
	h := sampleHead
	h.Number, h.Title = "", "Which stone may go into which setting"
	settings := []string{"prong", "bezel", "channel", "flush", "tension"}
	row := func(lot, name, checked string, cells ...MatrixCell) MatrixRow {
		for i := range cells {
			cells[i].Setting = settings[i]
		}
		return MatrixRow{Lot: lot, Name: name, Checked: checked, Piece: "ring", Wear: "daily", Cells: cells}
	}
	cell := func(level durability.Level, why, mend string) MatrixCell {
		return MatrixCell{Level: level, Verdict: level.String(), Reason: why, Mend: mend}
	}
	sound := cell(durability.Sound, "", "")
	return &SettingMatrix{Head: h, Scope: "lots of parcel P1", Piece: "ring", Wear: "daily",
		Assumed: []string{"no bench steps with the stone set"}, Settings: settings, Rows: []MatrixRow{
			row("P1-1", "topaz", "as verified",
				cell(durability.Caution, "perfect cleavage under free prongs", "use a bezel"),
				cell(durability.Care, "perfect cleavage, shielded by the rim", "set it last"),
				cell(durability.Caution, "hammering close to the girdle", "use a bezel"),
				cell(durability.Avoid, "hammered over the edge of a cleavable stone", "use a bezel"),
				cell(durability.Avoid, "permanent pressure on a perfect cleavage", "use a bezel")),
			row("P1-9", "indicolite", "worst of 2 candidates: tourmaline, apatite",
				cell(durability.Avoid, "if this is apatite, hardness 5 wears in months", "test the lot"), sound, sound,
				cell(durability.Care, "brittle", "a careful setter"),
				cell(durability.Avoid, "hardness under 9", "use a bezel"))}}
}

func sampleIdentity(explain bool) *Identity {
	h := sampleHead
	h.Number, h.Title = "IDENTITY-2026-0001", "Identity report: lots in doubt"
	stone := TestedStone{Stone: "2", Drawn: "random", Standing: "not the claim", Case: Case{
		Name: "2", Verdict: "established", Headline: "topaz, 97.0 %: established by index and gravity", Considered: 132,
		Candidates: []Candidate{{Species: "topaz", Share: 0.97, Standing: "n 1.619 to 1.627 inside 1.606 to 1.644; " +
			"SG 3.55 inside 3.49 to 3.57"}, {Species: "tourmaline", Share: 0.03,
			Standing: "SG is 0.29 above its range, 2.4 standard errors"}},
		Excluded: []Excluded{{"beryl", "n 1.619 is 0.029 above its highest of 1.590 (16 standard errors)"},
			{"apatite", "birefringence 0.008 is above its largest of 0.006"}},
		NotSeparated: []string{"irradiated and untreated topaz"},
		Next: []NextTest{{Test: "hydrostatic weighing of a second stone", Minutes: 2, Bits: 0.4,
			Splits: []string{"topaz from tourmaline"}, Why: "2 minutes"}},
		Facets: []FacetFinding{{Facet: "nature", How: "no bench test proves it"}}}}
	open := TestedStone{Stone: "1", Drawn: "random", Standing: "claim among others", Chance: 0.93, Case: Case{Name: "1",
		Headline: "beryl, 93.0 %: likely", Considered: 132, Candidates: []Candidate{{Species: "beryl", Share: 1}}}}
	chance, expected, bound, upper := 0.0214, 11.3, 1.0, 12
	loss, most := eur("284.30"), eur("302.00")
	return &Identity{Explain: explain, Head: h, Scope: "lots whose state is not verified", Lots: []LotIdentity{{
		Lot: "P1-7", Claim: "aquamarine", State: "contradicted", Tested: 3, Of: 12, Chance: &chance,
		Expected:   &expected,
		UpperBound: &bound, UpperCount: &upper, Confidence: 0.95, ExpectedLoss: &loss, LossBound: &most,
		Reasons: []string{"all three tested stones exclude beryl", "they read as topaz"},
		Stones:  []TestedStone{open, stone},
		Facets: []NamedFacet{{"species", Facet{"topaz", book.Tested}}, {"nature", Facet{"natural", book.Stated}},
			{"treatment", Facet{}}, {"origin", Facet{}}},
		Chart: &IdentityChart{Boxes: []ChartBox{{"topaz", true, 3.49, 3.57, 1.606, 1.644, false},
			{"tourmaline", true, 3.0, 3.26, 1.614, 1.666, false}, {"beryl", false, 2.66, 2.80, 1.562, 1.602, true},
			{"apatite", false, 3.16, 3.23, 1.628, 1.649, false}},
			Stones: []ChartStone{{"stone 1", 3.55, 0.02, 1.619, 1.627, 0.0018}}}}}}
}

// sampleBooks are the other documents, rendered once.
var sampleBooks = func() func(t *testing.T) map[string][]byte {
	var once sync.Once
	var books map[string][]byte
	return func(t *testing.T) map[string][]byte {
		once.Do(func() { books = renderBooks(t) })
		return maps.Clone(books)
	}
}()

func renderBooks(t *testing.T) map[string][]byte {
	t.Helper()
	out := map[string][]byte{}
	for name, make := range map[string]func() (*sheet.Workbook, error){
		"order": sampleOrder().Workbook, "care": sampleCards(t).Workbook, "valuation": sampleValue().Workbook,
		"matrix": sampleMatrix().Workbook, "identity": sampleIdentity(false).Workbook,
		"invoice": sampleInvoice().Workbook, "statement": sampleStatement().Workbook,
		"memo": sampleMemoNote().Workbook, "receipt": sampleReceipt().Workbook,
		"credit note": sampleCreditNote().Workbook, "ticket": sampleTicket().Workbook,
		"count": sampleCountSheet().Workbook, "transfer": sampleTransfer().Workbook,
		"order receipt": sampleOrderReceipt().Workbook, "work receipt": sampleWorkReceipt().Workbook} {
		b, err := make()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		out[name] = writeBook(t, b)
	}
	list := sampleStock()
	doubt := StockInDoubt{*list, *sampleIdentity(false)}
	b, err := doubt.Workbook()
	if err != nil {
		t.Fatal(err)
	}
	out["stock with doubts"] = writeBook(t, b)
	var raw bytes.Buffer
	i := 0
	if err := list.WriteXLSX(&raw, func() (*StockRow, bool) {
		if i == len(list.Lots) {
			return nil, false
		}
		i++
		return &list.Lots[i-1], true
	}); err != nil {
		t.Fatal(err)
	}
	out["stock"] = raw.Bytes()
	return out
}

func TestDocuments_Cells(t *testing.T) {
	for name, raw := range sampleBooks(t) {
		t.Run(name, func(t *testing.T) {
			keep(t, name, raw)
			golden(t, name+".txt", readXLSX(t, raw).dump())
		})
	}
}

func TestDocuments_Text(t *testing.T) {
	for name, text := range map[string]string{"proposal": sampleProposal(t).Text(), "order": sampleOrder().Text(),
		"care": sampleCards(t).Text(), "valuation": sampleValue().Text(),
		"identity": sampleIdentity(false).Text(), "identity_explained": sampleIdentity(true).Text()} {
		golden(t, name+".text", text)
	}
}

func TestDocuments_JSON(t *testing.T) {
	for name, make := range map[string]func() ([]byte, error){"proposal": sampleProposal(t).JSON,
		"order": sampleOrder().JSON, "care": sampleCards(t).JSON} {
		raw, err := make()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if !bytes.HasPrefix(raw, []byte(`{"schema":"lotpaper/`)) || !bytes.HasSuffix(raw[:bytes.IndexByte(raw, ',')],
			[]byte(`/1"`)) {
			t.Errorf("%s starts with %.60s", name, raw)
		}
	}
}

// Each caution is said once in each document that it concerns.
func TestDocuments_CautionsOnce(t *testing.T) {
	books := sampleBooks(t)
	for name, want := range map[string][]string{"order": {cautionDust}, "valuation": {cautionValue},
		"identity": {cautionTests}, "stock": {cautionValue}} {
		text := readXLSX(t, books[name]).dump()
		for _, c := range want {
			if n := strings.Count(text, c); n != 1 {
				t.Errorf("%s: said %d times: %s", name, n, c)
			}
		}
	}
	cards := readXLSX(t, books["care"])
	for _, name := range cards.names { // a card is a document of its own
		n := 0
		for _, c := range cards.cells[name] {
			if c.Value == cautionCare {
				n++
			}
		}
		if n != 1 {
			t.Errorf("card %s: the caution is said %d times", name, n)
		}
	}
}

// What a user typed is always a text cell, whatever it looks like.
func TestDocuments_UserTextIsText(t *testing.T) {
	for _, c := range readXLSX(t, sampleBooks(t)["stock"]).cells["Stock"] {
		if strings.HasPrefix(c.Value, "=") && (c.Formula != "" || c.Type == "n" || c.Type == "") {
			t.Errorf("%s is a formula: %s", c.Ref, c.Value)
		}
	}
}

// A care card is never weaker than the stone's own special care: the words
// stand beside the stone.
func TestCareCards_SpecialCareBesideStone(t *testing.T) {
	c := sampleCards(t)
	text := c.Text()
	for _, card := range c.Cards {
		for _, s := range card.Stones {
			if s.SpecialCare != "" && !strings.Contains(text, sentence(s.SpecialCare)) {
				t.Errorf("%s: %q is not said", card.Design, s.SpecialCare)
			}
			if s.Assumed != "" && !strings.Contains(text, "usual treatment assumed: "+s.Assumed) {
				t.Errorf("%s: the assumed treatment is not said", card.Design)
			}
		}
	}
}

// The Return sheet has the columns that the order is read back by, and a line
// for every lot that was sent.
func TestCutterOrder_Return(t *testing.T) {
	f := readXLSX(t, sampleBooks(t)["order"])
	for i, h := range ReturnHeaders {
		if got := f.cell(t, ReturnSheet, sheet.Ref(i+1, 1)).Value; got != h {
			t.Errorf("column %d is %q, want %q", i+1, got, h)
		}
	}
	for i, s := range sampleOrder().Supplied {
		if got := f.cell(t, ReturnSheet, sheet.Ref(4, 2+i)).Value; got != s.Lot {
			t.Errorf("line %d is for lot %q, want %q", i+1, got, s.Lot)
		}
	}
}

// Settings of one reason share a line, and no verdict is lost by it.
func TestMatrix_ReasonsShareLines(t *testing.T) {
	m := sampleMatrix()
	for _, r := range m.Rows {
		n := 0
		for _, g := range r.reasons(m.Settings) {
			n += len(g.settings)
			for i, s := range m.Settings {
				want := r.Cells[i]
				want.Setting = ""
				if slices.Contains(g.settings, s) && want != g.MatrixCell {
					t.Errorf("%s in %s is told as %v", r.Lot, s, g.MatrixCell)
				}
			}
		}
		want := 0
		for _, c := range r.Cells {
			if c.Level != durability.Sound {
				want++
			}
		}
		if n != want {
			t.Errorf("%s: %d verdicts have a reason, want %d", r.Lot, n, want)
		}
	}
}

// Lots of which the same must be told share a line with their weight in total;
// lots that differ in one word never do.
func TestDisclosure_SharesLines(t *testing.T) {
	p := sampleProposal(t)
	before := len(p.told())
	twin := p.Stones[0]
	twin.Lot = "P1-1.9"
	p.Stones = append(p.Stones, twin)
	told := p.told()
	if len(told) != before || !strings.HasSuffix(told[0].lot, ", P1-1.9") {
		t.Errorf("%d lines, first for %q", len(told), told[0].lot)
	}
	p.Stones[len(p.Stones)-1].Treatment = Facet{Value: "none", Basis: book.Stated}
	if n := len(p.told()); n != before+1 {
		t.Errorf("a lot with another treatment shares a line: %d lines, want %d", n, before+1)
	}
	var carats num.Carat
	for _, l := range p.told() {
		carats += l.carats
	}
	var all num.Carat
	for _, s := range p.Stones {
		all += s.Carats
	}
	if carats != all {
		t.Errorf("%s ct are told, want %s", carats, all)
	}
}

// Sums of a valuation are those of its rows, and a loss is never set against a
// gain (IAS 2, Inventories, item by item).
func TestStockValue_ItemByItem(t *testing.T) {
	v := sampleValue()
	b, err := v.Workbook()
	if err != nil {
		t.Fatal(err)
	}
	want := num.Zero("EUR")
	for _, r := range v.Rows {
		want = want.Add(r.WriteDown)
	}
	if want.Cmp(eur("56.25")) != 0 { // 306.35 - 250.10; the topaz's gain of 61.62 does not count
		t.Fatalf("write-down is %s, want 56.25", want)
	}
	f := readXLSX(t, writeBook(t, b))
	for _, c := range f.cells["Valuation"] {
		if c.Formula != "" && strings.HasPrefix(c.Formula, "SUM(Items!$L$") && strings.HasSuffix(c.Formula,
			fmt.Sprintf("$L$%d)", 4+len(v.Rows))) && strings.Contains(c.Formula, "$L$5:") && c.Value != "56.25" {
			t.Errorf("%s = %s gives %s, want 56.25", c.Ref, c.Formula, c.Value)
		}
	}
}

// A long stock list is streamed: its memory does not grow with its rows.
func TestStockList_Streams(t *testing.T) {
	list := sampleStock()
	rows := list.Lots
	grow := func(n int) uint64 {
		var w countWriter
		i := 0
		runtime.GC()
		var before, now, peak runtime.MemStats
		runtime.ReadMemStats(&before)
		if err := list.WriteCSV(&w, func() (*StockRow, bool) {
			if i == n {
				return nil, false
			}
			if i++; i == n {
				runtime.GC()
				runtime.ReadMemStats(&peak)
			}
			r := rows[i%len(rows)]
			r.Code = "P1-" + strconv.Itoa(i)
			return &r, true
		}); err != nil {
			t.Fatal(err)
		}
		runtime.ReadMemStats(&now)
		if w == 0 {
			t.Fatal("nothing was written")
		}
		return max(peak.HeapAlloc, before.HeapAlloc) - before.HeapAlloc
	}
	small, large := grow(200), grow(20000)
	if large > small+1<<20 {
		t.Errorf("200 rows hold %d bytes, 20,000 hold %d", small, large)
	}
}

type countWriter int

func (w *countWriter) Write(b []byte) (int, error) { *w += countWriter(len(b)); return len(b), nil }
