package stockroom

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/cutting"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
)

// bringLot books what came back of one lot: cut stones and rough that is left over
// as new lots, what was not cut as it went. Each line of the batch says what it
// takes off the paper.
func (c *receipt) bringLot(ctx context.Context, code string, came []Came) error {
	s, here, err := c.lotAt(ctx, code, c.paper.Place)
	if err != nil {
		return err
	}
	child, err := childrenOf(ctx, c.tx, s.Lot)
	if err != nil {
		return err
	}
	lines, faults := c.linesOf(s, here, came)
	if faults.Blocks() {
		return faults
	}
	for i := range lines {
		if l := &lines[i]; l.Into != "" {
			made := madeOf(child, *l, c.shapeOf(came, l.Item))
			l.Into = made.Code
			c.record(made)
			c.lots = append(c.lots, made.Code)
		}
	}
	c.shareNRV(lines)
	cutFrom := slices.Clone(lines)
	if lines, err = c.bring(ctx, c.paper.Place, code, lines); err != nil {
		return err
	}
	c.cutAgreed(s, cutFrom, lines)
	c.lines = append(c.lines, lines...)
	if c.Accept == "" {
		for _, x := range came {
			c.faults = append(c.faults, c.asOrdered(x, s)...)
		}
		c.faults = append(c.faults, c.yields(came, lines)...)
	}
	return nil
}

// toBeMade stands for the code of a lot that will be made of a line.
const toBeMade = "new"

// linesOf are the lines of a batch for what came back of a lot, with what was cut
// already sharing the stones and the weight that it was cut from: as the cutter
// says, else as many stones as were cut, at the mean weight of the lot, or all the
// weight that is left when every stone is accounted for.
func (c *receipt) linesOf(s answer.StockLot, here ledger.Balance, came []Came) ([]book.BatchLine, fault.List) {
	var l fault.List
	var cut, other []book.BatchLine
	var from, gone book.Weighed
	var extras, weight num.Carat // rough and chips; the cut stones
	broken := int64(0)
	known := true
	for _, x := range came {
		line := book.BatchLine{Item: x.Item, Length: x.Length, Width: x.Width, Depth: x.Depth, Note: x.Remarks}
		add := func(o book.Outcome, w book.Weighed, into string) {
			if w.Pieces > 0 || w.Carats > 0 {
				line := line
				line.Outcome, line.Weighed, line.Into = o, w, into
				if o == book.Accepted || o == book.Rejected {
					cut = append(cut, line)
					weight += w.Carats
					return
				}
				line.Length, line.Width, line.Depth = book.Size{}, book.Size{}, book.Size{}
				line.Claim = o == book.Broken && c.claim
				other = append(other, line)
			}
		}
		add(book.Accepted, x.Weighed, toBeMade)
		add(book.Rejected, x.Rejected, toBeMade)
		add(book.Broken, book.Weighed{Pieces: x.Broken}, "")
		add(book.Unworked, x.Uncut, "")
		add(book.Rough, x.Rough, toBeMade)
		add(book.Chips, book.Weighed{Carats: x.Chips}, "")
		broken += x.Broken
		gone.Pieces += x.Uncut.Pieces
		gone.Carats += x.Uncut.Carats
		extras += x.Rough.Carats + x.Chips
		if made := x.Pieces + x.Rejected.Pieces; made > 0 {
			if x.From.Pieces == 0 {
				x.From.Pieces = made
			}
			from.Pieces += x.From.Pieces
			from.Carats += x.From.Carats
			known = known && x.From.Carats > 0
		}
	}
	for i := range other {
		if other[i].Outcome == book.Rough {
			other[i].Off = book.Weighed{Carats: other[i].Carats}
		}
	}
	rest := here.Pieces - broken - gone.Pieces
	switch {
	case len(cut) == 0:
		return other, nil
	case rest <= 0:
		l.Add(fault.New(fault.Refused, "receive-broken",
			fmt.Sprintf("%d broke or came back uncut of %d that are out of %s: "+
				"none is left that could be cut", broken+gone.Pieces, here.Pieces, s.Code),
			"count again").AtField("broken").
			AtRef(s.Code))
		return nil, l
	}
	from.Pieces = min(from.Pieces, rest)
	if !known {
		switch left := here.Carats - gone.Carats; {
		case from.Pieces == rest: // the broken ones weighed their part
			from.Carats = left.ShareCarats([]num.Dec{num.Int(from.Pieces), num.Int(broken)})[0]
		default:
			from.Carats = here.Carats.ShareCarats([]num.Dec{num.Int(from.Pieces),
				num.Int(here.Pieces - from.Pieces)})[0]
		}
	}
	used := from.Carats - extras
	if used < weight {
		l.Add(fault.New(fault.Refused, "receive-heavier",
			fmt.Sprintf("%s ct are cut, left over or chips, but %s ct of %s "+
				"were cut: stones get switched", weight+extras, from.Carats, s.Code),
			"weigh and test again; say from how many stones and carats they were cut").AtField("carats").AtRef(s.Code))
		return nil, l
	}
	byPieces, byCarats := make([]num.Dec, len(cut)), make([]num.Dec, len(cut))
	for i, x := range cut {
		byPieces[i], byCarats[i] = num.Int(x.Pieces), x.Carats.Dec()
	}
	pieces, carats := num.ShareInt(from.Pieces, byPieces), used.ShareCarats(byCarats)
	for i := range cut {
		cut[i].Off = book.Weighed{Pieces: pieces[i], Carats: carats[i]}
	}
	return append(cut, other...), nil
}

