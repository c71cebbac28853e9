package fitting

import (
	"context"
	"strings"

	"lotpaper/internal/bench"
	"lotpaper/internal/desk"
	"lotpaper/internal/durability"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// Stone is the stone that a question is about: a lot of the book, or a
// material with what is known of the stone.
type Stone struct {
	Lot       string // code of a lot; its treatment, shape and size are the book's
	Species   string // in place of a lot: species, variety, group or trade name
	Color     string // of a species: says which variety it likely is; empty: not stated
	Treatment string // as stated; "none" for untreated; empty: not stated
	Shape     string
	Length    num.Millimetre
	Width     num.Millimetre

	Inclusions string   // none, inner, open, liquid; with ; between
	Girdle     string   // thin, medium or thick
	Neighbours []string // stones beside it in the same piece
}

// Situation is what a stone is set into, how it is worn and shown, and what is
// done at the bench with the stone in place. Empty fields are not stated.
type Situation struct {
	Setting string
	Piece   string
	Wear    string
	Bench   []string
	Display durability.Display
}

// asked is the stone of a question in its situation.
type asked struct {
	name      string               // of the stone in the answer
	readAs    string               // how a name was read; empty for a lot
	situation durability.Situation // of the first of the stones
	stones    []durability.Stone   // all that it may be
	identity  *bench.LotIdentity   // nil: the stone is in no book
	tx        store.ReadTx         // nil: the stone is in no book
}

// about answers a question about a stone with f: inside one view of the book
// for a lot, without a book for a material.
func (room *Room) about(ctx context.Context, stone Stone, in Situation, f func(asked) error) error {
	s, err := situation(stone, in)
	if err != nil {
		return err
	}
	switch {
	case stone.Lot != "" && stone.Species != "":
		return fault.New(fault.Usage, "setting-stone", "a lot and a species were given", "ask about one of them").
			AtField("species")
	case stone.Lot != "" && room.desk == nil:
		return fault.New(fault.Usage, "setting-book", "lots lie in a book, but none is open", "name a species")
	case stone.Lot != "":
		return room.desk.View(ctx, func(tx store.ReadTx) error {
			a, err := room.lot(ctx, tx, stone.Lot, s)
			if err != nil {
				return err
			}
			return f(a)
		})
	case stone.Species == "":
		return fault.New(fault.Usage, "setting-stone", "no stone was named", "name a lot or a species").
			AtField("species")
	}
	named, bad := facts.Resolve(stone.Species)
	if bad != nil {
		return bad.AtField("species")
	}
	a, faults := material(stone.Species, named, stone.Color, s)
	if faults.Blocks() {
		return atFields(faults)
	}
	return f(a)
}

// material is a stone that is in no book: all that its name stands for, and of
// a species the varieties that its colour makes likely.
func material(name string, named facts.Named, color string, s durability.Situation) (asked, fault.List) {
	a := asked{name: name, readAs: named.Words(), situation: s, stones: namedStones(named, color, s.Stone)}
	a.situation.Stone = a.stones[0]
	if len(named.Materials) == 1 && named.Variety == nil && a.stones[0].Variety != nil {
		a.readAs = stoneNames(a.stones) + " by its colour"
		if words := named.Misleads(); words != "" {
			a.readAs += "; " + words
		}
	}
	return a, durability.Check(a.situation)
}

// lot is a lot of the book in a situation, with all that it may be.
func (room *Room) lot(ctx context.Context, tx store.ReadTx, code string, s durability.Situation) (asked, error) {
	lot, err := desk.StonesOf(ctx, tx, code)
	if err != nil {
		return asked{}, err
	}
	id, err := room.bench.Judge(ctx, tx, lot)
	if err != nil {
		return asked{}, err
	}
	stones, f := stonesOf(lot.Lot, &id)
	if f != nil {
		return asked{}, f.At(fault.Where{Ref: lot.Code})
	}
	for i := range stones {
		stones[i].Inclusions, stones[i].Girdle, stones[i].Neighbours = s.Inclusions, s.Girdle, s.Neighbours
	}
	s.Stone = stones[0]
	if l := durability.Check(s); l.Blocks() {
		return asked{}, atFields(l)
	}
	return asked{lot.Code + " " + lot.Name(), "", s, stones, &id, tx}, nil
}

// situation is the request as the durability engine reads it.
func situation(stone Stone, in Situation) (durability.Situation, error) {
	var s durability.Situation
	if in.Setting != "" {
		setting, f := facts.SettingNamed(in.Setting)
		if f != nil {
			return s, f.AtField("setting")
		}
		s.Setting = setting
	}
	s.Piece, s.Wear, s.Bench, s.Display = in.Piece, in.Wear, in.Bench, in.Display
	s.Treatment, s.Shape, s.Inclusions, s.Girdle = stone.Treatment, stone.Shape, stone.Inclusions, stone.Girdle
	s.Length, s.Width = stone.Length.Float(), stone.Width.Float()
	for _, n := range stone.Neighbours {
		named, f := facts.Resolve(n)
		if f != nil {
			return s, f.AtField("neighbour")
		}
		s.Neighbours = append(s.Neighbours, named.Materials...)
	}
	return s, nil
}

// stoneNames lists the names of stones, "a, b or c".
func stoneNames(stones []durability.Stone) string {
	var out []string
	for _, s := range stones {
		out = append(out, s.ReadAs)
	}
	last := len(out) - 1
	if last == 0 {
		return out[0]
	}
	return strings.Join(out[:last], ", ") + " or " + out[last]
}

// namedStones are the stones that a name stands for, with what s says of them;
// a species without its variety is split by its colour.
func namedStones(named facts.Named, color string, s durability.Stone) []durability.Stone {
	var stones []durability.Stone
	for _, m := range named.Materials {
		one := s
		one.Material, one.Variety, one.ReadAs = m, named.Variety, named.ReadAs
		if len(named.Materials) > 1 {
			one.ReadAs = m.Name
		}
		if named.Variety != nil {
			stones = append(stones, one)
			continue
		}
		if color != "" && len(named.Materials) == 1 {
			one.Chance, one.Taken = 1, 1
		}
		stones = append(stones, byColour(one, color)...)
	}
	return stones
}

// fieldOf names the field of a request by the code of a fault in it.
var fieldOf = map[string]string{
	"unknown-wear": "wear", "unknown-piece": "piece", "durability-bench": "bench", "durability-shape": "shape",
	"durability-lamp": "lamp", "durability-treatment": "treatment", "durability-inclusions": "inclusions",
	"durability-girdle": "girdle",
}

// atFields points the faults of a situation at the fields of the request.
func atFields(l fault.List) fault.List {
	var out fault.List
	for _, f := range l {
		if field, known := fieldOf[f.Code]; known {
			f = f.AtField(field)
		}
		out.Add(f)
	}
	return out
}
