package fitting

import (
	"context"

	"lotpaper/internal/answer"
	"lotpaper/internal/durability"
	"lotpaper/internal/facts"
)

// Advise asks where a stone may go, beside where it was meant to go.
type Advise struct {
	Stone
	Situation
}

// Advise says where a stone may go, best first, and what would lift each part
// that comes out at avoid. A lot is judged as what it may be.
func (room *Room) Advise(ctx context.Context, r Advise) (answer.SettingAdvice, error) {
	out := answer.SettingAdvice{Stone: r.Lot + r.Species, Setting: r.Setting, Piece: r.Piece, Wear: r.Wear}
	err := room.about(ctx, r.Stone, r.Situation, func(a asked) error {
		var pieces []string
		out.ReadAs = a.readAs
		for _, p := range facts.Pieces() {
			pieces = append(pieces, p.Name)
		}
		out.Advice = durability.AdviseAll(a.situation, a.stones, facts.Settings(), pieces, nil)
		return nil
	})
	return out, err
}
