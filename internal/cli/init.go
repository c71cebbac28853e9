package cli

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"time"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

func (r *root) initCommand() *cobra.Command {
	var currency, zone, name string
	c := verb("init", "Open a new book", `  lotpaper init --currency EUR --zone Europe/Lisbon --name "Sample Stones"

The currency of cost and the zone that decides today's business date are kept
for ever.
`, cobra.NoArgs, func(ctx context.Context, _ []string) error {
		cur, f := num.ParseCurrency(currency)
		if f != nil {
			return asUsage(f.AtField("currency"))
		}
		if _, err := time.LoadLocation(zone); err != nil || zone == "" {
			return fault.New(fault.Usage, "zone-unknown", "the zone "+zone+" is unknown",
				"give an IANA name such as Europe/Lisbon, or UTC").AtField("zone")
		}
		path := r.bookPath()
		if _, err := os.Lstat(path); !errors.Is(err, fs.ErrNotExist) {
			return desk.Unopened(store.ErrExists, path)
		}
		w, err := r.write()
		if err != nil {
			return err
		}
		if r.dryRun {
			r.Streams.Printf("would open %s in %s\n", path, cur)
			r.dryNote()
			return nil
		}
		s, err := r.Create(ctx, path, store.Meta{Currency: cur, Zone: zone, Created: r.Now()}, r.Now)
		if err != nil {
			return desk.Unopened(err, path)
		}
		defer s.Close()
		values := map[string]string{"carat_rule": string(num.RuleNine)}
		if name != "" {
			values["name"] = name
		}
		if _, err := desk.New(s, r.Now).Init(ctx, desk.Init{Write: w, Values: values}); err != nil {
			return err
		}
		r.Streams.Printf("opened %s in %s\n", path, cur)
		return nil
	})
	c.Flags().StringVar(&currency, "currency", "", "ISO 4217 code of the book's currency (required)")
	c.Flags().StringVar(&zone, "zone", "UTC", "IANA zone of the business date")
	c.Flags().StringVar(&name, "name", "", "the dealer's name as documents print it")
	return r.writes(c)
}

func (r *root) backupCommand() *cobra.Command {
	return verb("backup FILE", "Write a whole copy of the book to a new file", `  lotpaper backup book-2026-03-31.db
  lotpaper backup - | ssh office 'cat > book.db'

The copy is consistent even while others write. The head hash that is printed
seals everything before it: keep it with the copy.
`, cobra.ExactArgs(1), r.reading(func(ctx context.Context, a *house.House, args []string) error {
		if _, err := os.Lstat(args[0]); !errors.Is(err, fs.ErrNotExist) {
			return fault.New(fault.Refused, "output-exists", "the file "+args[0]+" exists already",
				"choose another name")
		}
		done, err := r.backUp(ctx, a, args[0])
		if err != nil {
			return err
		}
		if done.File == "-" { // stdout is the book
			r.Streams.Notef("%s", done.Seal())
			return nil
		}
		return r.show("backup", &done)
	}))
}

// backUp writes a copy of the book to a new file.
func (r *root) backUp(ctx context.Context, a *house.House, path string) (done answer.Backup, err error) {
	err = r.Streams.WriteFile(path, false, true, func(w io.Writer) error {
		done, err = a.Desk.Backup(ctx, desk.Backup{To: w})
		return err
	})
	done.File = path
	return done, err
}

func (r *root) restoreCommand() *cobra.Command {
	return verb("restore BACKUP", "Make a book from a backup", `  lotpaper restore book-2026-03-31.db --book restored.db

The backup is checked first; an existing book is never written over.
`, cobra.ExactArgs(1), func(ctx context.Context, args []string) error {
		path := r.bookPath()
		if _, err := os.Lstat(path); !errors.Is(err, fs.ErrNotExist) {
			return desk.Unopened(store.ErrExists, path)
		}
		target := r.book
		r.book = args[0]
		defer func() { r.book = target }()
		return r.with(ctx, func(a *house.House) error {
			check, err := a.Desk.LedgerCheck(ctx, desk.LedgerCheck{})
			if err != nil {
				return err
			}
			if len(check.Differences) > 0 {
				return fault.New(fault.Differs, "backup-differs", "the backup does not agree with itself",
					"see: lotpaper ledger check --book "+args[0])
			}
			done, err := r.backUp(ctx, a, path)
			if err != nil {
				return err
			}
			r.Streams.Printf("restored %s\n%s", path, done.Seal())
			return nil
		})
	})
}
