package sqlstore

import (
	"context"
	"database/sql"
	"strings"
)

// statement returns the prepared statement of this transaction for text.
func (t *readTx) statement(ctx context.Context, text string) (*sql.Stmt, error) {
	if st, ok := t.prepared[text]; ok {
		return st, nil
	}
	st, err := t.tx.PrepareContext(ctx, text)
	if err != nil {
		return nil, err
	}
	t.prepared[text] = st
	return st, nil
}

// query calls scan for every row.
func (t *readTx) query(ctx context.Context, scan func(rows *sql.Rows) error, text string, args ...any) error {
	st, err := t.statement(ctx, text)
	if err != nil {
		return err
	}
	rows, err := st.QueryContext(ctx, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := scan(rows); err != nil {
			return err
		}
	}
	return rows.Err()
}

// row scans one row; sql.ErrNoRows when there is none.
func (t *readTx) row(ctx context.Context, dest []any, text string, args ...any) error {
	st, err := t.statement(ctx, text)
	if err != nil {
		return err
	}
	return st.QueryRowContext(ctx, args...).Scan(dest...)
}

// listSize is how many values one IN list or one multi-row INSERT carries: from
// about 50 rows on the engine no longer gets faster.
const listSize = 100

// in runs the query for all values, listSize at a time; %IN% in text becomes
// the list, which stands after every other placeholder. Rows come back in the
// order of each part.
func in[V any](ctx context.Context, t *readTx, values []V, scan func(rows *sql.Rows) error, text string,
	args ...any) error {
	for len(values) > 0 {
		n := min(len(values), listSize)
		all := append(make([]any, 0, len(args)+n), args...)
		for _, v := range values[:n] {
			all = append(all, v)
		}
		list := "(" + t.store.dialect.Marks(len(args)+1, n) + ")"
		if err := t.query(ctx, scan, strings.Replace(text, "%IN%", list, 1), all...); err != nil {
			return err
		}
		values = values[n:]
	}
	return nil
}

// bulk inserts rows many at a time.
type bulk struct {
	into   string   // INSERT INTO table (columns)
	row    []string // what stands between a row's values
	suffix string   // ON CONFLICT ...
	full   string   // the statement for listSize rows, once it was needed
	args   []any
}

// newBulk returns a bulk of rows written like (?, 'lot', ?): what is the same in
// every row stands in the statement, for each value that is bound takes time.
func newBulk(into, row, suffix string) *bulk {
	return &bulk{into: into, row: strings.Split(row, "?"), suffix: suffix}
}

// columns is how many values a row has.
func (b *bulk) columns() int { return len(b.row) - 1 }

// add queues one row and writes when listSize rows are waiting.
func (b *bulk) add(ctx context.Context, t *readTx, values ...any) error {
	b.args = append(b.args, values...)
	if len(b.args) < b.columns()*listSize {
		return nil
	}
	return b.flush(ctx, t)
}

// flush writes the rows that wait.
func (b *bulk) flush(ctx context.Context, t *readTx) error {
	rows := len(b.args) / b.columns()
	if rows == 0 {
		return nil
	}
	text := b.full
	if rows < listSize || text == "" {
		text = b.text(t.store.dialect, rows)
	}
	if rows == listSize {
		b.full = text
	}
	st, err := t.statement(ctx, text)
	if err != nil {
		return err
	}
	_, err = st.ExecContext(ctx, b.args...)
	clear(b.args)
	b.args = b.args[:0]
	return err
}

// text is the statement for a number of rows.
func (b *bulk) text(d Dialect, rows int) string {
	var text strings.Builder
	text.WriteString(b.into)
	text.WriteString(" VALUES ")
	for i := range rows {
		if i > 0 {
			text.WriteByte(',')
		}
		for k, between := range b.row {
			text.WriteString(between)
			if k < b.columns() {
				text.WriteString(d.Marks(i*b.columns()+k+1, 1))
			}
		}
	}
	text.WriteString(b.suffix)
	return text.String()
}
