package answer

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"lotpaper/internal/num"
	paper "lotpaper/internal/page"
)

// Layout is the order as a paper: a bar and the outlines at full size first, so that
// the cutter checks the print before anything is cut, and the Return sheet on a page
// of its own.
func (o *CutterOrder) Layout() *paper.Paper {
	facts := []paper.Fact{fact("Date", dayText(o.On))}
	if o.Due != "" {
		facts = append(facts, fact("Back by", dayText(o.Due)))
	}
	insured := num.Zero(o.Currency)
	for _, x := range o.Supplied {
		if x.Value.Sign() > 0 && x.Value.Currency() == o.Currency {
			insured = insured.Add(x.Value)
		}
	}
	if insured.Sign() > 0 {
		facts = append(facts, fact("Insured, "+string(o.Currency), moneyText(paper.Body, insured)))
	}
	p := o.compact("Cutter order", o.Order, o.Dealer+" to "+o.Cutter, facts...)
	first := paper.Block{Columns: []paper.Column{{}, {Width: 56, Align: paper.Centre}}, Rows: []paper.Row{{Pad: 2,
		Cells: []paper.Cell{{Text: []paper.Text{textOf(paper.Heading, "Outlines, full size"), textOf(paper.Small,
			"Print at 100"+noBreak+"%, not fitted to the page. The bar at the right must measure 50"+noBreak+
				"mm; if it does not, work from the figures.")}}, {Drawing: ruler()}}}}}
	items := paper.Block{Columns: []paper.Column{{Width: 9}, {}, {Width: 26, Align: paper.Centre}, {Width: 34,
		Align: paper.Centre}}}
	for i := range o.Wanted {
		items.Rows = append(items.Rows, o.itemRow(&o.Wanted[i]))
	}
	var danger []string
	if len(o.People) > 0 {
		danger = append(sentences(HazardWords(o.People)), "Local rules come first.")
	}
	end := terms(18, [2]string{"Specialist", o.Specialist}, [2]string{"Price", o.PriceBasis},
		[2]string{"Breakage", o.Breakage}, [2]string{"Terms", joined(" ", append(sentences(o.Terms), o.Note)...)},
		[2]string{"Back", "the Return sheet, filled in: pieces and carats cut, broken, uncut; all splinters, powder. " +
			"Weights to 0.001" + noBreak + "ct"}, [2]string{"Danger", joined(" ", danger...)},
		[2]string{"Safety", cautionDust})
	end = append(end, signatures(paper.Signature{Who: "For " + o.signer(), What: "date, signature"},
		paper.Signature{Who: "Stones and order received: " + o.Cutter, What: "date, signature"}))
	p.Parts = []paper.Part{{Blocks: []paper.Block{first, items}, End: end}, o.returnPart()}
	return p
}

// ruler is a bar of 50 mm.
func ruler() *paper.Drawing {
	d := &paper.Drawing{Width: 50, Height: 7, Lines: []paper.Line{{Rule: paper.Pen, Points: []paper.Point{{X: 0, Y: 3},
		{X: 50, Y: 3}}}}}
	for x := range 51 {
		high := 1.0
		switch {
		case x%10 == 0:
			high = 3
			d.Captions = append(d.Captions, paper.Caption{X: float64(x), Y: 6.6, Align: paper.Centre,
				Text: textOf(paper.Fine, fmt.Sprint(x))})
		case x%5 == 0:
			high = 2
		}
		d.Lines = append(d.Lines, paper.Line{Rule: paper.Pen, Points: []paper.Point{{X: float64(x), Y: 3 - high},
			{X: float64(x), Y: 3}}})
	}
	return d
}

