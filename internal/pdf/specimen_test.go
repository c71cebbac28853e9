package pdf

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"math"

	"lotpaper/internal/num"
	"lotpaper/internal/page"
)

// The specimens are papers of an invented house with invented goods. They use
// whatever a paper may hold, and are what to look at when the layout changes:
// LOTPAPER_TEST_PAPERS names a folder that TestSpecimens writes them to.
var specimens = map[string]func(page.Size) *page.Paper{
	"quote": quote, "invoice": invoice, "memo": memo, "ticket": ticket, "order": order, "costing": costing,
	"stock": func(s page.Size) *page.Paper { return stockList(s, 60) },
}

func say(s page.Style, words string) page.Text { return page.Text{Style: s, Words: words} }

func cell(texts ...page.Text) page.Cell { return page.Cell{Text: texts} }

func body(words string) page.Cell { return cell(say(page.Body, words)) }

func row(cells ...page.Cell) page.Row { return page.Row{Cells: cells} }

func value(s page.Style, kind page.Kind, number string, places int) page.Text {
	return page.Text{Style: s, Value: &page.Value{Kind: kind, Number: num.MustDec(number), Places: places}}
}

func money(number string) page.Cell { return cell(value(page.Body, page.Money, number, 2)) }

func count(number string) page.Cell { return cell(value(page.Body, page.Count, number, 0)) }

func day(on string) page.Text {
	return page.Text{Style: page.Body, Value: &page.Value{Kind: page.Date, On: on}}
}

func fact(label string, t page.Text) page.Fact { return page.Fact{Label: label, Text: t} }

func sign(who, what string) page.Signature { return page.Signature{Who: who, What: what} }

func house() *page.House {
	return &page.House{Name: "Tide and Quill", Trade: "gemstones and jewelry lines", Logo: photograph(300, 210),
		Address: []string{"14 Harbour Steps, 2380 Sandmouth", "+00 20 555 01 40", "office@tideandquill.example"}}
}

func paper(number, title string, size page.Size) *page.Paper {
	return &page.Paper{Number: number, Title: title, Author: "Tide and Quill", Language: "en", On: "2026-03-13",
		Size: size, Footer: page.Footer{Left: "Tide and Quill · VAT XX 000 123 456 · Bank of Sandmouth, " +
			"IBAN XX00 0000 0000 0000 00", Right: title + " " + number}}
}

var reader = []string{"Galerie Sandbar", "Ilse Romney", "3 Market Row", "2411 Dunehaven"}

