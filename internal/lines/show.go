package lines

import (
	"context"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/store"
)

// LineShow returns one line, or the names of all when name is empty.
func (room *Room) LineShow(ctx context.Context, name string) ([]answer.LineShow, error) {
	out := []answer.LineShow{}
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		lines, err := store.All[book.Line](ctx, tx, "")
		if err != nil {
			return err
		}
		if name != "" {
			l, err := store.Get[book.Line](ctx, tx, name)
			if err != nil {
				return desk.NotFound(err, "line", name)
			}
			lines = []book.Line{l}
		}
		for _, l := range lines {
			show := answer.LineShow{Line: l, Designs: []book.Design{}}
			for _, d := range l.Designs {
				design, err := store.Get[book.Design](ctx, tx, l.Name+"/"+d)
				if err != nil {
					return err
				}
				show.Designs = append(show.Designs, design)
			}
			out = append(out, show)
		}
		return nil
	})
	return out, err
}