// itemRow is what is wanted of one item, with its outline and how it lies.
func (o *CutterOrder) itemRow(w *CutterWanted) paper.Row {
	particulars := paper.Block{Columns: []paper.Column{{Width: 20}, {}}}
	for _, l := range w.shortLines(o.Carats, o.suppliedWords(w.Item)...) {
		particulars.Rows = append(particulars.Rows, paper.Row{Space: 0.2, Cells: []paper.Cell{say(paper.FineLabel,
			l[0]), say(paper.Fine, signs(l[1]))}})
	}
	row := paper.Row{Rule: paper.Firm, Pad: 2, Cells: []paper.Cell{say(paper.Job, w.Item),
		{Text: []paper.Text{textOf(paper.Heading, fmt.Sprintf("%d %s, %s", w.Count+w.Spare, w.Material,
			w.Shape))},
			Blocks: []paper.Block{particulars}}, {}, {}}}
	if face := w.face(); face != nil {
		row.Cells[2] = paper.Cell{Text: []paper.Text{textOf(paper.Note, "face, full size")},
			Blocks: []paper.Block{centred(face)}}
	}
	if laid := w.Laying.drawing(); laid != nil {
		row.Cells[3] = paper.Cell{Text: []paper.Text{textOf(paper.Note, "how it lies, enlarged")},
			Blocks: []paper.Block{centred(laid)}}
	}
	return row
}

// joins are the particulars that stand in the line of another.
var joins = map[string]string{"Depth": "Size, mm", "Clarity": "Color", "Yield": "Weight each"}

// shortLines are the particulars of an item in few lines, without what its heading
// says, and what else stands there.
func (w *CutterWanted) shortLines(rule num.CaratRule, more ...[2]string) [][2]string {
	var out [][2]string
	for _, l := range w.lines(rule) {
		if slices.Contains([]string{"Material", "Shape", "For"}, l[0]) || l[0] == "Pieces" && w.Spare == 0 ||
			l[1] == "none" {
			continue
		}
		at := slices.IndexFunc(out, func(o [2]string) bool { return o[0] == joins[l[0]] })
		if at < 0 {
			out = append(out, l)
			continue
		}
		words := l[1]
		if l[0] != "Clarity" {
			words = strings.ToLower(l[0]) + " " + words
		}
		out[at][1] += ", " + words
	}
	return append(out, more...)
}

// mostSent is how many papers are named in the row of an item; of more, the Return
// sheet tells.
const mostSent = 3

// suppliedWords say what is sent for an item, and what it is insured for.
func (o *CutterOrder) suppliedWords(item string) [][2]string {
	var out [][2]string
	papers, pieces, carats, value := 0, int64(0), num.Carat(0), num.Zero(o.Currency)
	for i := range o.Supplied {
		x := &o.Supplied[i]
		if x.Item != item && x.Item != "" {
			continue
		}
		papers, pieces, carats = papers+1, pieces+x.Pieces, carats+x.Carats
		words := x.sent()
		if x.Item == "" && len(o.Wanted) > 1 {
			words += ", for any item"
		}
		if x.Value.Sign() > 0 {
			words += ", insured for " + x.Value.Words()
			if x.Value.Currency() == o.Currency {
				value = value.Add(x.Value)
			}
		}
		out = append(out, [2]string{"Ours", words})
	}
	if papers <= mostSent {
		return out
	}
	words := fmt.Sprintf("%d papers as on the Return sheet, %d pieces, %s ct", papers, pieces, carats)
	if value.Sign() > 0 {
		words += ", insured for " + value.Words()
	}
	return [][2]string{{"Ours", words}}
}

func centred(d *paper.Drawing) paper.Block {
	return paper.Block{Columns: []paper.Column{{Align: paper.Centre}}, Rows: []paper.Row{{Pad: 2, Cells: []paper.Cell{{
		Drawing: d}}}}}
}

// signs are words of an order as they are printed: 5.00 × 5.00 ± 0.10.
func signs(words string) string {
	return strings.NewReplacer(" x ", noBreak+"×"+noBreak, " +/- ", noBreak+"±"+noBreak, " %", noBreak+"%", " ct",
		noBreak+"ct", "10x", "10×").Replace(words)
}

