package answer

import (
	"cmp"
	"fmt"
	"strings"

	"lotpaper/internal/chart"
	"lotpaper/internal/formula"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// ReturnSheet is the name of the sheet on which an order comes back: a bare
// table, so that it can be read as any other. ReturnHeaders are its columns:
// what the order states, then what the cutter fills in, from ReturnFilled on. The
// order and the batch stand in cells of every line, so that no line of another
// order, and none that was read before, is booked.
const (
	ReturnSheet  = "Return"
	ReturnFilled = 8
)

// ReturnHeaders are the columns of the Return sheet.
var ReturnHeaders = []string{"Order", "Batch", "Item", "Lot", "Wanted", "Size (mm)", "Sent pieces", "Sent (ct)",
	"Cut pieces", "Cut (ct)", "Length (mm)", "Width (mm)", "Depth (mm)", "From pieces", "From (ct)", "Broken pieces",
	"Uncut pieces back", "Uncut back (ct)", "Rough pieces back", "Rough back (ct)", "Powder and chips back (ct)",
	"Material", "Treatment", "Remarks"}

// Workbook is the order as a workbook: Order, Stones supplied, Outlines at full
// size, Orientation, and the Return sheet to fill in.
func (o *CutterOrder) Workbook() (*sheet.Workbook, error) {
	outlines, err := o.outlinePages()
	if err != nil {
		return nil, fmt.Errorf("order %s: %w", o.Order, err)
	}
	t := newTally(o.Currency)
	layings, err := o.layingPages()
	if err != nil {
		return nil, fmt.Errorf("order %s: %w", o.Order, err)
	}
	pages := append([]*page{o.orderPage(), o.suppliedPage(t)}, append(outlines, layings...)...)
	return assemble(o.Head, t, append(pages, o.returnPage()))
}

// size is the wanted size with its tolerance.
func (w CutterWanted) size() string {
	s := w.Length.String()
	if w.Width > 0 && w.Width != w.Length {
		s += " x " + w.Width.String()
	}
	if w.Tolerance > 0 {
		s += " +/- " + w.Tolerance.String()
	}
	return s
}

// count is the number wanted with the spares in it.
func (w CutterWanted) count() string {
	if w.Spare > 0 {
		return fmt.Sprintf("%d (%d and %d spare)", w.Count+w.Spare, w.Count, w.Spare)
	}
	return fmt.Sprint(w.Count)
}

// lines are the particulars of an item that are stated, by label.
func (w CutterWanted) lines(rule num.CaratRule) [][2]string {
	depth := ""
	if w.DepthHigh.Sign() > 0 {
		depth = w.DepthLow.String() + " to " + w.DepthHigh.String() + " % of the width"
	}
	weight := ""
	if w.Weight > 0 {
		weight = "about " + w.Weight.Stated(rule) + " ct"
		if w.WeightHigh > 0 {
			weight += ", between " + w.WeightLow.Stated(rule) + " and " + w.WeightHigh.Stated(rule) +
				" ct (an estimate, for checking)"
		}
	}
	yield := ""
	if w.MinYield.Sign() > 0 {
		yield = "at least " + w.MinYield.String() + " % of the weight supplied for it"
	}
	all := [][2]string{{"Work", w.Work}, {"Material", w.Material}, {"Treatment", w.Treatment}, {"Shape", w.Shape},
		{"Size, mm", w.size()},
		{"Depth", depth}, {"Pieces", w.count()}, {"Match", w.Match}, {"Color", w.Color}, {"Clarity", w.Clarity},
		{"Cut", w.Style}, {"Orientation", w.Orientation}, {"Finish", w.Finish}, {"Weight each", weight},
		{"Yield", yield}, {"Risk", w.Risk}, {"For", w.For}}
	var out [][2]string
	for _, l := range all {
		if l[1] != "" {
			out = append(out, l)
		}
	}
	return out
}

func (o *CutterOrder) orderPage() *page {
	const wide = 4
	s := &page{Sheet: sheet.Sheet{Name: "Order", Title: o.Title, Columns: []sheet.Col{{Width: 20}, {Width: 29},
		{Width: 20}, {Width: 29}}}}
	head := append(o.origin(), [2]string{"Order", o.Order}, [2]string{"Cutter", o.Cutter},
		[2]string{"Due", string(o.Due)}, [2]string{"Price basis", o.PriceBasis}, [2]string{"Breakage", o.Breakage})
	if o.Line != "" {
		head = append(head, [2]string{"Line", o.Line})
	}
	s.pairs(wide-1, withValue(head))
	if o.Specialist != "" {
		s.gap()
		s.add(styled("Only for a specialist: "+o.Specialist, sheet.Alert).across(wide)...)
	}
	if len(o.People) > 0 {
		s.gap()
		s.section(peopleTitle, wide)
		for _, words := range HazardWords(o.People) {
			s.add(styled(sentence(words), sheet.Alert).across(wide)...)
		}
	}
	for _, w := range o.Wanted {
		s.gap()
		s.section(fmt.Sprintf("Item %s: %d x %s, %s %s mm", w.Item, w.Count+w.Spare, w.Material, w.Shape, w.size()),
			wide)
		short, long := split(w.lines(o.Carats))
		for i := 0; i < len(short); i += 2 {
			row := []cell{styled(short[i][0], sheet.Label), text(short[i][1])}
			if i+1 < len(short) {
				row = append(row, styled(short[i+1][0], sheet.Label), text(short[i+1][1]))
			}
			s.add(row...)
		}
		s.pairs(wide-1, long)
	}
	if len(o.Terms) > 0 || o.Note != "" {
		s.gap()
		s.section("Terms", wide)
		for _, t := range fields(append(o.Terms, o.Note)...) {
			s.add(text(sentence(t)).across(wide)...)
		}
	}
	s.gap()
	s.section("Basis", wide)
	s.pairs(wide-1, o.basis())
	s.notes(wide, "Sizes and outlines: sheet Outlines, printed at 100 %. What comes back is counted, weighed and "+
		"measured against this order: fill in the yellow cells of the sheet Return, one line for each lot that was "+
		"sent (or for each item when nothing was sent). What comes later goes on a sheet of its own, with 2 as its "+
		"batch. Weights to 0.001 ct and sizes from the smallest to the largest, e.g. 6.95-7.05; send the file or a "+
		"print "+
		"of it with the stones.", cautionDust)
	return s
}

// withValue keeps the lines that have a value.
func withValue(lines [][2]string) [][2]string {
	var out [][2]string
	for _, l := range lines {
		if l[1] != "" {
			out = append(out, l)
		}
	}
	return out
}

// split parts short particulars, which share a row, from long ones.
func split(lines [][2]string) (short, long [][2]string) {
	for _, l := range lines {
		if len(l[1]) > 44 {
			long = append(long, l)
		} else {
			short = append(short, l)
		}
	}
	return short, long
}

func (o *CutterOrder) suppliedPage(t *tally) *page {
	s := &page{Sheet: sheet.Sheet{Name: "Stones supplied", Title: "Stones supplied with order " + o.Order,
		Landscape: true, Notes: []string{"By scale, counted and weighed as sent. " + o.caratWords()},
		Columns: []sheet.Col{{Header: "Item", Width: 7}, {Header: "Lot", Width: 13}, {Header: "Material", Width: 22},
			{Header: "Treatment", Width: 18}, {Header: "Shape", Width: 13}, {Header: "Size (mm)", Width: 19},
			{Header: "Pieces", Width: 8}, {Header: "Weight (ct)", Width: 10}, {Header: "By scale (ct)", Width: 10},
			{Header: o.unit("Value"), Width: 11}, {Header: "Owner", Width: 14}, {Header: "Remarks", Width: 20}}}}
	row := func(what string, i int) formula.Key { return formula.At(what, i) }
	for i, x := range o.Supplied {
		t.input(row("scale", i), x.Carats.Dec())
		t.input(row("pieces", i), num.Int(x.Pieces))
		t.formula(row("stated", i), stated(of(row("scale", i)), o.Carats))
		value := plain(sheet.Empty())
		if x.Value.Sign() > 0 {
			value = plain(sheet.Money(x.Value))
		}
		s.add(styled(cmp.Or(x.Item, "any"), sheet.Strong), text(x.Lot), text(x.Material),
			text(cmp.Or(x.Treatment, "not stated")), text(x.Shape), text(x.Size), lives(row("pieces", i), 0),
			lives(row("stated", i), 2), lives(row("scale", i), 3), value, text(x.Owner), text(x.Note))
	}
	if len(o.Supplied) == 0 {
		s.add(text("Nothing is supplied: the cutter finds the material.").across(6)...)
		return s
	}
	for _, what := range []string{"scale", "pieces"} {
		t.sum(formula.Key(what), len(o.Supplied), func(i int) formula.Key { return row(what, i) })
	}
	t.formula("stated", stated(of("scale"), o.Carats))
	s.total(6, lives("pieces", 0), lives("stated", 2), lives("scale", 3))
	return s
}

const (
	outlineWidth  = 170.0 // mm: inside one column of outlineColumn, which fits A4 between its margins
	outlineColumn = 92
	outlineHeight = 250.0
	outlineDPI    = 300
)

// outlinePages draw every wanted outline at full size, one sheet per printed
// page.
func (o *CutterOrder) outlinePages() ([]*page, error) {
	var items []chart.SheetItem
	for _, w := range o.Wanted {
		items = append(items, chart.SheetItem{Outline: outline(w.Outline), Lines: []string{fmt.Sprintf("%s: %s", w.Item,
			w.Shape), w.size() + " mm", fmt.Sprintf("%d pieces", w.Count+w.Spare)}})
	}
	var pages []*page
	for i, drawing := range chart.Sheets(outlineWidth, outlineHeight, o.Number+"  "+o.Title+": outlines at full size",
		items) {
		raw, err := chart.PNG(drawing, outlineDPI)
		if err != nil {
			return nil, fmt.Errorf("outlines: %w", err)
		}
		name := "Outlines"
		if i > 0 {
			name = fmt.Sprintf("Outlines %d", i+1)
		}
		s := &page{Sheet: sheet.Sheet{Name: name, FullScale: true, Columns: []sheet.Col{{Width: outlineColumn}}}}
		s.Pictures = []sheet.Picture{{Name: "Outlines of the wanted stones at full size, with a check bar of 50 mm",
			PNG: raw, Width: outlineWidth, Height: outlineHeight}}
		pages = append(pages, s)
	}
	return pages, nil
}

// layingPages draw how the table or the base of every item lies in the crystal, where
// the material asks for it.
func (o *CutterOrder) layingPages() ([]*page, error) {
	var items []chart.Laying
	for _, w := range o.Wanted {
		if len(w.Laying.Directions) == 0 {
			continue
		}
		l := chart.Laying{Title: fmt.Sprintf("Item %s: %s, %s %s mm", w.Item, w.Material, w.Shape, w.size()),
			Cabochon: w.Laying.Cabochon, Words: w.Laying.Words}
		for _, d := range w.Laying.Directions {
			l.Directions = append(l.Directions, directions[d])
		}
		items = append(items, l)
	}
	var pages []*page
	for n := 1; len(items) > 0; n++ {
		f := chart.Layings{Width: outlineWidth, Head: o.Number + "  " + o.Title + ": how the stones lie in the " +
			"crystal, seen " +
			"from the side", Items: items[:min(len(items), chart.LayingsOnPage)]}
		items = items[len(f.Items):]
		raw, err := chart.PNG(f, outlineDPI)
		if err != nil {
			return nil, fmt.Errorf("orientation: %w", err)
		}
		name := "Orientation"
		if n > 1 {
			name = fmt.Sprintf("Orientation %d", n)
		}
		width, height := f.Size()
		s := &page{Sheet: sheet.Sheet{Name: name, FullScale: true, Columns: []sheet.Col{{Width: outlineColumn}}}}
		s.Pictures = []sheet.Picture{{Name: "How the table or the base of each item lies to the cleavage, the axis " +
			"of the " +
			"colour, of the star or of the eye", PNG: raw, Width: width, Height: height}}
		pages = append(pages, s)
	}
	return pages, nil
}

// directions are what the picture draws for a direction of the order.
var directions = map[string]chart.Direction{"off": chart.OffCleavage, "perpendicular": chart.Upright,
	"parallel": chart.Along, "colour": chart.BestColour, "star": chart.StarAxis, "eye": chart.EyeFibres}

func (o *CutterOrder) returnPage() *page {
	s := &page{Sheet: sheet.Sheet{Name: ReturnSheet, Landscape: true, Protected: true, FreezeCol: 4,
		Footer: "Return of order " + o.Order + ": fill in the yellow cells; batch 1 is what comes back first, 2 what " +
			"comes later"}}
	widths := []float64{7, 7, 6.5, 11, 14, 18, 7.5, 8.5, 8, 8.5, 10, 10, 10, 8, 8.5, 8.5, 8, 8.5, 8, 8.5, 9, 13, 12, 16}
	for i, h := range ReturnHeaders {
		s.Columns = append(s.Columns, sheet.Col{Header: h, Width: widths[i]})
	}
	row := func(w CutterWanted, item string, x *SuppliedStone) {
		cells := []cell{text(o.Order), plain(sheet.Int(o.Batch).As(sheet.Input)), styled(item, sheet.Strong), text(""),
			text(""), text(""), {}, {}}
		if w.Item != "" {
			cells[4], cells[5] = text(strings.TrimSpace(w.count()+" "+w.Shape)), text(w.size())
		}
		if x != nil {
			cells[3], cells[6], cells[7] = text(x.Lot), whole(x.Pieces), plain(sheet.Carats(x.Carats))
		}
		if w.Item == "" && len(o.Wanted) > 1 { // the cutter says what it was cut for
			cells[2] = plain(sheet.Text(item).As(sheet.Input))
		}
		for range len(ReturnHeaders) - ReturnFilled {
			cells = append(cells, plain(sheet.Empty().As(sheet.Input)))
		}
		s.add(cells...)
	}
	for _, w := range o.Wanted {
		sent := 0
		for i := range o.Supplied {
			if o.Supplied[i].Item == w.Item {
				row(w, w.Item, &o.Supplied[i])
				sent++
			}
		}
		if sent == 0 {
			row(w, w.Item, nil)
		}
	}
	for i := range o.Supplied {
		if o.Supplied[i].Item == "" {
			row(CutterWanted{}, "any", &o.Supplied[i])
		}
	}
	return s
}

// Text is the order for a terminal.
func (o *CutterOrder) Text() string {
	var b strings.Builder
	o.heading(&b)
	fmt.Fprintf(&b, "Cutter: %s\nDue: %s\nPrice basis: %s\nBreakage: %s\n", o.Cutter,
		cmp.Or(string(o.Due), "not stated"), cmp.Or(o.PriceBasis, "not stated"), cmp.Or(o.Breakage, "not stated"))
	if o.Specialist != "" {
		fmt.Fprintf(&b, "Only for a specialist: %s\n", o.Specialist)
	}
	for _, words := range HazardWords(o.People) {
		fmt.Fprintf(&b, "%s: %s\n", peopleTitle, sentence(words))
	}
	for _, w := range o.Wanted {
		fmt.Fprintf(&b, "\nItem %s\n", w.Item)
		var rows [][]string
		for _, l := range w.lines(o.Carats) {
			rows = append(rows, []string{l[0], l[1]})
		}
		if w.Why != "" { // the dealer's own reckoning stays off the cutter's copy
			rows = append(rows, []string{"Why", w.Why})
		}
		table(&b, rows)
	}
	if len(o.Supplied) > 0 {
		b.WriteString("\nSupplied\n")
		rows := [][]string{{"item", "lot", "material", "pieces", "ct"}}
		for _, x := range o.Supplied {
			rows = append(rows, []string{cmp.Or(x.Item, "any"), x.Lot, x.Material, fmt.Sprint(x.Pieces),
				x.Carats.String()})
		}
		table(&b, rows)
	}
	for _, t := range o.Terms {
		fmt.Fprintf(&b, "\n%s", sentence(t))
	}
	fmt.Fprintf(&b, "\n\n%s\n", cautionDust)
	return b.String()
}
