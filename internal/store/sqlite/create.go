package sqlite

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"lotpaper/internal/fault"
	"lotpaper/internal/store"
	"lotpaper/internal/store/sqlstore"
)

// Create makes a new book at path and opens it. The file appears whole or not
// at all; a file that is there already is a fault.
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

// backup writes a copy as it is now to a new file. SQLite's VACUUM INTO reads
// one state while others write.
func (h handles) backup(ctx context.Context, path string) error {
	return whole(path, func(temp string) error {
		if _, err := h.writer.ExecContext(ctx, `VACUUM INTO $1`, temp); err != nil {
			return h.failed("copy the book", err)
		}
		return nil
	})
}

// whole lets write fill an empty file beside path, syncs it, and gives it its
// name, never over another file. Only its owner may read it: it holds prices and costs.
func whole(path string, write func(temp string) error) error {
	if _, err := os.Lstat(path); err == nil {
		return exists(path)
	}
	f, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+".*")
	if err != nil {
		return fmt.Errorf("make %s: %w", path, err)
	}
	temp := f.Name()
	defer os.Remove(temp)
	if err := f.Close(); err != nil {
		return fmt.Errorf("make %s: %w", path, err)
	}
	if err := write(temp); err != nil {
		return err
	}
	if err := syncFile(temp); err != nil {
		return fmt.Errorf("make %s: %w", path, err)
	}
	err = os.Link(temp, path) // refuses an existing name, unlike a rename
	switch {
	case errors.Is(err, fs.ErrExist):
		return exists(path)
	case err != nil: // a file system without links
		if err := os.Rename(temp, path); err != nil {
			return fmt.Errorf("make %s: %w", path, err)
		}
	}
	return nil
}

func exists(path string) error {
	return fault.New(fault.Refused, "file-exists", path+" exists already", "choose another name, or move the file away")
}

// syncFile brings the file to the disk before it gets its name.
func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
