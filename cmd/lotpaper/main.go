// Command lotpaper plans jewelry lines from parcels of coloured stones.
package main

import (
	"context"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"
	"time"

	"lotpaper/internal/cli"
	"lotpaper/internal/store"
	"lotpaper/internal/store/sqlite"
	"lotpaper/internal/ui"
)

func main() {
	debug.SetGCPercent(200) // a command is short: memory is cheaper than collecting it twice
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := cli.Main(ctx, os.Args[1:], deps(ui.System()))
	stop()
	os.Exit(code)
}

// deps is what the command line stands on: books in files, and the clock.
func deps(streams *ui.Streams) cli.Deps {
	return cli.Deps{
		Streams: streams,
		Open: func(ctx context.Context, path string) (store.Store, error) {
			return sqlite.Open(ctx, path, sqlite.Options{})
		},
		Create: func(ctx context.Context, path string, m store.Meta, now func() time.Time) (store.Store, error) {
			return sqlite.Create(ctx, path, m, sqlite.Options{Now: now})
		},
		Now: time.Now,
	}
}
