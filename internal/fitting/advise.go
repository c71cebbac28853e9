package fitting

import (
	"context"

	"lotpaper/internal/durability"
	"lotpaper/internal/facts"
	"lotpaper/internal/store"
)

// SettingAdvise says where a lot may go, best first, and what would lift each
// part that comes out at avoid. A lot that is not verified is advised as the
// worst of the stones that it may be.
func (room *Room) SettingAdvise(ctx context.Context, r SettingCheck) (durability.Advice, error) {
	var out durability.Advice
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		_, s, stones, err := room.lotStones(ctx, tx, &r)
		if err != nil {
			return err
		}
		out = adviseAll(s, stones)
		return nil
	})
	return out, err
}

// AdviseSetting advises on a stone that is in no book.
func AdviseSetting(r SettingCheck) (durability.Advice, error) {
	named, s, err := r.stone()
	if err != nil {
		return durability.Advice{}, err
	}
	stones := namedStones(named, s.Stone)
	s.Stone = stones[0]
	if l := durability.Check(s); l.Blocks() {
		return durability.Advice{}, asFlags(l)
	}
	return adviseAll(s, stones), nil
}

func adviseAll(s durability.Situation, stones []durability.Stone) durability.Advice {
	var pieces []string
	for _, p := range facts.Pieces() {
		pieces = append(pieces, p.Name)
	}
	return durability.AdviseAll(s, stones, facts.Settings(), pieces, nil)
}
