package sqlite

import (
	"bytes"
	"context"
	"database/sql"
	"os"
	"path/filepath"
	"testing"
	"time"

	"lotpaper/internal/book"
	"lotpaper/internal/ledger"
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

// The bytes of a picture that is taken out are in no page of the file any more.
func TestTakeOut_NothingLeft(t *testing.T) {
	ctx := t.Context()
	path := filepath.Join(t.TempDir(), "book.db")
	s, err := Create(ctx, path, store.Meta{Currency: "EUR", Zone: "UTC"}, Options{Now: time.Now})
	if err != nil {
		t.Fatal(err)
	}
	f := book.FileOf(bytes.Repeat([]byte("a face at a window. "), 1000))
	p := book.Picture{Number: "PIC1", Design: "Sea/Ring", SHA256: f.SHA256, Large: f.Bytes}
	post := func(reason string, then func(store.Tx) error) {
		t.Helper()
		err := s.Update(ctx, func(tx store.Tx) error {
			e := ledger.Entry{Kind: ledger.Record, PostedOn: "2026-03-01", Reason: reason, Records: []book.Record{p}}
			if err := tx.Post(ctx, &e); err != nil {
				return err
			}
			return then(tx)
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	post("kept", func(store.Tx) error { return nil })
	p.Removed = "blurred"
	post("removed", func(tx store.Tx) error { return tx.TakeOut(ctx, f.SHA256) })
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	raw, err := os.ReadFile(path)
	if err != nil || bytes.Contains(raw, f.Bytes[:40]) {
		t.Errorf("the picture is still in the file, %v", err)
	}
}
