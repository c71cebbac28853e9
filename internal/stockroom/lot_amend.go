package stockroom

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/cutting"
	"lotpaper/internal/desk"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// LotAmend asks to mend what a lot says of its stones.
type LotAmend struct {
	desk.Write
	Lot    string
	Fields []string // which are mended: color, clarity, cut, label, note, due, shape, claim, species ...
	Values book.Lot // their values; an empty one is taken away
}

// LotAmend mends what a lot says of its stones, in a new version; pieces, weight
// and cost are the ledger's, and stay. Stones that are claimed to be something
// else are no more than stated to be it. Nature, treatment and origin stay as
// they are known unless they are mended.
func (room *Room) LotAmend(ctx context.Context, r LotAmend) (answer.LotAmended, error) {
	var out answer.LotAmended
	switch {
	case len(r.Fields) == 0:
		return out, fault.New(fault.Usage, "amend-nothing", "nothing is mended", "say what, such as its color").
			AtRef(r.Lot)
	case r.Reason == "":
		return out, fault.New(fault.Usage, "reason-missing", "an amendment needs a reason", "say why").AtField("reason")
	}
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) error {
		lot, err := desk.Named[book.Lot](ctx, tx, r.Lot)
		if err != nil {
			return err
		}
		now, l := r.amended(lot, tx.Meta().Currency)
		if l.Blocks() {
			return l
		}
		out = answer.LotAmended{Lot: lot.Code, Changes: answer.LotChanges(lot, now),
			Warnings: append(fault.List{}, l...)}
		if len(out.Changes) == 0 {
			return fault.New(fault.Refused, "amend-same", lot.Code+" says so already: nothing changes",
				"see what it says").
				AtRef(lot.Code).Do("lot", "show", lot.Code)
		}
		e := s.Entry(ledger.Record, "")
		e.Records = []book.Record{now}
		err = tx.Post(ctx, &e)
		out.Entry = e.Code
		return err
	})
	return out, err
}

// has reports whether a field is mended.
func (r *LotAmend) has(field string) bool { return slices.Contains(r.Fields, field) }

// amended is the lot with the mended fields, and what is wrong with them.
func (r *LotAmend) amended(lot book.Lot, currency num.Currency) (book.Lot, fault.List) {
	var l fault.List
	v := r.Values
	for _, text := range []struct {
		field string
		to    *string
		value string
	}{{"label", &lot.Label, v.Label}, {"color", &lot.Color, v.Color}, {"clarity", &lot.Clarity, v.Clarity},
		{"cut", &lot.Cut, v.Cut}, {"note", &lot.Note, v.Note}} {
		if !r.has(text.field) {
			continue
		}
		*text.to = strings.TrimSpace(text.value)
		if len(text.value) > 500 || strings.ContainsFunc(text.value, func(c rune) bool { return c < ' ' }) {
			l.Add(fault.New(fault.Invalid, "amend-text", "it must be up to 500 characters on one line", "shorten it").
				AtField(text.field))
		}
	}
	for _, size := range []struct {
		field string
		to    *book.Size
		value book.Size
	}{{"length", &lot.Length, v.Length}, {"width", &lot.Width, v.Width}, {"depth", &lot.Depth, v.Depth}} {
		if r.has(size.field) {
			*size.to = size.value
		}
	}
	if !lot.Length.IsZero() && lot.Width.Min > lot.Length.Max && (r.has("length") || r.has("width")) {
		l.Add(fault.New(fault.Invalid, "width-over-length", "the width "+lot.Width.String()+" is more than the length "+
			lot.Length.String(), "exchange the two if they were mixed up").AtField("width").AsWarning())
	}
	if r.has("calibrated") {
		lot.Calibrated = v.Calibrated
	}
	if r.has("shape") {
		l.Add(mendShape(&lot, v.Shape))
	}
	for _, facet := range []struct {
		field string
		to    *book.Facet
		value string
	}{{"nature", &lot.Facets.Nature, v.Facets.Nature.Value}, {"treatment", &lot.Facets.Treatment,
		v.Facets.Treatment.Value}, {"origin", &lot.Facets.Origin, v.Facets.Origin.Value}} {
		if r.has(facet.field) {
			*facet.to = book.StatedFacet(strings.TrimSpace(facet.value))
		}
	}
	if r.has("due") {
		if lot.Due = v.Due; lot.Owner.IsOwn() && v.Due != "" {
			l.Add(fault.New(fault.Refused, "amend-due", lot.Code+" is the dealer's own, and not due to anyone",
				"only goods on memo in are due").AtRef(lot.Code).AtField("due"))
		}
	}
	r.mendMaterial(&lot, &l)
	r.mendPrices(&lot, currency, &l)
	return lot, l
}

