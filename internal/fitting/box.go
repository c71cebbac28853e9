package fitting

import (
	"context"

	"lotpaper/internal/durability"
	"lotpaper/internal/facts"
	"lotpaper/internal/store"
)

// BoxAnswer tells what must not lie loose together.
type BoxAnswer struct {
	Stones  []string           `json:"stones"`
	Clashes []durability.Clash `json:"clashes"`
}

// SettingBox tells which lots of the book must not lie loose in one box.
func (room *Room) SettingBox(ctx context.Context, lots []string) (BoxAnswer, error) {
	out := BoxAnswer{Stones: []string{}}
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		var box []durability.BoxStone
		for _, code := range lots {
			lot, _, stones, err := room.lotStones(ctx, tx, &SettingCheck{Lot: code})
			if err != nil {
				return err
			}
			paper := durability.BoxStone{Name: lot.Code + " " + lot.Name()}
			for _, s := range stones {
				paper.MayBe = append(paper.MayBe, s.Material)
			}
			out.Stones = append(out.Stones, paper.Name)
			box = append(box, paper)
		}
		out.clash(box)
		return nil
	})
	return out, err
}

// BoxSetting tells it of stones that are in no book.
func BoxSetting(names []string) (BoxAnswer, error) {
	out := BoxAnswer{Stones: []string{}}
	var box []durability.BoxStone
	for _, name := range names {
		named, f := facts.Resolve(name)
		if f != nil {
			return out, f.AtField("species")
		}
		out.Stones = append(out.Stones, named.ReadAs)
		box = append(box, durability.BoxStone{Name: name, MayBe: named.Materials})
	}
	out.clash(box)
	return out, nil
}

func (b *BoxAnswer) clash(box []durability.BoxStone) {
	if b.Clashes = durability.Clashes(box); b.Clashes == nil {
		b.Clashes = []durability.Clash{}
	}
}