// photograph is a picture without anything to see.
func photograph(wide, high int) *page.Picture {
	m := image.NewRGBA(image.Rect(0, 0, wide, high))
	for y := range high {
		for x := range wide {
			d := math.Hypot(float64(x)/float64(wide)-0.5, float64(y)/float64(high)-0.5)
			m.Set(x, y, color.RGBA{uint8(90 + 200*d), uint8(160 + 90*d), uint8(200 + 50*d), 255})
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, nil); err != nil {
		panic(err)
	}
	return &page.Picture{Data: b.Bytes(), Wide: wide, High: high}
}

// stone is an oval with a table inside, drawn as curves.
func stone(width, height float64) *page.Drawing {
	d := &page.Drawing{Width: width, Height: height}
	oval := func(rule page.Rule, scale float64) page.Line {
		const k = 0.5522847 // of a quarter of a circle as a Bezier curve
		x, y := width/2*scale, height/2*scale
		l := page.Line{Rule: rule, Closed: true, Curved: true}
		for _, q := range [][2]float64{{x, 0}, {x, y * k}, {x * k, y}, {0, y}, {-x * k, y}, {-x, y * k}, {-x, 0},
			{-x, -y * k}, {-x * k, -y}, {0, -y}, {x * k, -y}, {x, -y * k}, {x, 0}} {
			l.Points = append(l.Points, page.Point{X: width/2 + q[0], Y: height/2 + q[1]})
		}
		return l
	}
	d.Lines = append(d.Lines, oval(page.Outline, 1), oval(page.Facet, 0.6))
	return d
}

func quote(size page.Size) *page.Paper {
	p := paper("Q-2026-0007", "Quote", size)
	if size == page.Letter {
		p.Dates = page.MonthFirst
	}
	p.Head = &page.Head{House: house(), Reader: reader, Word: "Quote", Number: p.Number, Stamp: "DRAFT",
		Facts: []page.Fact{fact("Date", day("2026-03-13")), fact("Good until", day("2026-04-30")),
			fact("Line", say(page.Body, "Sea, eight pieces")), fact("Prices",
				say(page.Body, "EUR, trade, without tax")),
			fact("Delivery", say(page.Body, "six weeks from your order")), fact("Your contact",
				say(page.Body, "Ines Rook"))},
		Lead: "Eight pieces from our line Sea at your trade price. Enter the pieces you want in the right-hand " +
			"column, sign the last page and send it back; the workbook that comes with this quote adds it up for you.",
		Again: "Quote Q-2026-0007 for Galerie Sandbar"}
	table := page.Block{Table: page.PieceTable, Columns: []page.Column{
		{Header: "Piece", Width: 33.5},
		{Width: 1.5}, {Header: "Metal and stones"}, {Header: "Pieces", Width: 12}, {Header: "Each", Width: 14,
			Align: page.Right}, {Width: 4}, {Header: "Your order", Width: 27}}}
	steps := page.Block{Columns: []page.Column{{Width: 12}, {Align: page.Right}}, Rows: []page.Row{
		row(body("1 to 2"), money("1168")), row(body("3 to 5"), money("1163"))}}
	for i, name := range []string{"Shore ring", "Kelp band", "Drift earrings", "Surf studs", "Lagoon pendant",
		"Tidepool pendant", "Grotto pendant", "Current bracelet"} {
		picture := page.Cell{Frame: page.Hairline, Height: 30.5, Picture: photograph(400, 300+20*i)}
		if i%2 == 1 {
			picture = page.Cell{Frame: page.Hairline, Height: 30.5, Drawing: stone(18, 24)}
		}
		words := cell(say(page.Heading, name), say(page.Body, "Ring, silver 925, about 3.8\u00a0g"),
			say(page.Body, "1 aquamarine, natural, heated\u00a0(stated)"),
			say(page.Small, "oval, light blue, 1.10\u00a0ct, 7.9–8.1\u00a0×\u00a05.9–6.1\u00a0×\u00a04.1\u00a0mm"),
			say(page.FineLabel, "Daily wear. Off for work with the hands; keep from heat."))
		table.Rows = append(table.Rows, row(picture, page.Cell{}, words,
			page.Cell{Span: 2, Blocks: []page.Block{steps,
				{Rows: []page.Row{row(cell(say(page.Note, "6 can be made")))}}}},
			page.Cell{},
			cell(page.Text{Style: page.Small, Words: "pieces", Write: 13}, page.Text{Style: page.Small,
				Words: "×\u00a0each", Write: 13}, page.Text{Style: page.Small, Words: "=\u00a0amount", Write: 13})))
	}
	write := func(s page.Style, words string) page.Text { return page.Text{Style: s, Words: words, Write: 27} }
	totals := page.Block{Columns: []page.Column{{}, {Width: 56}}, Rows: []page.Row{{Pad: 2, Cells: []page.Cell{
		cell(say(page.Heading, "Your order"), say(page.Small, "Smallest order 400.00\u00a0EUR without tax. Pieces of "+
			"one "+
			"design count together for the step in price.")),
		cell(write(page.Body, "Total without tax"), write(page.Body, "Tax 20\u00a0%"), write(page.Strong,
			"Total to pay, EUR"))}}}}
	p.Parts = []page.Part{{Blocks: []page.Block{table}, End: []page.Block{totals, heading("Terms"), terms(21,
		"Prices",
		"For the steps named, in EUR, without tax and carriage. They hold until 30 April 2026, and while the "+
			"stones are unsold.",
		"Stones",
		"Weights and measures are of the stones set aside for these pieces; where a range stands, each piece "+
			"lies within it. Stated means as it was told to us in writing. Tested means that we tested which stone "+
			"it is; "+
			"a bench test shows no treatment and is no laboratory report.",
		"Delivery", "Six weeks from your signed order, insured, at our risk until you have it in hand."),
		{Signatures: []page.Signature{sign("For Tide and Quill, Ines Rook", "place, date, signature"),
			sign("Ordered for Galerie Sandbar", "name, place, date, signature")}}}}}
	return p
}

func heading(words string) page.Block {
	return page.Block{Rows: []page.Row{{Space: 4.5, Keep: true, Cells: []page.Cell{cell(say(page.Heading, words))}}}}
}

// spaced are terms below something else.
func spaced(space, label float64, words ...string) page.Block {
	b := terms(label, words...)
	b.Rows[0].Space = space
	return b
}

// terms are labels with a paragraph beside each.
func terms(label float64, words ...string) page.Block {
	b := page.Block{Columns: []page.Column{{Width: label}, {}}}
	for i := 0; i < len(words); i += 2 {
		b.Rows = append(b.Rows, page.Row{Space: 1.2, Cells: []page.Cell{cell(say(page.Label, words[i])),
			body(words[i+1])}})
	}
	return b
}

func memo(size page.Size) *page.Paper {
	p := paper("M-2026-0012", "Memo note", size)
	p.Head = &page.Head{House: house(), Reader: reader, Word: "Memo note", Number: p.Number,
		Facts: []page.Fact{fact("Date", day("2026-03-16")), fact("Choose by", day("2026-04-15")),
			fact("Stones", say(page.Body, "12 in 8 papers, 13.52\u00a0ct"))},
		Lead: "On approval: look at them, show them, choose. Nothing is sold before we have your word in writing; " +
			"until then the stones are ours."}
	table := page.Block{Table: page.MemoTable, Columns: []page.Column{{Header: "Paper", Width: 13}, {Header: "Stone"},
		{Header: "Measures, mm", Width: 29}, {Header: "Pieces", Width: 10, Align: page.Right},
		{Header: "Carats", Width: 12, Align: page.Right}, {Header: "Per carat EUR", Width: 15, Align: page.Right},
		{Header: "Together EUR", Width: 16, Align: page.Right}, {Header: "Kept", Width: 8, Align: page.Right}}}
	for _, code := range []string{"A5.3", "A5.4", "B4.1", "A12.4", "A16", "A6"} {
		table.Rows = append(table.Rows, row(cell(say(page.Strong, code)),
			cell(say(page.Body, "blue tourmaline, natural, heated\u00a0(stated)"),
				say(page.Small, "indicolite, round, deep "+
					"greenish blue")), body("5.09\u00a0×\u00a05.08\u00a0×\u00a03.24"), count("1"),
			cell(value(page.Body, page.Carats, "0.47", 2)), money("1450"), money("1319.50"),
			cell(page.Text{Mark: page.Tick})))
	}
	table.Rows = append(table.Rows, page.Row{Total: true,
		Cells: []page.Cell{{Text: []page.Text{say(page.Strong, "All")},
			Span: 3}, cell(value(page.Strong, page.Count, "12", 0)), cell(value(page.Strong, page.Carats, "13.52", 2)),
			{},
			cell(value(page.Strong, page.Money, "2342.38", 2)), {}}})
	p.Parts = []page.Part{{Blocks: []page.Block{table}, End: []page.Block{spaced(4, 24,
		"Your care", "From receipt until they are back in our hands the stones are at your risk, at the values "+
			"above. Keep "+
			"each in its paper.",
		"Back", "Insured, by the way they came. A later day than 15 April 2026 must be agreed in writing."),
		{Signatures: []page.Signature{sign("Sent: Ines Rook", "date, signature"), sign("Received in good order",
			"name, date, signature"), sign("Came back, counted and weighed", "date, signature")}}}}}
	return p
}

func invoice(size page.Size) *page.Paper {
	p := paper("R-2026-0031", "Invoice", size)
	p.Accent = &page.Ink{110, 30, 60}
	p.Head = &page.Head{House: house(), Reader: append(reader, "VAT XX 000 777 210"), Word: "Invoice", Number: p.Number,
		Stamp: "VOID", Facts: []page.Fact{fact("Date", day("2026-04-24")), fact("Pay by", day("2026-05-08"))}}
	p.Head.House.Logo = nil
	table := page.Block{Table: page.GoodsTable, Columns: []page.Column{
		{Header: "Goods, and what is disclosed about them"},
		{Header: "Pieces", Width: 13, Align: page.Right}, {Header: "Each", Width: 20, Align: page.Right},
		{Header: "Tax\u00a0%", Width: 13, Align: page.Right}, {Header: "Amount", Width: 21, Align: page.Right}}}
	for _, name := range []string{"Shore ring, silver 925", "Kelp band, gold 585", "Ruby, oval, loose"} {
		table.Rows = append(table.Rows, row(cell(say(page.Strong, name),
			say(page.Body, "1 spinel, 0.52\u00a0ct: natural, "+
				"not treated (stated). 6 sapphires, 0.22\u00a0ct: natural, heated\u00a0(stated).")), count("3"),
			money("163"),
			cell(value(page.Body, page.Percent, "20", 0)), money("1489")))
	}
	sums := page.Block{Columns: []page.Column{{}, {Width: 60, Align: page.Right}, {Width: 30, Align: page.Right}}}
	for _, s := range [][2]string{{"Together without tax", "3292.50"}, {"Tax 20 % on 3,278.50", "655.70"},
		{"Paid with the order, 1 April 2026", "-1175.40"}} {
		sums.Rows = append(sums.Rows, row(page.Cell{}, body(s[0]), money(s[1])))
	}
	sums.Rows[0].Space = 1.5
	sums.Rows = append(sums.Rows, page.Row{Pad: 1.2, Cells: []page.Cell{{}, {Rule: page.Firm, Text: []page.Text{say(
		page.Heading, "To pay by 8 May 2026, EUR")}}, {Rule: page.Firm, Text: []page.Text{value(page.ToPay, page.Money,
		"2772.80", 2)}}}})
	p.Parts = []page.Part{{Blocks: []page.Block{table}, End: []page.Block{sums,
		spaced(4, 24, "Pay to", "Tide and Quill, Bank "+
			"of Sandmouth, IBAN XX00 0000 0000 0000 00, naming R-2026-0031.", "Property",
			"The goods stay ours until they are paid in full.")}}}
	return p
}

func ticket(size page.Size) *page.Paper {
	p := paper("W-2026-0004", "Work ticket", size)
	p.Footer.Left = "Tide and Quill · 14 Harbour Steps, 2380 Sandmouth · +00 20 555 01 40"
	p.Head = &page.Head{Word: "Work ticket", Number: p.Number,
		Lead: "Tide and Quill to Orla Brand, goldsmith, and Tam " +
			"Wick, setter", Facts: []page.Fact{fact("Out", day("2026-03-18")), fact("Back by", day("2026-04-08")),
			fact("Pieces", value(page.Body, page.Count, "3", 0))}}
	work := page.Block{Columns: []page.Column{{Width: 6.5}, {Width: 5}, {}}}
	for i, w := range []string{"Goldsmith: cast, solder, size, pickle, file and polish without any stone.",
		"Goldsmith: mark 585 inside the shank; weigh, and enter it below.",
		"Setter: a, the spinel in its bezel, last."} {
		work.Rows = append(work.Rows, page.Row{Space: 1, Cells: []page.Cell{cell(page.Text{Mark: page.Tick}),
			body(fmt.Sprint(i + 1)), body(w)}})
	}
	never := page.Block{Rows: []page.Row{{Space: 5, Cells: []page.Cell{{Frame: page.Thick, Inset: 3, Text: []page.Text{
		say(page.Heading, "Never on this piece"), {Words: "torch, once a stone is in", Mark: page.Cross},
		{Words: "ultrasonic bath, once a is in", Mark: page.Cross},
		{Words: "resizing after setting: send it back to us", Mark: page.Cross}}}}}}}
	drawn := stone(40, 56)
	drawn.Lines = append(drawn.Lines, page.Line{Rule: page.Hairline, Points: []page.Point{{X: 30, Y: 8},
		{X: 44, Y: 2}}})
	drawn.Captions = []page.Caption{{X: 46, Y: 3, Align: page.Centre, Text: say(page.FineStrong, "a")}}
	top := page.Block{Columns: []page.Column{{Width: 85, Align: page.Left}, {}}, Rows: []page.Row{{Space: 3,
		Cells: []page.Cell{{Frame: page.Hairline, Height: 76, Blocks: []page.Block{{Columns: []page.Column{{
			Align: page.Centre}}, Rows: []page.Row{row(page.Cell{Drawing: drawn, Text: []page.Text{say(page.Note,
			"drawn at 2.5 times; sizes stand in the table")}})}}}},
			{Blocks: []page.Block{heading("Order of work"), work, never}}}}}}
	name := page.Block{Columns: []page.Column{{Width: 30}, {}},
		Rows: []page.Row{{Space: 0, Pad: 1.5, Cells: []page.Cell{
			cell(say(page.Job, "Kelp band")), body("ring, gold 585, finished about 4.4\u00a0g, size 54; bezel and " +
				"channel")}}}}
	stones := page.Block{Table: page.WriteTable, Columns: []page.Column{{Header: "Piece", Width: 10},
		{Header: "Place", Width: 10}, {Header: "Paper", Width: 15}, {Header: "Stone"}, {Header: "Size, mm", Width: 22},
		{Header: "Pieces out", Width: 11, Align: page.Right}, {Header: "Carats out", Width: 13, Align: page.Right},
		{Width: 3}, {Header: "Set", Width: 14, Align: page.Centre, Edge: page.Pen}, {Header: "Back loose pieces, ct",
			Width: 20, Align: page.Centre, Edge: page.Pen}, {Header: "Broken pieces", Width: 16, Align: page.Centre,
			Edge: page.Pen}}}
	for _, piece := range []string{"1", "2", "3"} {
		stones.Rows = append(stones.Rows, row(cell(say(page.Strong, piece)), cell(say(page.Strong, "a")), body("A12.1"),
			body("spinel, greenish blue"), body("5.02\u00a0×\u00a05.00"), count("1"), cell(value(page.Body, page.Carats,
				"0.525", 3)), page.Cell{}, page.Cell{}, page.Cell{}, page.Cell{}))
	}
	stones.Rows = append(stones.Rows, page.Row{Total: true, Pad: 1, Cells: []page.Cell{{Span: 5, Text: []page.Text{say(
		page.Strong, "All")}}, cell(value(page.Strong, page.Count, "3", 0)),
		cell(value(page.Strong, page.Carats, "1.611",
			3)), {}, {}, {}, {}}})
	p.Parts = []page.Part{{Blocks: []page.Block{name, top,
		spaced(4, 24, "Care", "Spinel a: even pressure, no burnisher on the "+
			"crown edge. Gold dust: extraction on, floor skin emptied before and after."),
		heading("Stones out and back"), stones},
		End: []page.Block{{Signatures: []page.Signature{sign("Out: Tide and Quill", "date, signature"),
			sign("Goldsmith: Orla Brand",
				"date, signature"), sign("Setter: Tam Wick", "date, signature")}}}}}
	return p
}

// ruler is a bar of 50 mm.
func ruler() *page.Drawing {
	d := &page.Drawing{Width: 50, Height: 7, Lines: []page.Line{{Rule: page.Pen, Points: []page.Point{{X: 0, Y: 3},
		{X: 50, Y: 3}}}}}
	for i := range 11 {
		x, high := float64(i)*5, 1.5
		if i%2 == 0 {
			high = 3
			d.Captions = append(d.Captions, page.Caption{X: x, Y: 6.6, Align: page.Centre,
				Text: value(page.Fine, page.Count,
					fmt.Sprint(i*5), 0)})
		}
		d.Lines = append(d.Lines, page.Line{Rule: page.Pen, Points: []page.Point{{X: x, Y: 3 - high}, {X: x, Y: 3}}})
	}
	return d
}

// order has outlines at full size: a polygon of 5 by 7 mm and a square of 8 mm.
func order(size page.Size) *page.Paper {
	p := paper("O-2026-0001", "Cutter order", size)
	p.Head = &page.Head{Word: "Cutter order", Number: p.Number, Lead: "Tide and Quill to Osric Vane, cutter",
		Facts: []page.Fact{fact("Date", day("2026-03-16")), fact("Insured, all", say(page.Body, "640.00\u00a0EUR"))}}
	first := page.Block{Columns: []page.Column{{}, {Width: 56, Align: page.Centre}}, Rows: []page.Row{{Pad: 2,
		Cells: []page.Cell{cell(say(page.Heading, "Outlines, full size"),
			say(page.Small, "Print at 100\u00a0%, not fitted "+
				"to the page. The bar at the right must measure 50\u00a0mm; if it does not, work from the figures.")),
			{Drawing: ruler()}}}}}
	oval := &page.Drawing{Width: 5, Height: 7, Lines: []page.Line{{Rule: page.Outline, Closed: true}}}
	for i := range 144 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 144)
		oval.Lines[0].Points = append(oval.Lines[0].Points, page.Point{X: 2.5 + 2.5*cos, Y: 3.5 + 3.5*sin})
	}
	square := &page.Drawing{Width: 8, Height: 8, Lines: []page.Line{{Rule: page.Outline, Closed: true,
		Points: []page.Point{{X: 0, Y: 0}, {X: 8, Y: 0}, {X: 8, Y: 8}, {X: 0, Y: 8}}}}}
	side := &page.Drawing{Width: 36, Height: 20, Lines: []page.Line{
		{Rule: page.Outline, Closed: true, Points: []page.Point{{X: 5, Y: 2}, {X: 25, Y: 2}, {X: 15, Y: 16}}},
		{Rule: page.Outline, Dashed: true, Points: []page.Point{{X: 0, Y: 8}, {X: 30, Y: 4}}},
		{Rule: page.Outline, Filled: true, Closed: true, Points: []page.Point{{X: 14, Y: 0}, {X: 16, Y: 0},
			{X: 15, Y: 2}}}}, Captions: []page.Caption{{X: 31, Y: 5.5, Text: say(page.Fine, "8°")}}}
	items := page.Block{Columns: []page.Column{{Width: 9}, {}, {Width: 20, Align: page.Centre}, {Width: 20,
		Align: page.Centre}, {Width: 45,
		Align: page.Centre}}}
	for i, face := range []*page.Drawing{oval, square} {
		items.Rows = append(items.Rows, page.Row{Rule: page.Firm, Pad: 2, Cells: []page.Cell{cell(say(page.Job,
			string(rune('A'+i)))), {Text: []page.Text{say(page.Heading, "3 spinels, round")},
			Blocks: []page.Block{terms(18,
				"Size", "5.00\u00a0±\u00a00.10\u00a0mm, depth 65 to 70\u00a0%", "Weight", "about 0.62\u00a0ct each",
				"Finish", "girdle even, no scratch or polish mark at 10×")}},
			{Text: []page.Text{say(page.Note, "face")}, Blocks: []page.Block{drawn(face)}},
			{Text: []page.Text{say(page.Note, "side")}},
			{Text: []page.Text{say(page.Note, "orientation, enlarged")}, Blocks: []page.Block{drawn(side)}}}})
	}
	p.Parts = []page.Part{{Blocks: []page.Block{first, items}, End: []page.Block{terms(18, "Safety", "Cut wet, with "+
		"extraction and a mask that fits."), {Signatures: []page.Signature{sign("For Tide and Quill: Ines Rook",
		"date, signature"), sign("Stones and order received: Osric Vane", "date, signature")}}}}}
	return p
}