// sent is supplied material in a line.
func (x *SuppliedStone) sent() string {
	name, _, _ := strings.Cut(x.Material, " (")
	return "paper " + joined(", ", x.Lot, name, fmt.Sprintf("%d%spieces", x.Pieces, noBreak),
		unbroken(x.Carats.String()+" ct"), x.Note)
}

// face is the outline at full size; nil: none is known.
func (w *CutterWanted) face() *paper.Drawing {
	if len(w.Outline) == 0 {
		return nil
	}
	line := paper.Line{Rule: paper.Outline, Closed: true}
	left, right, low, high := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	for _, q := range w.Outline {
		x, y := q.X.Float(), q.Y.Float()
		left, right, low, high = min(left, x), max(right, x), min(low, y), max(high, y)
	}
	for _, q := range w.Outline {
		line.Points = append(line.Points, paper.Point{X: q.X.Float() - left, Y: high - q.Y.Float()})
	}
	return &paper.Drawing{Width: right - left, Height: high - low, Lines: []paper.Line{line}}
}

// drawing is the stone from the side with what lies in it; nil: it may lie anyhow.
func (l Laying) drawing() *paper.Drawing {
	if len(l.Directions) == 0 {
		return nil
	}
	const scale, middle, level = 0.6, 15, 14.4 // mm of a unit, and where the girdle's middle stands
	d := &paper.Drawing{Width: 2 * middle, Height: 28}
	path := func(dashed, closed bool, xy ...float64) {
		line := paper.Line{Rule: paper.Outline, Dashed: dashed, Closed: closed}
		for i := 0; i < len(xy); i += 2 {
			line.Points = append(line.Points, paper.Point{X: middle + scale*xy[i], Y: level - scale*xy[i+1]})
		}
		d.Lines = append(d.Lines, line)
	}
	arrow := func(x0, y0, x1, y1 float64) {
		path(false, false, x0, y0, x1, y1)
		angle := math.Atan2(y1-y0, x1-x0)
		for _, turn := range []float64{2.6, -2.6} {
			path(false, false, x1, y1, x1+2.4*math.Cos(angle+turn), y1+2.4*math.Sin(angle+turn))
		}
	}
	dome := func(h float64) float64 { return 18 * math.Sqrt(max(0, 1-(h+6)*(h+6)/(17*17))) }
	top := 6.0
	if l.Cabochon {
		top = 11
		var xy []float64
		for k := range 49 {
			sin, cos := math.Sincos(math.Pi * float64(k) / 48)
			xy = append(xy, 18*cos, -6+17*sin)
		}
		path(false, true, xy...)
	} else {
		path(false, true, -10, top, 10, top, 18, 0, 0, -16, -18, 0)
		path(false, false, -18, 0, 18, 0)
	}
	for _, direction := range l.Directions {
		switch direction {
		case "off": // the cleavage, at about the middle of 5 to 10 degrees
			rise := math.Tan(7 * math.Pi / 180)
			for _, h := range []float64{2.5, -2, -6.5, -11} {
				path(true, false, -22, h-22*rise, 22, h+22*rise)
			}
		case "perpendicular":
			if !slices.Contains(l.Directions, "star") { // the same axis
				arrow(0, -20, 0, top+9)
			}
		case "parallel":
			arrow(-24, -3, 24, -3)
		case "colour":
			arrow(-5, top+11, -5, top+1.5)
		case "star":
			for _, h := range []float64{-3.5, -1, 1.5, 4, 6.5} {
				path(true, false, 1-dome(h), h, dome(h)-1, h)
			}
			arrow(0, -12, 0, top+8)
		case "eye":
			for _, h := range []float64{-3.5, -0.5, 2.5, 5.5} {
				for x := -14.0; x <= 14; x += 4 {
					if math.Abs(x) < 0.9*dome(h) {
						path(false, false, x-0.4, h, x+0.4, h)
					}
				}
			}
		}
	}
	return d
}

