package sqlite

import (
	"context"
	"database/sql"
	"os"
	"testing"
	"time"

	"lotpaper/internal/store"
	"lotpaper/internal/store/storetest"
)

var engine = storetest.Engine{
	Create: func(ctx context.Context, path string, m store.Meta, now func() time.Time) (store.Store, error) {
		return Create(ctx, path, m, Options{Now: now})
	},
	Open: func(ctx context.Context, path string, now func() time.Time) (store.Store, error) {
		return Open(ctx, path, Options{Now: now})
	},
	Raw: func(path string) (*sql.DB, error) {
		h, err := openHandles(path, Options{}.filled())
		if err != nil {
			return nil, err
		}
		return h.writer, h.reader.Close()
	},
	Unguard: func(db *sql.DB, table string) error {
		rows, err := db.Query(`SELECT name FROM sqlite_schema WHERE type = 'trigger' AND tbl_name = $1`, table)
		if err != nil {
			return err
		}
		var names []string
		for rows.Next() {
			var name string
			if err := rows.Scan(&name); err != nil {
				return err
			}
			names = append(names, name)
		}
		if err := rows.Err(); err != nil {
			return err
		}
		for _, name := range names {
			if _, err := db.Exec(`DROP TRIGGER ` + name); err != nil {
				return err
			}
		}
		return nil
	},
}

func TestMain(m *testing.M) {
	storetest.Child(engine)
	os.Exit(m.Run())
}

func TestStore(t *testing.T) { storetest.Run(t, engine) }
