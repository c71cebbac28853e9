package answer

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/durability"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// StoneAtWork is what whoever works on stones must know of them.
type StoneAtWork struct {
	Position string           `json:"position"` // of the design that they are for
	Setting  string           `json:"setting"`
	Level    durability.Level `json:"level"`   // how easily they break while they are set
	Risks    []string         `json:"risks"`   // what breaks them
	Order    []string         `json:"order"`   // the order of the work
	Never    []string         `json:"never"`   // steps that must never touch them
	Guarded  []string         `json:"guarded"` // steps that need caution
	People   []PeopleHazard   `json:"people"`
}

// NoWork says nothing of stones at work.
func NoWork() StoneAtWork {
	return StoneAtWork{Risks: []string{}, Order: []string{}, Never: []string{}, Guarded: []string{},
		People: []PeopleHazard{}}
}

// WorkTicket is what a setter, a goldsmith or a laboratory gets with the stones:
// what goes where, in which order, and what can go wrong. It holds no cost, no
// vendor, no owner and no customer.
type WorkTicket struct {
	Head
	Ticket   string        `json:"ticket"` // W4
	To       string        `json:"to"`
	Work     string        `json:"work"` // set, make, repair, laboratory
	Due      book.Date     `json:"due"`
	Into     string        `json:"into"`   // the piece, in words; empty: none
	Design   string        `json:"design"` // that a piece is made by
	Made     string        `json:"made"`   // what the design makes: "ring, gold 750, about 4.20 g of metal"
	Breakage string        `json:"breakage"`
	Stones   []TicketStone `json:"stones"`
	Steps    []TicketStep  `json:"steps"` // of all stones, in the order of the work
	Note     string        `json:"note"`
}

// TicketStone is stones, or a piece, on a ticket.
type TicketStone struct {
	Lot       string    `json:"lot"`
	Material  string    `json:"material"`
	Treatment string    `json:"treatment"`
	Shape     string    `json:"shape"`
	Size      string    `json:"size"`
	Pieces    int64     `json:"pieces"`
	Carats    num.Carat `json:"carats"`
	In        string    `json:"in"`    // the piece that they are in already
	Piece     bool      `json:"piece"` // a finished piece, not stones
	StoneAtWork
}

// TicketStep is one step of the work, and the lots that it is for.
type TicketStep struct {
	Words string   `json:"words"`
	Lots  []string `json:"lots"`
}

// JSON is the model's canonical form: lotpaper/work-ticket/1.
func (t *WorkTicket) JSON() ([]byte, error) { return encode("lotpaper/work-ticket/1", t) }

// Plan puts the steps of all stones into one order of work.
func (t *WorkTicket) Plan() {
	var order []string
	for _, x := range t.Stones {
		order = durability.InOrder(order, x.Order)
	}
	t.Steps = []TicketStep{}
	for _, words := range order {
		step := TicketStep{Words: words, Lots: []string{}}
		for _, x := range t.Stones {
			if slices.Contains(x.Order, words) {
				step.Lots = append(step.Lots, x.Lot)
			}
		}
		t.Steps = append(t.Steps, step)
	}
}

// goes says where stones go: "center, prong", "in J7".
func (x *TicketStone) goes() string {
	if x.In != "" {
		return "in " + x.In + " now"
	}
	return strings.Join(fields(x.Position, x.Setting), ", ")
}

// workWords are what a ticket asks for.
var workWords = map[string]string{
	string(book.WorkSet):        "set the stones",
	string(book.WorkMake):       "make the piece and set the stones",
	string(book.WorkRepair):     "repair",
	string(book.WorkLaboratory): "a laboratory's report on each stone",
}

// Workbook is the ticket as a workbook: what goes where, the order of work, the
// risks and the dangers to people.
func (t *WorkTicket) Workbook() (*sheet.Workbook, error) {
	const wide = 6
	live := newTally(t.Currency)
	s := &page{Sheet: sheet.Sheet{Name: "Work ticket", Title: t.Title, Columns: []sheet.Col{{Width: 13}, {Width: 25},
		{Width: 19}, {Width: 9}, {Width: 11}, {Width: 22}}}}
	s.pairs(wide-1, withValue(append(t.origin(), [2]string{"Ticket", t.Ticket}, [2]string{"To", t.To},
		[2]string{"Work", workWords[t.Work]}, [2]string{"Piece", t.Into},
		[2]string{"Design", joined(": ", t.Design, t.Made)},
		[2]string{"Due", string(t.Due)}, [2]string{"Breakage", t.Breakage}, [2]string{"To do", t.Note})))
	if people := HazardWords(t.people()); len(people) > 0 {
		s.gap()
		s.section(peopleTitle, wide)
		for _, words := range people {
			s.add(styled(sentence(words), sheet.Alert).across(wide)...)
		}
	}
	s.gap()
	s.section("What goes where", wide)
	s.add(styled("Lot", sheet.Header), styled("Stones", sheet.Header), styled("Size (mm)", sheet.Header),
		number("Pieces"),
		number("By scale (ct)"), styled("Where", sheet.Header))
	for _, x := range t.Stones {
		weight := plain(sheet.Carats(x.Carats))
		if x.Carats == 0 {
			weight = plain(sheet.Empty())
		}
		s.add(styled(x.Lot, sheet.Strong), text(x.words()), text(x.Size), whole(x.Pieces), weight, text(x.goes()))
	}
	if len(t.Steps) > 0 {
		s.gap()
		s.section("Order of work", wide)
		for i, step := range t.Steps {
			s.add(append(append([]cell{styled(fmt.Sprint(i+1), sheet.Label)}, text(step.Words).across(wide-2)...),
				text(t.whose(step)))...)
		}
	}
	for _, x := range t.Stones {
		lines := x.warnings()
		if len(lines) == 0 {
			continue
		}
		s.gap()
		s.section(x.Lot+", "+x.Material, wide)
		for _, l := range lines {
			style := sheet.Label
			if l[0] == never {
				style = sheet.Alert
			}
			s.add(append([]cell{styled(l[0], style)}, text(l[1]).across(wide-1)...)...)
		}
	}
	s.gap()
	s.notes(wide, "Count and weigh what comes with this ticket, and say at once what differs. Everything comes back "+
		"with "+
		"the number of the ticket: what is set, what is not, and every part of what broke.")
	if t.Work != string(book.WorkLaboratory) {
		s.notes(wide, cautionBench)
	}
	return assemble(t.Head, live, []*page{s})
}