// keepNRV checks what the rough left over would bring: it is of one lot, as rough of
// another one takes it out of another cost.
func (c *receipt) keepNRV(r OrderReceive) error {
	if r.RoughNRV.IsZero() {
		return nil
	}
	lots := map[string]bool{}
	for _, x := range r.Came {
		if x.Rough.Carats > 0 {
			lots[strings.ToLower(x.Lot)] = true
		}
	}
	switch {
	case r.RoughNRV.Sign() < 0:
		return fault.New(fault.Usage, "nrv-negative", "a net realisable value is more than 0",
			"leave it out for rough "+
				"without cost").AtField("rough_nrv")
	case len(lots) != 1:
		return fault.New(fault.Usage, "nrv-lots", fmt.Sprintf("a net realisable value is for rough left over of one "+
			"lot, "+
			"but it is left over of %d", len(lots)), "book these lots one by one").AtField("rough_nrv")
	}
	c.nrv = r.RoughNRV
	return nil
}

// shareNRV puts what the rough left over would bring on its lines, by carats.
func (c *receipt) shareNRV(lines []book.BatchLine) {
	var of []int
	var weights []num.Dec
	for i, l := range lines {
		if l.Outcome == book.Rough {
			of, weights = append(of, i), append(weights, l.Carats.Dec())
		}
	}
	if c.nrv.IsZero() || len(of) == 0 {
		return
	}
	for i, part := range c.nrv.Share(weights) {
		lines[of[i]].NRV = &part
	}
}

// shapeOf is the shape that the lines of an item say.
func (c *receipt) shapeOf(came []Came, item string) string {
	for _, x := range came {
		if x.Item == item && x.Shape != "" {
			return x.Shape
		}
	}
	return ""
}

// madeOf is a child of a supplied lot as it was cut: cut stones are nobody's tested
// stones any more, and an old size is no size of theirs.
func madeOf(child func(book.Lot) book.Lot, l book.BatchLine, shape string) book.Lot {
	made := child(book.Lot{Shape: shape})
	made.Length, made.Width, made.Depth = l.Length, l.Width, l.Depth
	made.Stone, made.Tags = "", nil
	switch l.Outcome {
	case book.Rejected:
		made.Note = "cut, and not as ordered"
	case book.Rough:
		made.Shape, made.Note, made.Calibrated = "", "rough left over from cutting", false
	}
	for _, f := range []*book.Facet{&made.Facets.Species, &made.Facets.Nature, &made.Facets.Treatment,
		&made.Facets.Origin} {
		*f = book.StatedFacet(f.Value)
	}
	return made
}

