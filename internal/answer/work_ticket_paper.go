package answer

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/cutting"
	"lotpaper/internal/num"
	paper "lotpaper/internal/page"
)

// Layout is the ticket as a paper for the bench: the places of the stones, the order
// of work and what must never be done, over columns for what comes back.
func (t *WorkTicket) Layout() *paper.Paper {
	var pieces int64
	var carats num.Carat
	for _, x := range t.Stones {
		if !x.Piece && x.In == "" {
			pieces, carats = pieces+x.Pieces, carats+x.Carats
		}
	}
	facts := []paper.Fact{fact("Out", dayText(t.On))}
	if t.Due != "" {
		facts = append(facts, fact("Back by", dayText(t.Due)))
	}
	facts = append(facts, fact("Stones", valueText(paper.Body, paper.Count, num.Int(pieces), 0)),
		fact("Carats", valueText(paper.Body, paper.Carats, carats.Dec(), 3)))
	p := t.compact("Work ticket", t.Ticket, joined(" ", t.Dealer, "to", t.To+":", workWords[t.Work]), facts...)

	care := t.care()
	beside := slices.Concat(t.stepBlock(), t.neverBlock())
	blocks := []paper.Block{t.made()}
	left := slices.Concat(t.drawn(), care)
	if few := len(care) == 0 || len(care[0].Rows) <= mostMarks; few && len(left) > 0 && len(beside) > 0 {
		beside = []paper.Block{{Columns: []paper.Column{{Width: drawnBox}, {}}, Rows: []paper.Row{{Space: 2,
			Cells: []paper.Cell{{Blocks: left}, {Blocks: beside}}}}}}
	} else {
		beside = slices.Concat(left, beside)
	}
	blocks = slices.Concat(blocks, beside, []paper.Block{subhead("Stones out and back"), t.outAndBack(pieces, carats)})
	bench := cautionBench
	switch t.Work {
	case string(book.WorkMake), string(book.WorkRepair):
		blocks = append(blocks, subhead("Metal out and back"), t.metal())
	case string(book.WorkLaboratory):
		bench = ""
	}
	end := terms(24, [2]string{"To do", t.Note}, [2]string{"Back", "count and weigh what comes with this ticket, and " +
		"say at once what differs. What is not set comes back, and every part of what broke. Breakage is " +
		t.Breakage},
		[2]string{"Safety", bench})
	end = append(end, signatures(paper.Signature{Who: "Out: " + t.signer(), What: "date, signature"},
		paper.Signature{Who: "Received: " + t.To, What: "date, signature"},
		paper.Signature{Who: "Came back, counted and weighed", What: "date, signature"}))
	p.Parts = []paper.Part{{Blocks: blocks, End: end}}
	return p
}

// drawn are the places of the piece in a frame.
func (t *WorkTicket) drawn() []paper.Block {
	drawing, words := t.drawing()
	if drawing == nil {
		return nil
	}
	inside := paper.Block{Columns: []paper.Column{{Align: paper.Centre}}, Rows: []paper.Row{
		{Cells: []paper.Cell{{Drawing: drawing}}},
		{Space: 2.5, Cells: []paper.Cell{say(paper.Note, words)}}}}
	return []paper.Block{{Rows: []paper.Row{{Cells: []paper.Cell{{Frame: paper.Hairline, Inset: 3,
		Height: drawing.Height + 18, Blocks: []paper.Block{inside}}}}}}}
}

// care says of each stone which steps need caution and why others are forbidden, and
// what of the stones can hurt people.
func (t *WorkTicket) care() []paper.Block {
	b := paper.Block{Columns: []paper.Column{{Width: 16}, {}}}
	add := func(style paper.Style, label, words string) {
		if words != "" {
			b.Rows = append(b.Rows, paper.Row{Space: 1.2, Cells: []paper.Cell{say(style, label), say(paper.Fine,
				printed(words))}})
		}
	}
	var order []string
	whose := map[string][]string{}
	for i, x := range t.Stones {
		words, m := x.careWords(), t.mark(i)
		if !slices.Contains(order, words) {
			order = append(order, words)
		}
		if !slices.Contains(whose[words], m) {
			whose[words] = append(whose[words], m)
		}
	}
	for _, words := range order {
		add(paper.FineStrong, manyNamed(whose[words], ", ", "lots"), words)
	}
	if people := HazardWords(t.people()); len(people) > 0 {
		add(paper.FineStrong, "Danger", joined(" ", append(sentences(people), "Local rules come first.")...))
	}
	if len(b.Rows) == 0 {
		return nil
	}
	b.Rows[0].Space = 3
	return []paper.Block{b}
}

