package answer

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"lotpaper/internal/book"
	paper "lotpaper/internal/page"
	"lotpaper/internal/pdf"
)

func sampleTicket() *WorkTicket {
	h := sampleHead
	h.Number, h.Title, h.House = "TICKET-2026-0004", "Work ticket W4", sampleHouse
	emerald := NoWork()
	emerald.Position, emerald.Setting = "center", "bezel"
	emerald.Order = []string{"Make the metal first; set this stone after it.", "Look at the stone at 10x.",
		"Set this stone last.", "Benchmarks for the setter: contact 30-50 pct."}
	emerald.Never = []string{"torch: a filler (oil) burns", "ultrasonic: charts refuse it"}
	emerald.Guarded = []string{"plating: the bath before plating takes the filler (oil)"}
	spinel := NoWork()
	spinel.Position, spinel.Setting = "sides", "channel"
	spinel.Order = []string{"Make the metal first; set this stone after it."}
	spinel.Guarded = []string{"torch: sudden heat can crack it"}
	spinel.People = []PeopleHazard{{Stone: "spinel", Hazard: "dust", Advice: "work wet", When: []string{"heated"}}}
	t := &WorkTicket{Head: h, Ticket: "W4", To: "Orla Brand", Work: string(book.WorkMake), Due: "2026-04-08",
		Design: "Sea/Kelp band", Made: "ring, gold 585, about 4.40 g of metal", Breakage: "borne by Orla Brand",
		Note: "sign it inside", Stones: []TicketStone{
			{Lot: "A1", Material: "emerald (beryl)", Treatment: "oil", Shape: "oval", Size: "7.00 x 5.00", Pieces: 1,
				Carats: ct("1.000"), StoneAtWork: emerald},
			{Lot: "A18", Material: "spinel (natural)", Treatment: "none", Shape: "round", Size: "1.95-2.05 x 1.95-2.05",
				Pieces: 6, Carats: ct("0.222"), StoneAtWork: spinel}}}
	t.Plan()
	return t
}

// words are the lines of a laid-out paper in the order in which they are read, and
// how many sheets it takes. LOTPAPER_TEST_PAPERS names a folder that it is written to.
func laidWords(t *testing.T, name string, p *paper.Paper) (lines []string, sheets int) {
	t.Helper()
	all, err := pdf.Sheets(p)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	for _, s := range all {
		for _, w := range s.Words {
			lines = append(lines, w.Words)
		}
	}
	if dir := os.Getenv("LOTPAPER_TEST_PAPERS"); dir != "" {
		var b bytes.Buffer
		if err := pdf.Write(&b, p); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, name+".pdf"), b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return lines, len(all)
}

// A ticket for one piece takes one sheet in both sizes, and says what it is kept to
// say.
func TestWorkTicket_Layout(t *testing.T) {
	for _, size := range []string{"A4", "Letter"} {
		x := sampleTicket()
		x.House.Paper = size
		words, sheets := laidWords(t, "ticket-"+size, x.Layout())
		if sheets != 1 {
			t.Errorf("%d sheets of %s", sheets, size)
		}
		if size == "A4" {
			golden(t, "ticket.paper.txt", strings.Join(words, "\n")+"\n")
		}
	}
}

// The other kinds of tickets: stones without places, a piece that goes out with what
// is in it, a stone that nobody knows, a laboratory, and more lots than a sheet holds.
func TestWorkTicket_LayoutOfOthers(t *testing.T) {
	plain := func(change func(*WorkTicket)) *WorkTicket {
		x := sampleTicket()
		x.Design, x.Made, x.Due, x.Note, x.House = "", "", "", "", book.House{Paper: "A4"}
		for i := range x.Stones {
			x.Stones[i].Position = ""
		}
		change(x)
		x.Plan()
		return x
	}
	for name, c := range map[string]struct {
		ticket         *WorkTicket
		sheets         int
		says, saysNone []string
	}{
		"set": {plain(func(x *WorkTicket) { x.Work = "set" }), 1, []string{"Set the stones", "torch, once A1 is in",
			"A1: set this stone last."}, []string{"Metal out and back"}},
		"piece": {plain(func(x *WorkTicket) {
			x.Work, x.Into = "repair", "J7, ring, gold 750, size 54"
			x.Stones[0].In, x.Stones[0].Order = "J7", []string{}
			x.Stones = append(x.Stones, TicketStone{Lot: "J7", Material: "J7, ring, gold 750, size 54", Pieces: 1,
				Piece: true, StoneAtWork: NoWork()})
		}), 1, []string{"J7", "ring, gold 750, size 54", "in J7 now", "Metal out and back"}, nil},
		"unknown": {plain(func(x *WorkTicket) {
			x.Work = "set"
			x.Stones[0].StoneAtWork = NoWork()
			x.Stones[0].Risks = []string{"what it is, is not known: no heat and no bath until it is"}
		}), 1, []string{"Never on this piece", "A1: what it is, is not known: no heat and no bath",
			"until it is"}, nil},
		"laboratory": {plain(func(x *WorkTicket) {
			x.Work = "laboratory"
			for i := range x.Stones {
				x.Stones[i].StoneAtWork = NoWork()
			}
			x.Stones = x.Stones[:1]
		}), 1, []string{"A laboratory's report on each stone", "Report"}, []string{"Never on this piece", "Safety",
			"Order of work", "Set"}},
		"forty": {plain(func(x *WorkTicket) {
			one := x.Stones[1]
			one.Size, one.Material = "10.05-10.15 x 10.05-10.15 x 6.05-6.15", "cat's-eye chrysoberyl (chrysoberyl)"
			for i := range 38 {
				one.Lot = fmt.Sprintf("P12-%d.%d", 100+i, i+1)
				x.Stones = append(x.Stones, one)
			}
			x.Work = "set"
		}), 4, []string{"All loose stones", "235"}, nil},
	} {
		words, sheets := laidWords(t, "ticket-"+name, c.ticket.Layout())
		if sheets != c.sheets {
			t.Errorf("%s: %d sheets", name, sheets)
		}
		for _, w := range c.says {
			if !slices.Contains(words, w) {
				t.Errorf("%s: does not say %q: %q", name, w, words)
			}
		}
		for _, w := range c.saysNone {
			if slices.Contains(words, w) {
				t.Errorf("%s: says %q", name, w)
			}
		}
	}
}