// asOrdered compares stones that came with the item that they are for: material,
// shape, size, depth, and their weight with what stones of that size weigh. An order
// in words asks for nothing that could be compared.
func (c *receipt) asOrdered(x Came, of answer.StockLot) fault.List {
	var l fault.List
	if x.Pieces == 0 || len(c.order.Lines) == 0 {
		return l
	}
	refuse := func(code, field, format string, args ...any) {
		l.Add(refusal(fault.New(fault.Refused, code, fmt.Sprintf(format, args...), acceptMend).AtRef(c.order.Number), x,
			field))
	}
	item := c.order.Item(x.Item)
	if item == nil {
		if item = c.fits(x); item == nil {
			refuse("receive-shape", "accept", "order %s asks for no %s of %s x %s mm", c.order.Number,
				x.Shape, x.Length,
				x.Width)
			return l
		}
	}
	if x.Shape != "" && !strings.EqualFold(x.Shape, item.Shape) {
		refuse("receive-shape", "accept", "order %s asks for no %s, item %s is %s", c.order.Number, x.Shape, x.Item,
			item.Shape)
		return l
	}
	if !within(x.Length, item.Length, item.Tolerance) || !within(x.Width, item.Width, item.Tolerance) {
		refuse("receive-size", "length", "the cut stones are %s x %s mm, but the order asks for %s %s x %s mm +/- %s",
			x.Length, x.Width, item.Shape, item.Length, item.Width, item.Tolerance)
	}
	c.checkDepth(x, item, refuse)
	material := materialOf(x, item, of)
	if given := x.Material; given != "" && !isOneOf(given, item.Species) {
		refuse("receive-material", "material", "the stones are said to be %s, but item %s is %s", given, x.Item,
			strings.Join(item.Species, " or "))
	}
	c.checkWeight(x, item, material, refuse)
	return l
}

// fits is the only line of the order whose shape and size the stones have.
func (c *receipt) fits(x Came) *book.OrderLine {
	var found *book.OrderLine
	for i := range c.order.Lines {
		l := &c.order.Lines[i]
		if (x.Shape == "" || strings.EqualFold(x.Shape, l.Shape)) && within(x.Length, l.Length, l.Tolerance) &&
			within(x.Width, l.Width, l.Tolerance) {
			found = l
		}
	}
	return found
}

// within reports whether a size lies within the tolerance of what is wanted; a size
// that is not given, and one without a tolerance, says nothing.
func within(got book.Size, want, tolerance num.Millimetre) bool {
	return got.Max == 0 || want == 0 || tolerance == 0 || got.Min >= want-tolerance && got.Max <= want+tolerance
}

// checkDepth compares the depth, in percent of the width.
func (c *receipt) checkDepth(x Came, item *book.OrderLine, refuse func(code, field, format string, args ...any)) {
	width := x.Width
	if width.Max == 0 {
		width = book.Size{Min: item.Width, Max: item.Width}
	}
	if x.Depth.Max == 0 || width.Min == 0 || item.DepthHigh.Sign() <= 0 {
		return
	}
	part := func(d, w num.Millimetre) num.Percent { return num.PercentOf(d.Dec(), w.Dec(), 1) }
	low, high := part(x.Depth.Min, width.Min), part(x.Depth.Max, width.Max)
	if low.Cmp(item.DepthLow.Dec) < 0 || high.Cmp(item.DepthHigh.Dec) > 0 {
		refuse("receive-depth", "depth", "the cut stones are %s mm deep, %s to %s %% of the width, but the order "+
			"asks for "+
			"%s to %s %%", x.Depth, low, high, item.DepthLow, item.DepthHigh)
	}
}