func sentences(words []string) []string {
	var out []string
	for _, w := range words {
		out = append(out, sentence(w))
	}
	return out
}

// printed are words of the bench as they are printed: 10×, 30 %.
func printed(words string) string {
	return strings.NewReplacer(" pct", noBreak+"%", "10x", "10×").Replace(words)
}

// drawnBox is the width of the box that the places of a piece are drawn in, mm.
const drawnBox = 85

// subhead begins a group of a paper, and stays with what it heads.
func subhead(words string) paper.Block {
	return paper.Block{Rows: []paper.Row{{Space: 4.5, Keep: true, Cells: []paper.Cell{say(paper.Heading, words)}}}}
}

// made names what is made or worked on.
func (t *WorkTicket) made() paper.Block {
	_, design, _ := strings.Cut(t.Design, "/")
	name, rest := cmp.Or(design, capital(workWords[t.Work])), t.Made
	if t.Into != "" {
		name, rest, _ = strings.Cut(t.Into, ", ")
	}
	return paper.Block{Rows: []paper.Row{{Pad: 1.2, Cells: []paper.Cell{{Text: withText(textOf(paper.Job, name),
		textOf(paper.Body, rest))}}}}}
}

// withText keeps the paragraphs that have words.
func withText(all ...paper.Text) []paper.Text {
	return slices.DeleteFunc(all, func(t paper.Text) bool { return t.Words == "" })
}

// benchmarks stands before measures for the setter among the steps of the work.
const benchmarks = "Benchmarks "

// stepBlock is the order of work with a box to tick at each step.
func (t *WorkTicket) stepBlock() []paper.Block {
	b := paper.Block{Columns: []paper.Column{{Width: 8.5}, {Width: 7}, {}}}
	var notes []string
	for _, step := range t.Steps {
		words := step.Words
		if whose := t.marks(step.Lots); whose != "" {
			words = whose + ": " + strings.ToLower(words[:1]) + words[1:]
		}
		words = printed(words)
		if strings.HasPrefix(step.Words, benchmarks) {
			notes = append(notes, words)
			continue
		}
		b.Rows = append(b.Rows, paper.Row{Space: 1, Cells: []paper.Cell{cellOf(paper.Text{Mark: paper.Tick}),
			say(paper.Body, strconv.Itoa(len(b.Rows)+1)), say(paper.Body, words)}})
	}
	if len(b.Rows) == 0 {
		return nil
	}
	out := []paper.Block{subhead("Order of work"), b}
	if len(notes) > 0 {
		small := lines(paper.Small, notes...)
		small[0].Rows[0].Space = 1.5
		out = append(out, small...)
	}
	return out
}

// marks name the lots of a step that is not for all stones.
func (t *WorkTicket) marks(lots []string) string {
	var marks []string
	all := true
	for i, x := range t.Stones {
		if len(x.Order) == 0 {
			continue
		}
		if !slices.Contains(lots, x.Lot) {
			all = false
		} else if m := t.mark(i); !slices.Contains(marks, m) {
			marks = append(marks, m)
		}
	}
	if all {
		return ""
	}
	return manyNamed(marks, ", ", "lots")
}

// mostMarks is how many stones are named one by one where a word is for several.
const mostMarks = 4

// manyNamed are some names, or how many they are.
func manyNamed(names []string, between, what string) string {
	if len(names) > mostMarks {
		return strconv.Itoa(len(names)) + " " + what
	}
	return strings.Join(names, between)
}

// mark names a stone in the order of work: by its place, else by its lot.
func (t *WorkTicket) mark(i int) string {
	if letter := t.letter(i); letter != "" {
		return letter
	}
	return t.Stones[i].Lot
}

