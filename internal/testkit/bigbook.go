package testkit

import (
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"math/rand/v2"

	"lotpaper/internal/book"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// BigBook describes an invented stock of single stones: the same seed and size
// give the same stones everywhere.
type BigBook struct {
	Seed     uint64
	Stones   int
	Currency num.Currency // empty: EUR
}

// parcelSize is how many lots one parcel, and so one entry, has.
const parcelSize = 1000

// Stone is one lot of one piece with its weight; its price is Lot.Agreed.
type Stone struct {
	Lot    book.Lot
	Weight num.Carat
}

// kinds of invented stones: the density makes weights fit sizes, the price
// (per carat, for one carat) spreads over what small coloured stones cost.
var kinds = []struct {
	species, variety, color string
	density, price          float64
}{
	{"topaz", "", "blue", 3.53, 8},
	{"beryl", "aquamarine", "light blue", 2.70, 90},
	{"apatite", "", "neon blue", 3.18, 35},
	{"tourmaline", "", "blue-green", 3.06, 120},
	{"fluorite", "", "green", 3.18, 5},
	{"kyanite", "", "blue", 3.68, 20},
	{"zoisite", "tanzanite", "violet blue", 3.35, 280},
	{"iolite", "", "violet blue", 2.61, 18},
	{"corundum", "sapphire", "blue", 4.00, 420},
	{"spinel", "", "grey blue", 3.60, 150},
}

var shapes = []struct {
	name   string
	aspect float64 // length over width
}{{"round", 1}, {"oval", 1.25}, {"cushion", 1.1}, {"pear", 1.5}, {"octagon", 1.3}}

var clarities = []string{"eye clean", "slightly included", "included"}

func (b BigBook) currency() num.Currency {
	if b.Currency == "" {
		return "EUR"
	}
	return b.Currency
}

// Each calls f with every stone in order; parcels P1, P2 ... have 1,000 each.
func (b BigBook) Each(f func(Stone) error) error {
	r := rand.New(rand.NewPCG(b.Seed, 7))
	for i := range b.Stones {
		parcel := fmt.Sprintf("P%d", i/parcelSize+1)
		if err := f(b.stone(r, parcel, i%parcelSize+1)); err != nil {
			return err
		}
	}
	return nil
}

func (b BigBook) stone(r *rand.Rand, parcel string, n int) Stone {
	k, s := kinds[r.IntN(len(kinds))], shapes[r.IntN(len(shapes))]
	width := 3 + 6*r.Float64()*r.Float64() // many small, few large
	length, depth := width*s.aspect, width*(0.55+0.2*r.Float64())
	carats := length * width * depth * k.density * 0.0020
	price := k.price * math.Pow(carats, 1.4) * (0.6 + 0.8*r.Float64())
	size := func(mm float64) book.Size {
		m := num.MillimetreFromFloat(mm, num.HalfUp)
		return book.Size{Min: m, Max: m}
	}
	agreed := num.MoneyFromDec(num.FromFloat(math.Max(price, 0.5), 6, num.HalfUp), b.currency(), num.HalfUp)
	return Stone{
		Lot: book.Lot{
			Code: fmt.Sprintf("%s-%d", parcel, n), Parcel: parcel, Owner: book.Own,
			Species: k.species, Variety: k.variety, Claim: k.species,
			Facets: book.Facets{Species: book.StatedFacet(k.species), Nature: book.StatedFacet("natural"),
				Treatment: book.StatedFacet(""), Origin: book.StatedFacet("")},
			Shape: s.name, Length: size(length), Width: size(width), Depth: size(depth),
			Color: k.color, Clarity: clarities[r.IntN(len(clarities))], Agreed: agreed,
		},
		Weight: num.CaratFromDec(num.FromFloat(carats, 3, num.HalfUp), num.HalfUp),
	}
}

// Fill buys all stones into an empty book in one transaction, one entry a
// parcel, each dated on.
func (b BigBook) Fill(ctx context.Context, s store.Store, on book.Date) error {
	return s.Update(ctx, func(tx store.Tx) error {
		var e *ledger.Entry
		post := func() error {
			if e == nil {
				return nil
			}
			err := tx.Post(ctx, e)
			e = nil
			return err
		}
		err := b.Each(func(st Stone) error {
			if e == nil {
				p := book.Parcel{Code: st.Lot.Parcel, Kind: book.Purchase, Vendor: "Invented Gems", On: on,
					Currency: b.currency()}
				e = &ledger.Entry{Kind: ledger.Buy, PostedOn: on, Reason: "parcel " + p.Code, Who: "testkit",
					Records: []book.Record{p}}
			}
			e.Records = append(e.Records, st.Lot)
			e.Postings = append(e.Postings, ledger.Move(st.Lot.Code, "vendor/Invented Gems", book.Safe, 1, st.Weight,
				st.Lot.Agreed)...)
			if len(e.Records) <= parcelSize {
				return nil
			}
			return post()
		})
		if err != nil {
			return err
		}
		return post()
	})
}

// WriteParcelCSV writes the stones as one parcel file with every column of the
// parcel template.
func (b BigBook) WriteParcelCSV(w io.Writer) error {
	out := csv.NewWriter(w)
	header := []string{"lot", "owner", "species", "variety", "nature", "treatment", "origin", "shape", "pieces",
		"pieces_basis", "weight", "weight_unit",
		"length_mm", "length_max_mm", "width_mm", "width_max_mm", "depth_mm", "calibrated", "color", "clarity", "cut",
		"price", "price_basis", "note"}
	if err := out.Write(header); err != nil {
		return err
	}
	n := 0
	err := b.Each(func(st Stone) error {
		n++
		l := st.Lot
		return out.Write([]string{
			fmt.Sprintf("A-%d", n), "own", l.Species, l.Variety, l.Facets.Nature.Value, "", "", l.Shape, "1", "counted",
			st.Weight.String(), "ct",
			l.Length.Min.String(), l.Length.Max.String(), l.Width.Min.String(), l.Width.Max.String(),
			l.Depth.Min.String(), "no", l.Color, l.Clarity, "good",
			l.Agreed.String(), "total", fmt.Sprintf("paper %d of the invented parcel", n),
		})
	})
	out.Flush()
	if err != nil {
		return err
	}
	return out.Error()
}