// checkWeight compares the mean weight with what stones of that shape, size and
// material weigh, with the band of the estimate.
func (c *receipt) checkWeight(x Came, item *book.OrderLine, material *facts.Material,
	refuse func(code, field, format string, args ...any)) {
	if x.Length.Max == 0 {
		return
	}
	if x.Width.Max == 0 {
		x.Width = x.Length
	}
	if x.Depth.Max == 0 {
		if item.DepthHigh.Sign() <= 0 {
			return
		}
		part := func(w num.Millimetre, p num.Percent) num.Millimetre {
			return num.MillimetreFromFloat(w.Float()*p.Fraction().Float(), num.HalfUp)
		}
		x.Depth = book.Size{Min: part(x.Width.Min, item.DepthLow), Max: part(x.Width.Max, item.DepthHigh)}
	}
	low, high, ok := cutting.WeightBand(material, item.Shape,
		cutting.Measured{Length: x.Length.Min, Width: x.Width.Min, Depth: x.Depth.Min},
		cutting.Measured{Length: x.Length.Max, Width: x.Width.Max, Depth: x.Depth.Max})
	each := num.Carat(int64(x.Carats) / max(1, x.Pieces))
	if ok && (each < low || each > high) {
		refuse("receive-weight", "carats", "%d stones of %s ct weigh %s ct each, but %s of %s x %s x %s mm weigh "+
			"between %s "+
			"and %s ct (an estimate)", x.Pieces, x.Carats, each, item.Shape, x.Length, x.Width, x.Depth, low, high)
	}
}

// materialOf is the one material that stones are of: as the cutter says, as the lot
// says, else the order's only one; nil when it is not known.
func materialOf(x Came, item *book.OrderLine, of answer.StockLot) *facts.Material {
	names := []string{x.Material, of.Variety, of.Species}
	if of.Code == "" && len(item.Species) == 1 {
		names = append(names, item.Species[0])
	}
	for _, name := range names {
		if name == "" {
			continue
		}
		if n, f := facts.Resolve(name); f == nil && len(n.Materials) == 1 {
			return n.Materials[0]
		}
	}
	return nil
}

// isOneOf reports whether a name may be one of the materials that an item accepts;
// an item without any accepts all.
func isOneOf(name string, accepted []string) bool {
	n, f := facts.Resolve(name)
	if f != nil || len(accepted) == 0 {
		return len(accepted) == 0
	}
	for _, a := range accepted {
		want, f := facts.Resolve(a)
		if f != nil {
			continue
		}
		if want.Variety != nil && n.Variety != nil && want.Variety != n.Variety {
			continue
		}
		if slices.ContainsFunc(n.Materials, func(m *facts.Material) bool {
			return slices.Contains(want.Materials,
				m)
		}) {
			return true
		}
	}
	return false
}

// yields refuses a weight of cut stones under the least yield of the order.
func (c *receipt) yields(came []Came, lines []book.BatchLine) fault.List {
	var l fault.List
	var least num.Percent
	var in, out num.Carat
	for _, x := range lines {
		for i, line := range c.order.Lines {
			if (x.Item == "" || x.Item == book.ItemName(i)) && line.MinYield.Cmp(least.Dec) > 0 {
				least = line.MinYield
			}
		}
		switch x.Outcome {
		case book.Accepted, book.Rejected:
			in += x.Off.Carats
			out += x.Carats
		case book.Broken, book.Chips, book.Rough:
			in += x.Off.Carats
		}
	}
	if least.Sign() <= 0 || in <= 0 || out <= 0 {
		return l
	}
	if yield := num.PercentOf(out.Dec(), in.Dec(), 1); yield.Cmp(least.Dec) < 0 {
		l.Add(refusal(fault.New(fault.Refused, "receive-yield",
			fmt.Sprintf("%s ct of %s ct are a yield of %s %%, but the order "+
				"asks for at least %s %%", out, in, yield, least), acceptMend).AtRef(c.order.Number),
			came[0], "carats"))
	}
	return l
}