func drawn(d *page.Drawing) page.Block {
	return page.Block{Columns: []page.Column{{Align: page.Centre}}, Rows: []page.Row{{Pad: 2,
		Cells: []page.Cell{{Drawing: d}}}}}
}

func costing(size page.Size) *page.Paper {
	p := paper("K-2026-0001", "Costing", size)
	p.Footer.Left = "Tide and Quill · for the house only · chain d69b57ed"
	p.Head = &page.Head{Word: "Costing", Number: p.Number, Lead: "Line Sea, for the quote to Galerie Sandbar",
		Facts: []page.Fact{fact("Of", day("2026-03-13")), fact("Gold, fine", say(page.Body, "88.40\u00a0EUR/g")),
			fact("Silver, fine", say(page.Body, "0.98\u00a0EUR/g")), fact("USD", say(page.Body, "0.918\u00a0EUR"))}}
	figures := page.Block{Columns: make([]page.Column, 4), Rows: []page.Row{{Pad: 1.5, Cells: []page.Cell{
		cell(say(page.Note, "The line earns, EUR"), value(page.Best, page.Money, "1970.08", 2)),
		cell(say(page.Note, "Sales, 33 pieces"), value(page.Figure, page.Money, "8414", 2)),
		cell(say(page.Note, "Cost of them"), value(page.Figure, page.Money, "5653.92", 2)),
		cell(say(page.Note, "Fixed cost"), value(page.Figure, page.Money, "790", 2))}}}}
	before := page.Block{Columns: []page.Column{{Width: 7}, {Width: 31}, {}}}
	for range 4 {
		before.Rows = append(before.Rows, page.Row{Space: 0.6, Cells: []page.Cell{cell(page.Text{Mark: page.Tick}),
			cell(say(page.Strong, "Grotto pendant")), body("does not earn its own fixed cost: 13.04 short. Drop it, " +
				"make 5, " +
				"or ask 90.00 at least.")}})
	}
	designs := page.Block{Table: page.CostTable, Columns: []page.Column{{Header: "Design", Width: 37},
		{Header: "Wanted", Width: 13, Align: page.Right}, {Header: "Can be made", Width: 13, Align: page.Right},
		{Header: "Cost each", Align: page.Right}, {Header: "Price each", Width: 19, Align: page.Right},
		{Header: "Margin %", Width: 15, Align: page.Right}, {Width: 2}, {Header: "of the wanted 50\u00a0%", Width: 20},
		{Header: "Covers fixed cost from", Width: 20, Align: page.Right, Edge: page.Firm},
		{Header: "Earns, all", Width: 16, Align: page.Right}}}
	for i, name := range []string{"Kelp band", "Tidepool pendant", "Surf studs", "Shore ring", "Grotto pendant"} {
		wide := 14 - 2*float64(i)
		bar := &page.Drawing{Width: wide, Height: 4.4, Lines: []page.Line{{Rule: page.Bar, Filled: true, Closed: true,
			Points: []page.Point{{X: 0, Y: 1.2}, {X: wide, Y: 1.2}, {X: wide, Y: 3.4}, {X: 0, Y: 3.4}}}}}
		designs.Rows = append(designs.Rows, row(cell(say(page.Strong, name)), count("6"), count("3"), money("422.19"),
			money("640"), cell(value(page.Body, page.Percent, "34", 1)), page.Cell{},
			page.Cell{Drawing: bar}, count("1"),
			money(fmt.Sprint(473-130*i))))
	}
	designs.Rows = append(designs.Rows, page.Row{Total: true, Cells: []page.Cell{cell(say(page.Strong, "All")),
		cell(value(page.Strong, page.Count, "36", 0)), cell(value(page.Strong, page.Count, "33", 0)), {}, {},
		cell(value(page.Strong, page.Percent, "32.8", 1)), {}, {}, {}, cell(value(page.Strong, page.Money, "1970.08",
			2))}})
	p.Parts = []page.Part{{Blocks: []page.Block{figures, heading("Before you send the quote"), before,
		heading("Designs"), designs}}}
	return p
}

