package lines

import (
	"context"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/store"
)

// Show asks for one line, or for all when Line is empty.
type Show struct {
	Line string
}

// Show returns lines with their designs.
func (room *Room) Show(ctx context.Context, r Show) (answer.Lines, error) {
	out := answer.Lines{Lines: []answer.LineShow{}}
	err := room.desk.View(ctx, func(tx store.ReadTx) error {
		title := "Lines"
		lines, err := store.All[book.Line](ctx, tx, "")
		if err != nil {
			return err
		}
		if r.Line != "" {
			l, err := desk.Named[book.Line](ctx, tx, r.Line)
			if err != nil {
				return err
			}
			lines, title = []book.Line{l}, "Line "+l.Name
		}
		if out.Head, err = room.desk.ListHead(ctx, tx, title); err != nil {
			return err
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
			out.Lines = append(out.Lines, show)
		}
		return nil
	})
	return out, err
}
