package fitting

import (
	"context"

	"lotpaper/internal/answer"
	"lotpaper/internal/durability"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/store"
)

// Box names what would lie in one box: lots of the book, or species.
type Box struct {
	Lots    []string
	Species []string
}

// Box says which stones must not lie loose in one box.
func (room *Room) Box(ctx context.Context, r Box) (answer.SettingBox, error) {
	out := answer.SettingBox{Stones: []string{}, Clashes: []durability.Clash{}}
	var box []durability.BoxStone
	switch {
	case len(r.Lots) > 0 && len(r.Species) > 0:
		return out, fault.New(fault.Usage, "setting-stone", "lots and species were given", "ask about one of them").
			AtField("species")
	case len(r.Lots) > 0 && room.desk == nil:
		return out, fault.New(fault.Usage, "setting-book", "lots lie in a book, but none is open", "name species")
	case len(r.Lots) > 0:
		err := room.desk.View(ctx, func(tx store.ReadTx) error {
			for _, code := range r.Lots {
				a, err := room.lot(ctx, tx, code, durability.Situation{})
				if err != nil {
					return err
				}
				paper := durability.BoxStone{Name: a.name}
				for _, s := range durability.Likely(a.stones) {
					if s.Material != nil {
						paper.MayBe = append(paper.MayBe, s.Material)
					}
				}
				out.Stones = append(out.Stones, paper.Name)
				box = append(box, paper)
			}
			return nil
		})
		if err != nil {
			return out, err
		}
	case len(r.Species) == 0:
		return out, fault.New(fault.Usage, "setting-stone", "no stone was named", "name lots or species").
			AtField("species")
	}
	for _, name := range r.Species {
		named, f := facts.Resolve(name)
		if f != nil {
			return out, f.AtField("species")
		}
		out.Stones = append(out.Stones, named.Words())
		box = append(box, durability.BoxStone{Name: name, MayBe: named.Materials})
	}
	out.Clashes = append(out.Clashes, durability.Clashes(box)...)
	return out, nil
}