// never stands before what must not touch a stone, breaks before what breaks it.
const never, breaks = "Never", "Breaks"

// warnings are what breaks the stones and what must not touch them.
func (x *TicketStone) warnings() [][2]string {
	var out [][2]string
	add := func(label string, all []string) {
		for _, words := range all {
			out = append(out, [2]string{label, sentence(words)})
		}
	}
	add(never, x.Never)
	add("With care", x.Guarded)
	if x.Level > durability.Sound || len(x.Never)+len(x.Guarded) == 0 {
		add(breaks, x.Risks)
	}
	return out
}

// words name the stones: "emerald, oil, oval".
func (x *TicketStone) words() string {
	if x.Piece {
		return x.Material
	}
	treatment := cmp.Or(x.Treatment, "treatment not stated")
	if treatment == "none" {
		treatment = "untreated"
	}
	return strings.Join(fields(x.Material, treatment, x.Shape), ", ")
}

// whose are the lots that a step is for, where it is not for all.
func (t *WorkTicket) whose(step TicketStep) string {
	all := 0
	for _, x := range t.Stones {
		if len(x.Order) > 0 {
			all++
		}
	}
	if len(step.Lots) == all {
		return "all"
	}
	return strings.Join(step.Lots, ", ")
}

func (t *WorkTicket) people() []PeopleHazard {
	var out []PeopleHazard
	for _, x := range t.Stones {
		out = append(out, x.People...)
	}
	return out
}

// WorkReceipt is what came back on a work ticket in one go.
type WorkReceipt struct {
	Head
	Ticket string            `json:"ticket"`
	Batch  int64             `json:"batch"`
	From   string            `json:"from"`
	Piece  string            `json:"piece"` // that the stones were set into
	Lines  []WorkReceiptLine `json:"lines"`
	Out    []WorkReceiptLine `json:"out"` // what is still out
	Accept string            `json:"accept"`
}

// WorkReceiptLine is what became of stones of one lot.
type WorkReceiptLine struct {
	Lot     string    `json:"lot"`
	Outcome string    `json:"outcome"`
	Pieces  int64     `json:"pieces"`
	Carats  num.Carat `json:"carats"`
	Claim   bool      `json:"claim"` // claimed from whoever had them
	Note    string    `json:"note"`
}

// JSON is the model's canonical form: lotpaper/work-receipt/1.
func (r *WorkReceipt) JSON() ([]byte, error) { return encode("lotpaper/work-receipt/1", r) }

// Workbook is the receipt as a workbook.
func (r *WorkReceipt) Workbook() (*sheet.Workbook, error) {
	const wide = 5
	s := &page{Sheet: sheet.Sheet{Name: "Receipt", Title: r.Title, Columns: []sheet.Col{{Width: 14}, {Width: 20},
		{Width: 9}, {Width: 12}, {Width: 42}}}}
	s.pairs(wide-1, withValue(append(r.origin(), [2]string{"Ticket", r.Ticket},
		[2]string{"Batch", fmt.Sprint(r.Batch)}, [2]string{"From", r.From}, [2]string{"Piece", r.Piece},
		[2]string{"Accepted because", r.Accept})))
	table := func(title string, lines []WorkReceiptLine) {
		s.gap()
		s.section(title, wide)
		s.add(styled("Lot", sheet.Header), styled("What became of it", sheet.Header), number("Pieces"),
			number("By scale (ct)"), styled("Remarks", sheet.Header))
		for _, l := range lines {
			weight := plain(sheet.Carats(l.Carats))
			if l.Carats == 0 {
				weight = text("not weighed")
			}
			note := l.Note
			if l.Claim {
				note = strings.Join(fields("claimed from "+r.From, note), "; ")
			}
			s.add(styled(l.Lot, sheet.Strong), text(l.Outcome), whole(l.Pieces), weight, text(note))
		}
	}
	table("Came back", r.Lines)
	if len(r.Out) > 0 {
		table("Still out", r.Out)
	} else {
		s.gap()
		s.notes(wide, "Nothing is out on this ticket any more.")
	}
	return assemble(r.Head, newTally(r.Currency), []*page{s})
}

// WorkedWords are what became of stones, in words.
var WorkedWords = map[book.Outcome]string{
	book.Accepted: "back", book.Rejected: "back, rejected", book.Unworked: "back as it went", book.Placed: "set",
	book.Sold: "sold", book.Broken: "broken", book.Missing: "missing", book.Chips: "powder and chips",
}

// DesignWords are what a design makes: "ring, gold 750, about 4.20 g of metal".
func DesignWords(d book.Design) string {
	metal, weight := d.Metal, ""
	if !d.Fineness.IsZero() {
		metal += " " + d.Fineness.String()
	}
	if d.MetalWeight > 0 {
		weight = "about " + d.MetalWeight.String() + noBreak + "g of metal"
	}
	return joined(", ", d.Piece, metal, weight)
}
