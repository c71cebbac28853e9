// Package sqlstore keeps a book in SQL over database/sql: the one copy of the
// statements, shared by all engines. What engines do differently is a Dialect.
//
// # Two classes of tables
//
// The journal (entries, postings, records, files) is insert-only; only the bytes
// of a picture may be taken out. A record has its rendering (doc) and, in
// previous, the version it replaces. A record is known everywhere by the id of
// its first version. Derived (balances, current_versions, counters, refs) are
// the only tables that are updated: derive works out from the journal what they
// must hold, Check compares, and a book whose derived tables follow other rules
// (derivedVersion), as after a migration, gets them anew when it is opened.
// balances holds the real places only: they obey the law that nothing falls below
// zero; what went through a boundary is summed from the postings when asked.
// refs finds records by what they speak of (Record.Refs), in any version.
//
// # An entry
//
// Rows of an entry go in first (their foreign key is deferred), its header
// last. A trigger on the header counts the rows, proves that pieces, carats and
// cost each add up to zero, and moves the balances, whose CHECKs hold the law.
// Rows for a finished entry, and UPDATE, DELETE and REPLACE of any journal row,
// are refused by the database. Post checks the same law in Go before, to answer
// in faults.
//
// # The seal
//
// entries.body is the canonical JSON of the entry with its postings and records;
// entries.hash seals it together with the hash before it (see seal). Check writes
// every body again from the rows and compares. What no chain can show is that
// newest entries were cut off: compare the head with one printed on a backup or
// a document.
package sqlstore

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"time"

	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// Dialect is what an engine does in its own way.
type Dialect struct {
	// Marks returns n placeholders, comma between, the first numbered from.
	Marks func(from, n int) string
	// Read and Write say how views and updates begin: whether they may write,
	// and how isolated they are. A view must see one state of the book.
	Read, Write *sql.TxOptions
	// Exclude, the first statement of an update, waits until no other update of
	// the book runs; nil when beginning one does.
	Exclude func(ctx context.Context, tx *sql.Tx) error
	// Locked reports whether err says that the book was busy for longer than the
	// engine waits, or that two updates got in each other's way. Update tries
	// again, and then says so.
	Locked func(err error) bool
	// Backup writes a whole copy of the book and returns the copy's head.
	Backup func(ctx context.Context, w io.Writer) (store.Head, error)
	// Verify runs the engine's own check of its files and foreign keys.
	Verify func(ctx context.Context, tx *sql.Tx, report func(store.Difference)) error
}

// Store is a book in SQL. It implements store.Store.
type Store struct {
	reader, writer *sql.DB
	dialect        Dialect
	now            func() time.Time
	meta           store.Meta
}

var _ store.Store = (*Store)(nil)

// New returns the book behind two handles; updates begun on the writer must
// exclude each other (Dialect.Exclude). now gives the instant that entries are
// recorded at.
func New(ctx context.Context, reader, writer *sql.DB, d Dialect, now func() time.Time) (*Store, error) {
	s := &Store{reader: reader, writer: writer, dialect: d, now: now}
	var currency, created string
	var rules int64
	err := reader.QueryRowContext(ctx, `SELECT currency, zone, created_at, (SELECT version FROM derived) FROM book`).
		Scan(&currency, &s.meta.Zone, &created, &rules)
	if err != nil {
		return nil, s.wrap("read the book's head", err)
	}
	s.meta.Currency = num.Currency(currency)
	if s.meta.Created, err = time.Parse(time.RFC3339, created); err != nil {
		return nil, fmt.Errorf("read the book's head: %w", err)
	}
	if rules != derivedVersion {
		return s, s.update(ctx, func(w *writeTx) error { return w.rebuild(ctx) })
	}
	return s, nil
}

// Begin writes what a new book is created with into an empty schema.
func Begin(ctx context.Context, writer *sql.DB, m store.Meta) error {
	_, err := writer.ExecContext(ctx, `INSERT INTO book ("only", currency, zone, created_at) VALUES (1, $1, $2, $3)`,
		string(m.Currency), m.Zone, instant(m.Created))
	if err != nil {
		return fmt.Errorf("write the book's head: %w", err)
	}
	return nil
}

// View runs f in one consistent read.
func (s *Store) View(ctx context.Context, f func(tx store.ReadTx) error) error {
	tx, err := s.reader.BeginTx(ctx, s.dialect.Read)
	if err != nil {
		return s.wrap("read the book", err)
	}
	defer tx.Rollback()
	return f(s.read(tx))
}

// Update runs f in one write transaction.
func (s *Store) Update(ctx context.Context, f func(tx store.Tx) error) error {
	return s.update(ctx, func(w *writeTx) error { return f(w) })
}

// attempts is how often an update is begun before the engine's refusal stands.
const attempts = 3

func (s *Store) update(ctx context.Context, f func(w *writeTx) error) error {
	for n := 1; ; n++ {
		err := s.attempt(ctx, f)
		if !errors.Is(err, store.ErrLocked) || errors.Is(err, store.ErrConflict) || n == attempts || ctx.Err() != nil {
			return err
		}
	}
}

func (s *Store) attempt(ctx context.Context, f func(w *writeTx) error) error {
	tx, err := s.writer.BeginTx(ctx, s.dialect.Write)
	if err != nil {
		return s.wrap("write the book", err)
	}
	defer tx.Rollback()
	if s.dialect.Exclude != nil {
		if err := s.dialect.Exclude(ctx, tx); err != nil {
			return s.wrap("write the book", err)
		}
	}
	w := &writeTx{readTx: s.read(tx), now: s.now().UTC().Truncate(time.Second)}
	if err := f(w); err != nil {
		if isRollback(err) {
			return nil
		}
		// a cancelled transaction ends by itself, and what fails then may say so
		// in other words
		if done := ctx.Err(); done != nil && !errors.Is(err, done) {
			return fmt.Errorf("%w: %w", done, err)
		}
		return err
	}
	if w.broken != nil {
		return w.broken
	}
	if err := tx.Commit(); err != nil {
		return s.wrap("commit to the book", err)
	}
	return nil
}

// isRollback reports whether err is ErrRollback, wrapped or not; joined with
// another error it is that error that counts.
func isRollback(err error) bool {
	for ; err != nil; err = errors.Unwrap(err) {
		if err == store.ErrRollback {
			return true
		}
	}
	return false
}

// Backup writes a whole, consistent copy of the book and returns its head.
func (s *Store) Backup(ctx context.Context, w io.Writer) (store.Head, error) {
	head, err := s.dialect.Backup(ctx, w)
	return head, s.wrap("back up the book", err)
}

// Close ends both handles, the reader first: the last to close tidies up.
func (s *Store) Close() error {
	return errors.Join(s.reader.Close(), s.writer.Close())
}

func (s *Store) read(tx *sql.Tx) *readTx {
	return &readTx{store: s, tx: tx, prepared: map[string]*sql.Stmt{}}
}

// wrap says what failed; a lock becomes store.ErrLocked.
func (s *Store) wrap(what string, err error) error {
	if err == nil {
		return nil
	}
	if _, already := fault.From(err); already {
		return err
	}
	if s.dialect.Locked(err) {
		return fmt.Errorf("%s: %w", what, store.ErrLocked)
	}
	return fmt.Errorf("%s: %w", what, err)
}

// instant is how the database keeps a time: RFC 3339, UTC, whole seconds.
func instant(t time.Time) string { return t.UTC().Truncate(time.Second).Format(time.RFC3339) }
