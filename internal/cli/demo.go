package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"lotpaper/internal/demo"
	"lotpaper/internal/fault"
)

// demoFolder is where the demo goes when no folder is named.
const demoFolder = "lotpaper-demo"

func (r *root) demoCommand() *cobra.Command {
	return verb("demo [DIR]", "See the whole job on an invented dealer's data", `  lotpaper demo
  lotpaper demo sea-line

Makes a book in a new folder (default `+demoFolder+`) and runs the whole job on
invented data: buys a mixed parcel, tests it, sorts it, checks settings, plans
and prices a line, proposes it and orders what is short. It writes every
document into the folder and says what it found.
`, cobra.MaximumNArgs(1), func(ctx context.Context, args []string) error {
		dir := demoFolder
		if len(args) == 1 {
			dir = args[0]
		}
		return r.demo(ctx, dir)
	})
}

// demo claims the folder, fills it, and takes it away again when anything
// fails.
func (r *root) demo(ctx context.Context, dir string) (err error) {
	switch err := os.Mkdir(dir, 0o755); {
	case errors.Is(err, fs.ErrExist):
		return fault.New(fault.Refused, "demo-exists", dir+" exists already", "choose another folder: lotpaper demo "+
			"NAME, or remove this one")
	case errors.Is(err, fs.ErrNotExist):
		return fault.New(fault.NotFound, "demo-parent", "the folder "+filepath.Dir(dir)+" does not exist",
			"make it first, or choose another")
	case err != nil:
		return fmt.Errorf("make the folder %s: %w", dir, err)
	}
	defer func() {
		if err != nil {
			os.RemoveAll(dir)
		}
	}()
	clock := demo.NewClock()
	s, err := r.Create(ctx, filepath.Join(dir, "lotpaper.db"), demo.Meta(), clock.Now)
	if err != nil {
		return err
	}
	report, err := demo.Run(ctx, s, clock)
	if err := errors.Join(err, s.Close()); err != nil {
		return err
	}
	report.Folder = dir
	for _, f := range report.Files {
		path := filepath.Join(dir, filepath.FromSlash(f.Name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			return fmt.Errorf("make a folder: %w", err)
		}
		if err := r.Streams.WriteFile(path, false, true, func(w io.Writer) error {
			_, err := w.Write(f.Bytes)
			return err
		}); err != nil {
			return err
		}
	}
	report.LookOn = "lotpaper stock list --book " + filepath.Join(dir, "lotpaper.db")
	return r.show("demo", report)
}
