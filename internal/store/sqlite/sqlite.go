// Package sqlite keeps a book in one SQLite file. It is the only importer of
// the driver and holds what is SQLite's alone: how the file is opened, created,
// migrated and copied. The SQL itself is in package sqlstore.
//
// A book is open through two handles: a writer of one connection whose
// transactions take the write lock at once, and readers that see one state
// each while a writer works. Every commit is synced to the disk.
package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	driver "modernc.org/sqlite"

	"lotpaper/internal/store"
	"lotpaper/internal/store/sqlstore"
	"lotpaper/schema"
)

// applicationID stands in the header of every book ("ltpp"), written by the
// first migration.
const applicationID = 0x6c747070

// Options of an open book; the zero value is fine.
type Options struct {
	Now  func() time.Time // the clock of entries; nil: time.Now
	Wait time.Duration    // for another process's write, each of three times; 0: 2 s
}

func (o Options) filled() Options {
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Wait == 0 {
		o.Wait = 2 * time.Second
	}
	return o
}

func migrations() fs.FS {
	files, err := fs.Sub(schema.SQLite, "sqlite")
	if err != nil { // an embedded folder
		panic(err)
	}
	return files
}

// Open opens the book at path and brings an older schema up to date, after a
// backup beside it. A missing file is store.ErrNotFound, a file that is no book
// store.ErrNoBook, a newer schema store.ErrNewer.
func Open(ctx context.Context, path string, o Options) (*sqlstore.Store, error) {
	return open(ctx, path, o, migrations())
}

func open(ctx context.Context, path string, o Options, files fs.FS) (*sqlstore.Store, error) {
	o = o.filled()
	if info, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s: %w", path, store.ErrNotFound)
	} else if err != nil {
		return nil, fmt.Errorf("open the book: %w", err)
	} else if info.IsDir() {
		return nil, notABook(path)
	}
	h, err := openHandles(path, o)
	if err != nil {
		return nil, err
	}
	s, err := h.book(ctx, o, files)
	if err != nil {
		return nil, errors.Join(err, h.close())
	}
	return s, nil
}

func notABook(path string) error { return fmt.Errorf("%s: %w", path, store.ErrNoBook) }

// handles are the two ways into one file.
type handles struct {
	path           string
	reader, writer *sql.DB
}

// dataSource is the driver's name for the file. The pragmas that guard the law
// hold on every connection; the file must exist. A plain path would ignore the
// mode, so it is always a URI.
func dataSource(path string, wait time.Duration, pragmas ...string) (string, error) {
	full, err := filepath.Abs(path)
	if err != nil {
		return "", fmt.Errorf("open the book: %w", err)
	}
	full = filepath.ToSlash(full)
	if !strings.HasPrefix(full, "/") { // C:/books/a.db
		full = "/" + full
	}
	q := url.Values{"mode": {"rw"}, "_dqs": {"0"}, "_defensive": {"1"}}
	q.Add("_pragma", fmt.Sprintf("busy_timeout(%d)", wait.Milliseconds()))
	for _, p := range append([]string{"foreign_keys(1)", "recursive_triggers(1)", "secure_delete(1)"}, pragmas...) {
		q.Add("_pragma", p)
	}
	u := url.URL{Scheme: "file", Path: full}
	return u.String() + "?" + q.Encode(), nil
}

func openHandles(path string, o Options) (handles, error) {
	h := handles{path: path}
	read, err := dataSource(path, o.Wait, "query_only(1)")
	if err != nil {
		return h, err
	}
	// The page size counts for a new file: bodies and records are long, and an
	// import writes a seventh faster than with 4096. It must come before the
	// journal mode, which the driver sets after the pragmas.
	write, err := dataSource(path, o.Wait, "page_size(8192)", "synchronous(FULL)", "cache_size(-16000)",
		"temp_store(MEMORY)")
	if err != nil {
		return h, err
	}
	if h.reader, err = sql.Open("sqlite", read); err != nil {
		return h, fmt.Errorf("open the book: %w", err)
	}
	h.reader.SetMaxOpenConns(4)
	if h.writer, err = sql.Open("sqlite", write+"&_journal_mode=WAL&_txlock=immediate"); err != nil {
		return h, errors.Join(fmt.Errorf("open the book: %w", err), h.reader.Close())
	}
	h.writer.SetMaxOpenConns(1)
	return h, nil
}

