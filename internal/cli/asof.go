package cli

import (
	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/desk"
)

// asOf is the flags of a command that reads the book as it stood.
type asOf struct{ on, at string }

// flags adds them; what says what the command does.
func (f *asOf) flags(c *cobra.Command, what string) {
	c.Flags().StringVar(&f.on, "on", "", what+" as of this day, by the entries dated until then (default: now)")
	c.Flags().StringVar(&f.at, "at", "", what+" as it stood after this entry, such as E345")
}

// read turns them into the moment that is asked for.
func (f *asOf) read() (desk.AsOf, error) {
	on, err := flagDate("on", f.on)
	return desk.AsOf{On: on, At: f.at}, err
}

// heading says of which past moment a file is that cannot say it itself.
func (r *root) heading(a *answer.AsOf) {
	if a != nil {
		r.Streams.Notef("%s\n", a.Words())
	}
}