// letter is the letter of a stone's place in the piece, the same for all stones of
// that place; empty: its place is not known.
func (t *WorkTicket) letter(i int) string {
	if t.Stones[i].Position == "" {
		return ""
	}
	var seen []string
	for _, x := range t.Stones[:i+1] {
		if x.Position != "" && !slices.Contains(seen, x.Position) {
			seen = append(seen, x.Position)
		}
	}
	return strings.ToLower(book.ItemName(slices.Index(seen, t.Stones[i].Position)))
}

// neverBlock is what must never be done, in the only thick frame of the papers.
func (t *WorkTicket) neverBlock() []paper.Block {
	var steps []string
	whose := map[string][]string{}
	add := func(step string, i int) {
		if !slices.Contains(steps, step) {
			steps = append(steps, step)
		}
		if m := t.mark(i); !slices.Contains(whose[step], m) {
			whose[step] = append(whose[step], m)
		}
	}
	for i, x := range t.Stones {
		for _, words := range x.Never {
			step, _ := splitStep(words)
			add(step, i)
		}
		if x.unjudged() {
			for _, words := range x.Risks {
				add(words, i)
			}
		}
	}
	if len(steps) == 0 {
		return nil
	}
	frame := paper.Cell{Frame: paper.Thick, Inset: 3, Text: []paper.Text{textOf(paper.Heading, "Never on this piece")}}
	for _, step := range steps {
		in, named := step+", once "+spoken(whose[step])+" is in", spoken(whose[step])
		switch n := len(whose[step]); {
		case n > mostMarks:
			in, named = step+", once a stone is in", manyNamed(whose[step], "", "lots")
		case n > 1:
			in = step + ", once " + named + " are in"
		}
		words := in
		if strings.Contains(step, ":") {
			words = named + ": " + step
		}
		frame.Text = append(frame.Text, paper.Text{Words: words, Mark: paper.Cross})
	}
	return []paper.Block{{Rows: []paper.Row{{Space: 5, Cells: []paper.Cell{frame}}}}}
}

// unjudged reports whether nothing is known of a stone but that it is at risk.
func (x *TicketStone) unjudged() bool { return len(x.Never)+len(x.Guarded) == 0 && len(x.Order) == 0 }

// splitStep parts a step of the bench from the reason for its word: "torch: it burns".
func splitStep(words string) (step, reason string) {
	step, reason, _ = strings.Cut(words, ": ")
	for _, w := range stepWords {
		if w.step == step {
			return strings.TrimPrefix(strings.TrimPrefix(w.words, "an "), "a "), reason
		}
	}
	return words, ""
}

// spoken are some names in a sentence: "a", "a and b", "a, b and c".
func spoken(names []string) string {
	last := len(names) - 1
	if last < 1 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:last], ", ") + " and " + names[last]
}

// careWords say which steps need caution for a stone, what breaks it, and why some
// are forbidden.
func (x *TicketStone) careWords() string {
	var never, why, out []string
	for _, words := range x.Never {
		if _, reason := splitStep(words); reason != "" && !slices.Contains(why, reason) {
			never, why = append(never, words), append(why, reason)
		}
	}
	if len(never) > 0 {
		out = append(out, "Never "+strings.Join(never, "; ")+".")
	}
	if len(x.Guarded) > 0 {
		out = append(out, "With care "+strings.Join(x.Guarded, "; ")+".")
	}
	if !x.unjudged() {
		for _, l := range x.warnings() {
			if l[0] == breaks {
				out = append(out, l[1])
			}
		}
	}
	if len(out) == 0 {
		return ""
	}
	return capital(x.tradeName()) + ". " + strings.Join(out, " ")
}

// tradeName is a stone's name without the mineralogist's word beside it.
func (x *TicketStone) tradeName() string {
	if x.Piece { // its code stands beside it
		return strings.TrimPrefix(x.Material, x.Lot+", ")
	}
	name, _, _ := strings.Cut(x.Material, " (")
	return name
}