// stockList is a landscape list of n papers, with two groups.
func stockList(size page.Size, n int) *page.Paper {
	p := paper("STOCK-2026-0001", "Stock list", size)
	p.Landscape = true
	p.Footer = page.Footer{Left: "Tide and Quill · for the house only · chain d69b57ed",
		Right: "Stock list, 13 March 2026"}
	p.Head = &page.Head{Word: "Stock list", Lead: "All places, by paper; cost with its share of charges",
		Facts: []page.Fact{fact("Of", day("2026-03-13")),
			fact("Papers", value(page.Body, page.Count, fmt.Sprint(n), 0)),
			fact("Carats", value(page.Body, page.Carats, "337.432", 3)), fact("Cost, EUR",
				value(page.Body, page.Money, "10511.50",
					2))}, Again: "Stock list, 13 March 2026"}
	fine := func(words string) page.Cell { return cell(say(page.Fine, words)) }
	number := func(kind page.Kind, s string, places int) page.Cell { return cell(value(page.Fine, kind, s, places)) }
	list := page.Block{Table: page.ListTable}
	for _, header := range []string{"Paper", "Stone", "Species", "Treatment", "Known by", "Shape", "Measures, mm",
		"Colour", "Clarity"} {
		list.Columns = append(list.Columns, page.Column{Header: header, Fit: true})
	}
	for _, header := range []string{"Pieces", "Carats", "Cost, EUR", "Place"} {
		list.Columns = append(list.Columns, page.Column{Header: header, Fit: true, Align: page.Right})
	}
	line := func(code, stone, species string) page.Row {
		return row(cell(say(page.FineStrong, code)), fine(stone), fine(species), fine("irradiated, heated"),
			fine("stated"),
			fine("oval cabochon"), fine("9.9–10.1\u00a0×\u00a06.9–7.1"), fine("deep greenish blue"),
			fine("slightly included"), number(page.Count, "120", 0), number(page.Carats, "12.690", 3),
			number(page.Money, "1285.2", 2), fine("safe"))
	}
	for i := range n {
		list.Rows = append(list.Rows, line(fmt.Sprintf("A1.%d", i+1), "blue topaz", "topaz"))
	}
	list.Rows = append(list.Rows, page.Row{Group: true,
		Cells: []page.Cell{{Span: 13, Text: []page.Text{say(page.FineLabel,
			"On memo in, not ours: Pellam and Daughter, choose by 15 April 2026")}}}},
		line("M1", "chrome diopside", "diopside"),
		page.Row{Total: true, Cells: []page.Cell{{Span: 9, Text: []page.Text{say(page.FineStrong,
			fmt.Sprintf("All, %d papers", n+1))}}, cell(value(page.FineStrong, page.Count, "400", 0)),
			cell(value(page.FineStrong, page.Carats, "337.432", 3)), cell(value(page.FineStrong, page.Money,
				"10511.50", 2)),
			{}}})
	p.Parts = []page.Part{{Blocks: []page.Block{list},
		End: []page.Block{{Rows: []page.Row{{Space: 2, Cells: []page.Cell{
			cell(say(page.Small, "“Stated”: as the vendor said. “Tested”: on the bench here. A paper on memo in "+
				"costs nothing "+
				"until it is bought."))}}}}}}}
	return p
}