// returnPart is the sheet on which the order comes back: what was sent, and columns
// for what became of it.
func (o *CutterOrder) returnPart() paper.Part {
	write := func(b *paper.Block, heads ...string) {
		for _, h := range heads {
			b.Columns = append(b.Columns, paper.Column{Header: h, Width: 15, Align: paper.Centre, Edge: paper.Pen})
		}
	}
	cut := paper.Block{Table: paper.WriteTable, Columns: []paper.Column{{Header: "Item", Width: 10}, {Header: "Paper"},
		{Header: "Wanted", Width: 29}, {Header: "Sent pieces", Width: 13, Align: paper.Right},
		{Header: "Sent ct", Width: 17, Align: paper.Right}, {Width: 3}}}
	write(&cut, "Cut pieces", "Cut, ct", "Length, mm", "Width, mm", "Depth, mm")
	rest := paper.Block{Table: paper.WriteTable, Columns: []paper.Column{{Header: "Item", Width: 10},
		{Header: "Paper"}}}
	write(&rest, "From pieces", "From, ct", "Broken pieces", "Uncut back", "Uncut, ct", "Rough back", "Rough, ct",
		"Powder and chips, ct")
	add := func(item, lot, wanted string, x *SuppliedStone) {
		row := []paper.Cell{say(paper.Strong, item), say(paper.Strong, lot), say(paper.Fine, wanted), {}, {}}
		if x != nil {
			row[3], row[4] = countCell(x.Pieces), cellOf(valueText(paper.Body, paper.Carats, x.Carats.Dec(), 3))
		}
		cut.Rows = append(cut.Rows, paper.Row{Cells: append(row, make([]paper.Cell, 6)...)})
		rest.Rows = append(rest.Rows, paper.Row{Cells: append([]paper.Cell{say(paper.Strong, item),
			say(paper.Strong, lot)}, make([]paper.Cell, 8)...)})
	}
	for _, w := range o.Wanted {
		sent := 0
		wanted := signs(fmt.Sprintf("%d %s, ", w.Count+w.Spare, w.Shape)) + strings.ReplaceAll(signs(w.size()),
			noBreak+"±", " ±")
		for i := range o.Supplied {
			if o.Supplied[i].Item == w.Item {
				add(w.Item, o.Supplied[i].Lot, wanted, &o.Supplied[i])
				sent++
			}
		}
		if sent == 0 {
			add(w.Item, "", wanted, nil)
		}
	}
	for i := range o.Supplied {
		if o.Supplied[i].Item == "" {
			add("any", o.Supplied[i].Lot, "", &o.Supplied[i])
		}
	}
	writeIn := func(words string, wide float64) paper.Cell {
		return cellOf(paper.Text{Style: paper.Body, Words: words, Write: wide})
	}
	head := paper.Block{Columns: []paper.Column{{}, {Width: 30}}, Rows: []paper.Row{{Cells: []paper.Cell{
		{Text: []paper.Text{textOf(paper.Job, "Return of order "+cmp.Or(o.Order, o.Number)), textOf(paper.Small,
			"One line for each paper that was sent, or each item when nothing was. Batch 1 is what comes back first; "+
				"what comes later goes on a sheet of its own. Weights to 0.001"+noBreak+"ct, sizes from least to "+
				"most.")}},
		writeIn("Batch", 16)}}}}
	material := paper.Block{Rows: []paper.Row{{Space: 4, Cells: []paper.Cell{{Text: []paper.Text{
		{Style: paper.Body, Words: "Material and treatment, as cut", Write: 110},
		{Style: paper.Body, Words: "Remarks", Write: 110}}}}}}}
	return paper.Part{Blocks: []paper.Block{head, subhead("Cut"), cut, subhead("What it was cut from, and what is " +
		"left"), rest}, End: []paper.Block{material, signatures(paper.Signature{Who: "Sent back: " + o.Cutter,
		What: "date, signature"}, paper.Signature{Who: "Counted and weighed: " + o.Dealer, What: "date, signature"})}}
}
