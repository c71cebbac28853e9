package desk

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/cutting"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// Window is a range that something is looked for in. Without a Max it has no
// upper end; the zero Window asks for nothing.
type Window[T ~int64] struct{ Min, Max T }

func (w Window[T]) asked() bool { return w != Window[T]{} }

// meets reports whether a range has something inside the window.
func (w Window[T]) meets(low, high T) bool { return high >= w.Min && (w.Max == 0 || low <= w.Max) }

// AskWindow is a range of asking prices of one basis.
type AskWindow struct {
	Window[int64] // millionths of the book's currency
	Basis         book.PriceBasis
}

// Find says what stones are looked for beyond what a lot is. A lot of many sizes
// is found when some of its stones may have the wanted one.
type Find struct {
	Length, Width, Depth Window[num.Millimetre]
	Each                 Window[num.Carat] // the mean weight of a stone
	Color                string            // each of its words
	Clarity              string
	Treatment            string // each of its words; none: stated to be untreated
	Calibrated           bool
	Ask                  AskWindow
	Age                  Window[int64] // days since the parcel was bought
}

// stockFind looks for stones among the lots of one walk.
type stockFind struct {
	Find
	today   book.Date
	parcels map[string]book.Date // when each was bought
	leftOut *answer.LeftOuts
}

// openFind prepares a search for a day.
func (f StockFilter) openFind(ctx context.Context, tx store.ReadTx) (*stockFind, error) {
	s := &stockFind{Find: f.Find, today: f.Today, parcels: map[string]book.Date{}, leftOut: f.LeftOut}
	if !s.Age.asked() {
		return s, nil
	}
	return s, store.Each(ctx, tx, store.RowFilter{}, func(p book.Parcel) error {
		s.parcels[strings.ToLower(p.Code)] = p.On
		return nil
	})
}

// finds reports whether a lot is wanted. A lot that only fails because something
// is not known of it is counted as left out.
func (s *stockFind) finds(l *answer.StockLot) bool {
	unknown := ""
	size := func(what string, w Window[num.Millimetre], has book.Size) bool {
		if w.asked() && has.IsZero() {
			unknown = what
			return true
		}
		return !w.asked() || w.meets(has.Min, has.Max)
	}
	words := func(what, wanted, has string) bool {
		if wanted != "" && has == "" {
			unknown = what
			return true
		}
		return wanted == "" || holdsWords(has, wanted)
	}
	switch {
	case s.Calibrated && !l.Calibrated,
		!size("length", s.Length, l.Length), !size("width", s.Width, l.Width), !size("depth", s.Depth, l.Depth),
		!words("colour", s.Color, l.Color), !words("clarity", s.Clarity, l.Clarity),
		!words("treatment", s.Treatment, l.Facets.Treatment.Value),
		s.Each.asked() && l.Pieces > 0 && !s.Each.meets(l.Mean(), l.Mean()),
		s.Age.asked() && !s.Age.meets(s.age(l.Parcel), s.age(l.Parcel)):
		return false
	}
	if s.Ask.asked() {
		ask, known := askOf(l, s.Ask.Basis)
		switch {
		case !known:
			unknown = "asking price"
		case !s.Ask.meets(ask.Micros(), ask.Micros()):
			return false
		}
	}
	if unknown != "" && s.leftOut != nil {
		s.leftOut.Add(unknown)
	}
	return unknown == ""
}

// age is how many days ago a parcel was bought.
func (s *stockFind) age(parcel string) int64 {
	return max(0, int64(s.today.Time().Sub(s.parcels[strings.ToLower(parcel)].Time()).Hours()/24))
}

// askOf is a lot's asking price by a basis; one of the other basis is turned into
// it by the mean stone.
func askOf(l *answer.StockLot, basis book.PriceBasis) (num.UnitPrice, bool) {
	if l.Prices == nil || l.Prices.Ask.Sign() <= 0 {
		return num.UnitPrice{}, false
	}
	ask := l.Prices.Ask
	if l.Prices.Basis == basis {
		return ask, true
	}
	if l.Pieces == 0 || l.Carats == 0 {
		return num.UnitPrice{}, false
	}
	total := l.Prices.Basis.Of(ask, l.Pieces, l.Carats)
	by := num.Int(l.Pieces)
	if basis == book.PerCarat {
		by = l.Carats.Dec()
	}
	return num.UnitPriceFromDec(total.Dec().Over(by, 6, num.HalfUp), ask.Currency(), num.HalfUp), true
}