// mendShape names a lot's shape. One that the tables do not know is kept with a
// warning, since a lot may hold rough or carvings.
func mendShape(lot *book.Lot, name string) *fault.Fault {
	if strings.TrimSpace(name) == "" {
		lot.Shape = ""
		return nil
	}
	shape, f := cutting.ParseShape(name)
	if f != nil {
		lot.Shape = strings.ToLower(strings.TrimSpace(name))
		return f.AtField("shape").AsWarning()
	}
	lot.Shape = string(shape)
	return nil
}

// mendMaterial changes what the stones are claimed to be. A claim alone also says
// the species and the variety that its words stand for.
func (r *LotAmend) mendMaterial(lot *book.Lot, l *fault.List) {
	before := *lot
	v := r.Values
	resolve := func(field, name string) (facts.Named, bool) {
		named, f := facts.Resolve(name)
		if f != nil {
			l.Add(f.AtField(field))
			return named, false
		}
		if words := named.Misleads(); words != "" {
			l.Add(fault.New(fault.Invalid, "name-misleads", words, "buy and sell it under its right name").
				AtField(field).AsWarning())
		}
		return named, true
	}
	if r.has("claim") {
		lot.Claim = strings.TrimSpace(v.Claim)
		if named, ok := resolve("claim", v.Claim); ok && !r.has("species") && !r.has("variety") {
			lot.Species, lot.Variety = named.SpeciesVariety()
		}
	}
	if r.has("species") {
		if named, ok := resolve("species", v.Species); ok {
			lot.Species, lot.Variety = named.SpeciesVariety()
		}
	}
	if r.has("variety") {
		lot.Variety = ""
		if v.Variety != "" {
			if named, ok := resolve("variety", v.Variety); ok {
				l.Add(mendVariety(lot, named))
			}
		}
	}
	if lot.Species == before.Species && lot.Variety == before.Variety {
		return
	}
	if b := before.Facets.Species.Basis; b == book.Tested || b == book.LabReported {
		l.Add(fault.New(fault.Refused, "amend-claim", "what "+lot.Code+" is was "+string(b)+
			", and is no more than stated now",
			"test it again; a report keeps its words").AtRef(lot.Code).AsWarning())
	}
	lot.Facets.Species = book.StatedFacet(lot.Species)
	if lot.Fenced == book.Unestablished {
		lot.Fenced = "" // the tests are held against the new claim
	}
}

// mendVariety names the variety of a lot's species; of a group it names the
// species too.
func mendVariety(lot *book.Lot, named facts.Named) *fault.Fault {
	species, variety := named.SpeciesVariety()
	fits := lot.Species == ""
	if held, f := facts.Resolve(lot.Species); f == nil {
		fits = slices.Contains(held.Materials, named.Materials[0])
	}
	if variety == "" || !fits {
		return fault.New(fault.Invalid, "variety-species", "\""+named.Asked+"\" is read as "+named.ReadAs+
			", which is no variety of "+cmp.Or(lot.Species, "anything"), "correct the species or the variety").
			AtField("variety")
	}
	lot.Species, lot.Variety = species, variety
	return nil
}

// mendPrices changes what is asked for the stones and the least that they may be
// sold for.
func (r *LotAmend) mendPrices(lot *book.Lot, currency num.Currency, l *fault.List) {
	if !r.has("ask") && !r.has("least") && !r.has("basis") {
		return
	}
	p := book.Prices{Basis: book.PerCarat}
	if lot.Prices != nil {
		p = *lot.Prices
	}
	var v book.Prices
	if r.Values.Prices != nil {
		v = *r.Values.Prices
	}
	in := func(p num.UnitPrice) num.UnitPrice { return num.UnitPrice{Money: num.Micros(p.Micros(), currency)} }
	if r.has("basis") && v.Basis != p.Basis {
		if !r.has("ask") && !p.Ask.IsZero() || !r.has("least") && !p.Least.IsZero() {
			l.Add(fault.New(fault.Usage, "amend-basis", "prices of "+lot.Code+" are "+string(p.Basis)+
				", and do not become "+string(v.Basis)+" by themselves", "give both prices").AtRef(
				lot.Code).AtField("basis"))
		}
		p.Basis = v.Basis
	}
	if r.has("ask") {
		p.Ask = in(v.Ask)
	}
	if r.has("least") {
		p.Least = in(v.Least)
	}
	if p.Ask.Sign() > 0 && p.Least.Cmp(p.Ask.Money) > 0 {
		l.Add(fault.New(fault.Invalid, "least-over-ask", "the least price "+p.Least.Words()+
			" is more than the asking price "+
			p.Ask.Words(), "lower the least price, or ask more").AtRef(lot.Code).AtField("least"))
	}
	if lot.Prices = &p; p.Ask.IsZero() && p.Least.IsZero() {
		lot.Prices = nil
	}
}
