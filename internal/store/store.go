// Package store says what keeps a book: transactions over entries, balances,
// records and files. It holds no SQL. Every engine passes the suite in
// store/storetest. A book's address, such as a file's path, is a text that only
// its engine reads.
package store

import (
	"context"
	"errors"
	"io"
	"time"

	"lotpaper/internal/book"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
)

// The conditions that callers branch on. They are no faults: desk words each of
// them, in one place.
var (
	ErrNotFound = errors.New("not found")
	ErrConflict = errors.New("the book changed under the work")
	ErrLocked   = errors.New("the book is locked by another process")
	ErrNewer    = errors.New("the book was written by a newer version")
	ErrNoBook   = errors.New("this file is no book")
	ErrExists   = errors.New("the file exists already")
	ErrNoFolder = errors.New("the folder does not exist")
	// ErrRollback, returned by the function given to Update, ends the
	// transaction without writing; Update then returns nil. A dry run is the
	// same function ended so.
	ErrRollback = errors.New("roll back")
)

// Meta is what a book is created with and keeps for ever.
type Meta struct {
	Currency num.Currency // of all cost
	Zone     string       // IANA name: decides today's business date
	Created  time.Time
}

// Head is the newest entry: its sequence, and the hash that seals the chain.
type Head struct {
	Sequence int64
	Hash     string // hex SHA-256; empty for an empty book
}

// Store is one book.
type Store interface {
	// View runs f in one consistent read. f must not keep tx.
	View(ctx context.Context, f func(tx ReadTx) error) error
	// Update runs f in one write transaction that is committed when f returns
	// nil and rolled back otherwise. f may run more than once: the engine may
	// say that the book was busy or that two works got in each other's way, and
	// then Update tries again, a few times. Parse and solve before it, and inside
	// compare what the work was based on with the book, returning ErrConflict,
	// which is never tried again. A book locked for longer gives ErrLocked.
	Update(ctx context.Context, f func(tx Tx) error) error
	// Backup writes a whole, consistent copy of the book and returns the head
	// that the copy has: others may write meanwhile.
	Backup(ctx context.Context, w io.Writer) (Head, error)
	Close() error
}

// ReadTx reads one state of the book.
type ReadTx interface {
	Meta() Meta
	Head(ctx context.Context) (Head, error)

	// Entry returns one entry with its postings (Records stays nil), or
	// ErrNotFound.
	Entry(ctx context.Context, code string) (ledger.Entry, error)
	// Entries returns a page of entries with their postings, oldest first.
	Entries(ctx context.Context, f EntryFilter) ([]ledger.Entry, error)
	// Bodies returns a page of sealed entries, oldest first: what export and
	// check read.
	Bodies(ctx context.Context, after int64, limit int) ([]Body, error)

	// Reversals returns the code of the reversal of every reversed entry, by the
	// code of the entry.
	Reversals(ctx context.Context) (map[string]string, error)

	// Balances returns a page of balances that are not zero, in the order in
	// which their lots were first written, then by place.
	Balances(ctx context.Context, f BalanceFilter) ([]ledger.Balance, error)

	// Row returns the newest version of a record, or ErrNotFound. Keys
	// compare without case.
	Row(ctx context.Context, kind book.Kind, key string) (Row, error)
	// Known tells which of the keys there are records of, by their folded form
	// (strings.ToLower).
	Known(ctx context.Context, kind book.Kind, keys []string) (map[string]bool, error)
	// Rows returns a page of records, in the order in which their keys were
	// first written.
	Rows(ctx context.Context, kind book.Kind, f RowFilter) ([]Row, error)
	// History returns every version of one key, oldest first.
	History(ctx context.Context, kind book.Kind, key string) ([]Row, error)
	// File returns the bytes of a file by its hash, or ErrNotFound: also when they
	// were taken out.
	File(ctx context.Context, sha256 string) ([]byte, error)

	// Check compares everything that is derived with what it derives from,
	// and the hash chain with the bodies; it calls report for each difference.
	Check(ctx context.Context, report func(Difference)) error
}

// Tx is a write transaction.
type Tx interface {
	ReadTx
	// Now is the one instant of this transaction, UTC, whole seconds.
	Now() time.Time
	// Next returns the next number of a series (see book.Series), without
	// taking it: the number is taken when a record with that key is posted.
	Next(ctx context.Context, series string) (int64, error)
	// Post checks the law, gives e its sequence, code and time, and writes it
	// with its postings and records as one sealed entry. Faults of the law
	// come back as a fault.List. Lots named by postings must be in the book or
	// among e.Records.
	Post(ctx context.Context, e *ledger.Entry) error
	// TakeOut takes the bytes of files out of the book; their hashes stay. The file
	// of a document is refused.
	TakeOut(ctx context.Context, sha256 ...string) error
}

// EntryFilter selects a page of entries.
type EntryFilter struct {
	Lot   string // only entries that touch this lot; empty: all
	After int64  // sequence of the last one seen
	Limit int    // 0: all
}

// BalanceFilter selects a page of balances.
type BalanceFilter struct {
	Lot      string   // empty: all
	Ref      book.Ref // only of lots that speak of it in some version; zero: all
	Place    book.Place
	RealOnly bool
	// On asks for the balances that the postings dated up to and including that
	// day leave, At for those after the entry with that sequence; both zero: now.
	// A past balance is summed from the postings, by every page again: read it
	// without a limit.
	On book.Date
	At int64
	// AfterLot and Limit page through whole lots: Limit counts lots. AfterLot
	// is the last lot seen.
	AfterLot string
	Limit    int
}

// RowFilter selects a page of records.
type RowFilter struct {
	Prefix string   // of the key, without case; empty: all
	Ref    book.Ref // only records that speak of it in some version; zero: all
	After  int64    // First of the last one seen
	Limit  int      // 0: all
}

// Row is one version of a record.
type Row struct {
	First int64 // orders keys by first writing; the page key
	Key   string
	Entry string // code of the entry that wrote this version
	Since string // code of the entry that wrote the record's first version
	Doc   []byte // canonical JSON
}

// Body is a sealed entry.
type Body struct {
	Sequence int64
	Code     string
	Body     []byte // canonical JSON of the entry, its postings and records
	Previous string
	Hash     string
}

// Difference is what a check found.
type Difference struct {
	Table string
	Ref   string // entry, lot or key
	What  string
}