// holdsWords reports whether text has every word of wanted.
func holdsWords(text, wanted string) bool {
	split := func(s string) []string {
		return strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return strings.ContainsRune(" ,;/", r) })
	}
	has := split(text)
	return !slices.ContainsFunc(split(wanted), func(w string) bool { return !slices.Contains(has, w) })
}

// known is the filter with its words read: a shape, a species and a party under
// their own names. A word that neither the trade nor the book knows is a fault
// that tells the nearest one.
func (f StockFilter) known(ctx context.Context, tx store.ReadTx) (StockFilter, error) {
	var l fault.List
	if f.Shape != "" {
		shape, bad := cutting.ParseShape(f.Shape)
		if bad == nil {
			f.Shape = string(shape)
		} else if has, err := someLot(ctx, tx, func(l book.Lot) bool {
			return strings.EqualFold(l.Shape, f.Shape)
		}); err != nil {
			return f, err
		} else if !has {
			l.Add(bad.AtField("shape"))
		}
	}
	if f.Species != "" {
		named, bad := facts.Resolve(f.Species)
		if bad == nil {
			f.named = &named
		} else if has, err := someLot(ctx, tx, func(l book.Lot) bool { return namedAs(l, f.Species) }); err != nil {
			return f, err
		} else if !has {
			l.Add(bad.AtField("species"))
		}
	}
	if f.Owner != "" && f.Owner != "own" && f.Owner != "others" {
		owners := []string{"own", "others"}
		l.Add(fault.New(fault.Invalid, "owner-word", "the owner must be own or others, but is \""+f.Owner+"\"",
			cmp.Or(fault.DidYouMean(f.Owner, owners), "write own or others")).AtField("owner"))
	}
	if f.Place != "" {
		bad, err := f.unknownPlace(ctx, tx)
		if err != nil {
			return f, err
		}
		l.Add(bad)
	}
	if f.Party != "" {
		parties, err := ReadParties(ctx, tx)
		if err != nil {
			return f, err
		}
		if f.Party, err = PartyNamed(ctx, tx, parties, f.Party); err != nil {
			return f, err
		}
	}
	return f, l.Err()
}

// someLot reports whether the book has a lot that fits.
func someLot(ctx context.Context, tx store.ReadTx, fits func(book.Lot) bool) (bool, error) {
	has := false
	err := store.Each(ctx, tx, store.RowFilter{}, func(l book.Lot) error {
		has = has || fits(l)
		return nil
	})
	return has, err
}

// unknownPlace is the fault of a place that is none, or where nothing lies and no
// paper of that number is known. A party's own place is empty since its papers hold
// what it has, so there the party is asked for.
func (f StockFilter) unknownPlace(ctx context.Context, tx store.ReadTx) (*fault.Fault, error) {
	place := f.Place
	_, bad := book.ParsePlace(string(place))
	if place == book.Safe {
		return nil, nil
	}
	var near []string
	if bad == nil {
		here, err := tx.Balances(ctx, store.BalanceFilter{Place: place, Limit: 1})
		if err != nil || len(here) > 0 {
			return nil, err
		}
		bad = fault.New(fault.NotFound, "place-empty", "nothing lies at "+string(place)+
			", which the book does not know",
			"name a place that holds something")
		switch place.Kind() {
		case book.AtMemo, book.AtCutter, book.AtSetter:
			name, known, err := spelled(ctx, tx, place.Name())
			switch {
			case err != nil || known && f.AsOf != AsOf{}:
				return nil, err
			case known:
				return fault.New(fault.NotFound, "place-empty", "nothing lies at "+string(place)+
					": what a party has lies "+
					"on its papers", "ask for what "+name+" has").AtField("place").Do("party", "show", name), nil
			}
			parties, err := ReadParties(ctx, tx)
			if err != nil {
				return nil, err
			}
			names, err := parties.PartyNames(ctx, tx)
			if err != nil {
				return nil, err
			}
			for _, n := range names {
				near = append(near, string(book.PlaceOf(place.Kind(), n)))
			}
		case book.AtPaper:
			if known, err := isPaper(ctx, tx, place.Name()); err != nil || known {
				return nil, err
			}
		}
	}
	held, err := heldPlaces(ctx, tx)
	if err != nil {
		return nil, err
	}
	if words := fault.DidYouMean(string(place), append(near, held...)); words != "" {
		bad.Mend = words
	}
	return bad.AtField("place"), nil
}