// outAndBack are the stones with columns to write in what became of them.
func (t *WorkTicket) outAndBack(pieces int64, carats num.Carat) paper.Block {
	back := []paper.Column{{Header: "Set", Width: 14}, {Header: "Back loose pieces, ct", Width: 20},
		{Header: "Broken pieces", Width: 16}}
	if t.Work == string(book.WorkLaboratory) {
		back = []paper.Column{{Header: "Report", Width: 30}, {Header: "Back, ct", Width: 20}}
	}
	b := paper.Block{Table: paper.WriteTable, Columns: []paper.Column{{Header: "Place", Fit: true},
		{Header: "Paper", Fit: true}, {Header: "Stone"}, {Header: "Size, mm", Fit: true},
		{Header: "Pieces out", Width: 12, Align: paper.Right}, {Header: "Carats out", Width: 16, Align: paper.Right},
		{Width: 3}}}
	for _, c := range back {
		c.Align, c.Edge = paper.Centre, paper.Pen
		b.Columns = append(b.Columns, c)
	}
	for i, x := range t.Stones {
		name := x.tradeName()
		if !x.Piece {
			name = joined(", ", name, x.Shape)
		}
		place := paper.Cell{Text: withText(textOf(paper.Strong, t.letter(i)), textOf(paper.Small, x.goes()))}
		weight := cellOf(valueText(paper.Body, paper.Carats, x.Carats.Dec(), 3))
		if x.Carats == 0 {
			weight = paper.Cell{}
		}
		cells := []paper.Cell{place, say(paper.Strong, x.Lot), say(paper.Body, name),
			say(paper.Body, sidesApart(x.Shape, x.Size)), countCell(x.Pieces), weight}
		b.Rows = append(b.Rows, paper.Row{Cells: append(cells, make([]paper.Cell, 1+len(back))...)})
	}
	total := []paper.Cell{{Span: 4, Text: []paper.Text{textOf(paper.Strong, "All loose stones")}},
		cellOf(valueText(paper.Strong, paper.Count, num.Int(pieces), 0)),
		cellOf(valueText(paper.Strong, paper.Carats, carats.Dec(), 3))}
	b.Rows = append(b.Rows, paper.Row{Total: true, Pad: 1, Cells: append(total, make([]paper.Cell, 1+len(back))...)})
	return b
}

// sidesApart is a size in a narrow column: a line may end after each side.
func sidesApart(shape, size string) string {
	return strings.ReplaceAll(bareSize(shape, size), "×"+noBreak, "× ")
}

// metal is a row to write in the metal that goes out and comes back.
func (t *WorkTicket) metal() paper.Block {
	b := paper.Block{Table: paper.WriteTable, Columns: []paper.Column{{Header: "Grams"}}}
	for _, head := range []string{"Out", "Pieces back", "Scrap back", "Filings back", "Missing"} {
		b.Columns = append(b.Columns, paper.Column{Header: head, Width: 24, Align: paper.Centre, Edge: paper.Pen})
	}
	b.Rows = []paper.Row{{Cells: append([]paper.Cell{say(paper.Body, "metal and solder")}, make([]paper.Cell, 5)...)}}
	return b
}

// drawing is the places of the stones that are known, a row for each, and how large
// they are drawn.
func (t *WorkTicket) drawing() (*paper.Drawing, string) {
	var rows []drawnStones
	seen := map[string]bool{}
	for i, x := range t.Stones {
		letter := t.letter(i)
		shape, fault := cutting.ParseShape(x.Shape)
		length, width := middleSize(x.Size)
		if letter == "" || seen[letter] || fault != nil || length == 0 {
			continue
		}
		seen[letter] = true
		if isRound(x.Shape) {
			width = length
		}
		pieces := int(x.Pieces)
		for _, y := range t.Stones[i+1:] {
			if y.Position == x.Position {
				pieces += int(y.Pieces)
			}
		}
		if pieces > mostInRow {
			pieces = 1
		}
		rows = append(rows, drawnStones{pieces, shape, length, width, letter})
	}
	d, words := drawAny(rows, drawnBox-12, 66)
	if d != nil {
		words = strings.TrimPrefix(words, "stones ") + ", from above"
	}
	return d, words
}