func (h handles) close() error { return errors.Join(h.reader.Close(), h.writer.Close()) }

// book looks at what the file is, migrates it when it is older, and opens it.
func (h handles) book(ctx context.Context, o Options, files fs.FS) (*sqlstore.Store, error) {
	var id int64
	if err := h.reader.QueryRowContext(ctx, `PRAGMA application_id`).Scan(&id); err != nil {
		if code(err) == sqliteNotADB {
			return nil, notABook(h.path)
		}
		return nil, h.failed("open the book", err)
	}
	if id != applicationID {
		return nil, notABook(h.path)
	}
	have, err := sqlstore.Version(ctx, h.reader)
	if err != nil {
		return nil, h.failed("read the schema's version", err)
	}
	want, err := sqlstore.Newest(files)
	if err != nil {
		return nil, err
	}
	switch {
	case have > want:
		return nil, fmt.Errorf("%s has schema %d, this version knows %d: %w", h.path, have, want, store.ErrNewer)
	case have < want:
		if err := h.migrate(ctx, have, want, files); err != nil {
			return nil, err
		}
	}
	return sqlstore.New(ctx, h.reader, h.writer, h.dialect(), o.Now)
}

// migrate keeps a copy of the book as it was, then changes its schema.
func (h handles) migrate(ctx context.Context, have, want int64, files fs.FS) error {
	copyPath := fmt.Sprintf("%s.schema-%d", h.path, have)
	// one is enough: a migration that failed left the book as it was
	if _, err := os.Lstat(copyPath); errors.Is(err, fs.ErrNotExist) {
		if err := whole(copyPath, func(temp string) error { return h.copyTo(ctx, temp) }); err != nil {
			return err
		}
	}
	if err := sqlstore.Migrate(ctx, sqlstore.SQLite, h.writer, files); err != nil {
		if now, versionErr := sqlstore.Version(ctx, h.reader); versionErr == nil && now == want {
			return nil // another process was first
		}
		return h.failed("migrate the book", err)
	}
	var broken int
	if err := h.writer.QueryRowContext(ctx, `SELECT count(*) FROM pragma_foreign_key_check`).Scan(&broken); err != nil {
		return h.failed("check the migrated book", err)
	}
	if broken > 0 {
		return fmt.Errorf("the migration left %d rows that point nowhere; the book as it was is at %s",
			broken, copyPath)
	}
	return nil
}

func (h handles) dialect() sqlstore.Dialect {
	return sqlstore.Dialect{
		Marks: marks, Read: &sql.TxOptions{ReadOnly: true}, Locked: locked, Backup: h.backup, Verify: verify,
	}
}

// marks are plain question marks: the driver looks up each numbered one by
// name, which takes a third of a bulk insert's time.
func marks(_, n int) string { return strings.TrimSuffix(strings.Repeat("?,", n), ",") }

// failed says what failed; a lock becomes store.ErrLocked.
func (h handles) failed(what string, err error) error {
	if locked(err) {
		return fmt.Errorf("%s: %w", what, store.ErrLocked)
	}
	return fmt.Errorf("%s: %w", what, err)
}

// Result codes of SQLite, from its documentation "Result and Error Codes".
const (
	sqliteBusy   = 5
	sqliteLocked = 6
	sqliteNotADB = 26
)

// code is SQLite's primary result code of err; 0 when err is none of its own.
func code(err error) int {
	var e *driver.Error
	if !errors.As(err, &e) {
		return 0
	}
	return e.Code() & 0xff
}

func locked(err error) bool { return code(err) == sqliteBusy || code(err) == sqliteLocked }

// verify runs SQLite's own checks.
func verify(ctx context.Context, tx *sql.Tx, report func(store.Difference)) error {
	rows, err := tx.QueryContext(ctx,
		`SELECT 'file', integrity_check FROM pragma_integrity_check WHERE integrity_check <> 'ok'
		UNION ALL SELECT "table", 'row ' || coalesce(rowid, '?') || ' points to a missing row of ' || parent
			FROM pragma_foreign_key_check`)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var d store.Difference
		if err := rows.Scan(&d.Table, &d.What); err != nil {
			return err
		}
		report(d)
	}
	return rows.Err()
}