// isPaper reports whether a paper that holds stones has a number.
func isPaper(ctx context.Context, tx store.ReadTx, number string) (bool, error) {
	for _, kind := range paperKinds {
		known, err := tx.Known(ctx, kind, []string{number})
		if err != nil || len(known) > 0 {
			return err == nil, err
		}
	}
	return false, nil
}

// heldPlaces are the places away from the safe where something lies.
func heldPlaces(ctx context.Context, tx store.ReadTx) ([]string, error) {
	seen := map[string]bool{string(book.Safe): true}
	err := EachAway(ctx, tx, func(b ledger.Balance) error {
		seen[string(b.Place)] = true
		return nil
	})
	return slices.Sorted(maps.Keys(seen)), err
}

// namedAs reports whether a lot is called name, by its claim or by the dealer.
func namedAs(l book.Lot, name string) bool {
	return slices.ContainsFunc(lotNames(l), func(n string) bool { return strings.EqualFold(n, name) })
}

// lotNames are the species and the variety of a lot, by its claim and by the
// dealer.
func lotNames(l book.Lot) []string {
	names := []string{l.Species, l.Variety}
	if l.Opinion != nil {
		names = append(names, l.Opinion.Species, l.Opinion.Variety)
	}
	return names
}

// isSpecies reports whether a lot is of the filter's species, variety or group.
func (f StockFilter) isSpecies(l book.Lot) bool {
	if namedAs(l, f.Species) {
		return true
	}
	if f.named == nil {
		return false
	}
	if f.named.Variety != nil {
		return namedAs(l, f.named.Variety.Name)
	}
	return slices.ContainsFunc(f.named.Materials, func(m *facts.Material) bool { return namedAs(l, m.Name) })
}

// words say what is looked for.
func (f Find) words() []string {
	var parts []string
	for _, w := range []struct {
		what      string
		asked     bool
		low, high string
		unbounded bool
	}{
		{"length", f.Length.asked(), f.Length.Min.String(), f.Length.Max.String(), f.Length.Max == 0},
		{"width", f.Width.asked(), f.Width.Min.String(), f.Width.Max.String(), f.Width.Max == 0},
		{"depth", f.Depth.asked(), f.Depth.Min.String(), f.Depth.Max.String(), f.Depth.Max == 0},
		{"ct each", f.Each.asked(), f.Each.Min.String(), f.Each.Max.String(), f.Each.Max == 0},
		{"days old", f.Age.asked(), num.Int(f.Age.Min).String(), num.Int(f.Age.Max).String(), f.Age.Max == 0},
		{"asked " + f.Ask.Basis.Words(), f.Ask.asked(), num.Scaled(f.Ask.Min, 6).String(),
			num.Scaled(f.Ask.Max, 6).String(), f.Ask.Max == 0},
	} {
		switch {
		case !w.asked:
		case w.unbounded:
			parts = append(parts, w.what+" from "+w.low)
		default:
			parts = append(parts, w.what+" "+w.low+" to "+w.high)
		}
	}
	for _, w := range []struct{ what, value string }{{"colour", f.Color}, {"clarity", f.Clarity},
		{"treatment", f.Treatment}} {
		if w.value != "" {
			parts = append(parts, w.what+" "+w.value)
		}
	}
	if f.Calibrated {
		parts = append(parts, "calibrated")
	}
	return parts
}
