package sqlite

import (
	"context"
	"database/sql"
	"os"
	"path/filepath"
	"testing"
	"time"

	"lotpaper/internal/store"
	"lotpaper/internal/store/storetest"
)

var engine = storetest.Engine{
	Address: func(t testing.TB) string { return filepath.Join(t.TempDir(), "book.db") },
	Create: func(ctx context.Context, address string, m store.Meta, now func() time.Time) (store.Store, error) {
		return Create(ctx, address, m, Options{Now: now})
	},
	Open: func(ctx context.Context, address string, now func() time.Time) (store.Store, error) {
		return Open(ctx, address, Options{Now: now})
	},
	Restore: func(t testing.TB, backup []byte) string {
		path := filepath.Join(t.TempDir(), "restored.db")
		if err := os.WriteFile(path, backup, 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	},
	Raw: func(address string) (*sql.DB, error) {
		h, err := openHandles(address, Options{}.filled())
		if err != nil {
			return nil, err
		}
		return h.writer, h.reader.Close()
	},
	Overwrite: []string{`INSERT OR REPLACE INTO %[1]s SELECT * FROM %[1]s`,
		`REPLACE INTO %[1]s SELECT * FROM %[1]s LIMIT 1`},
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
		_, err = db.Exec(`PRAGMA foreign_keys = 0`) // of the writer's one connection
		return err
	},
}

func TestMain(m *testing.M) {
	storetest.Child(engine)
	os.Exit(m.Run())
}

func TestStore(t *testing.T) { storetest.Run(t, engine) }
