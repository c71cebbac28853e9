package sqlstore

import (
	"context"
	"database/sql"
	"fmt"
	"io/fs"
	"strconv"
	"strings"

	"github.com/pressly/goose/v3"
)

// Migrate brings the schema behind writer up to the newest migration of files.
func Migrate(ctx context.Context, dialect goose.Dialect, writer *sql.DB, files fs.FS) error {
	p, err := goose.NewProvider(dialect, writer, files)
	if err != nil {
		return fmt.Errorf("read the migrations: %w", err)
	}
	if _, err := p.Up(ctx); err != nil {
		return fmt.Errorf("migrate the book: %w", err)
	}
	return nil
}

// SQLite names the dialect of Migrate.
const SQLite = goose.DialectSQLite3

// Version is the schema that the book has.
func Version(ctx context.Context, db *sql.DB) (int64, error) {
	var v int64
	err := db.QueryRowContext(ctx, `SELECT coalesce(max(version_id), 0) FROM goose_db_version`).Scan(&v)
	return v, err
}

// Newest is the highest number among the migrations of files, whose names start
// with it: 0001_book.sql.
func Newest(files fs.FS) (int64, error) {
	names, err := fs.Glob(files, "*.sql")
	if err != nil {
		return 0, err
	}
	var newest int64
	for _, name := range names {
		digits, _, _ := strings.Cut(name, "_")
		n, err := strconv.ParseInt(digits, 10, 64)
		if err != nil {
			return 0, fmt.Errorf("migration %s has no number", name)
		}
		newest = max(newest, n)
	}
	return newest, nil
}
