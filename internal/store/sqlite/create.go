package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"lotpaper/internal/store"
	"lotpaper/internal/store/sqlstore"
	"lotpaper/internal/wholefile"
)

// Create makes a new book at path and opens it. The file appears whole or not
// at all. A file that is there already is store.ErrExists, a folder that is not
// there store.ErrNoFolder.
func Create(ctx context.Context, path string, m store.Meta, o Options) (*sqlstore.Store, error) {
	err := whole(path, func(temp string) error {
		h, err := openHandles(temp, o.filled())
		if err != nil {
			return err
		}
		err = sqlstore.Migrate(ctx, sqlstore.SQLite, h.writer, migrations())
		if err == nil {
			err = sqlstore.Begin(ctx, h.writer, m)
		}
		return errors.Join(err, h.close())
	})
	if err != nil {
		return nil, err
	}
	return Open(ctx, path, o)
}

// backup writes a copy as it is now and returns the copy's head. The engine
// writes copies to files only, so that one is made beside the book first.
func (h handles) backup(ctx context.Context, w io.Writer) (head store.Head, err error) {
	f, err := os.CreateTemp(filepath.Dir(h.path), ".lotpaper-*.tmp") // mode 0600
	if err != nil {
		return head, fmt.Errorf("copy the book: %w", err)
	}
	defer os.Remove(f.Name())
	defer f.Close()
	if err := h.copyTo(ctx, f.Name()); err != nil {
		return head, err
	}
	if head, err = headOf(ctx, f.Name()); err != nil {
		return head, fmt.Errorf("read the copy's head: %w", err)
	}
	if _, err := io.Copy(w, f); err != nil {
		return head, fmt.Errorf("copy the book: %w", err)
	}
	return head, nil
}

// headOf reads the head of the book in a file that nobody else has open.
func headOf(ctx context.Context, path string) (store.Head, error) {
	name, err := dataSource(path, 0, "query_only(1)")
	if err != nil {
		return store.Head{}, err
	}
	db, err := sql.Open("sqlite", name)
	if err != nil {
		return store.Head{}, err
	}
	head, err := sqlstore.ReadHead(ctx, db)
	return head, errors.Join(err, db.Close())
}

// copyTo writes a copy into an empty file. SQLite's VACUUM INTO reads one state
// while others write.
func (h handles) copyTo(ctx context.Context, path string) error {
	if _, err := h.writer.ExecContext(ctx, `VACUUM INTO $1`, path); err != nil {
		return h.failed("copy the book", err)
	}
	return nil
}

// whole lets write fill an empty file that then gets its name path, never over
// another file.
func whole(path string, write func(temp string) error) error {
	err := wholefile.Write(path, false, func(f *os.File) error { return write(f.Name()) })
	switch err {
	case wholefile.ErrExists:
		return fmt.Errorf("%s: %w", path, store.ErrExists)
	case wholefile.ErrNoFolder:
		return fmt.Errorf("%s: %w", path, store.ErrNoFolder)
	}
	return err
}
