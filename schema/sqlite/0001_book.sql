-- +goose Up

-- A book: its journal, the versions of its records, and what derives from them.
--
-- Journal and version tables only grow: rows of an entry are inserted first,
-- its header last, and the header's triggers prove the whole entry. Money is in
-- millionths of the book's currency, carats in thousandths. Only the tables of
-- the last part are ever updated; each can be rebuilt from the rest.

PRAGMA application_id = 1819570288; -- "ltpp"

CREATE TABLE book (
    only       INTEGER PRIMARY KEY CHECK (only = 1),
    currency   TEXT NOT NULL CHECK (length(currency) = 3),
    zone       TEXT NOT NULL,
    created_at TEXT NOT NULL
) STRICT;

-- The journal.

CREATE TABLE entries (
    id            INTEGER PRIMARY KEY CHECK (id > 0),
    code          TEXT    NOT NULL CHECK (code = 'E' || id),
    kind          TEXT    NOT NULL CHECK (kind <> ''),
    posted_on     TEXT    NOT NULL CHECK (posted_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    recorded_at   TEXT    NOT NULL,
    reason        TEXT    NOT NULL CHECK (reason <> ''),
    who           TEXT    NOT NULL,
    reverses      INTEGER UNIQUE REFERENCES entries (id),
    posting_count INTEGER NOT NULL CHECK (posting_count >= 0),
    record_count  INTEGER NOT NULL CHECK (record_count >= 0),
    previous_hash TEXT    NOT NULL,
    hash          TEXT    NOT NULL CHECK (length(hash) = 64),
    body          TEXT    NOT NULL,
    CHECK (posting_count + record_count > 0),
    CHECK ((kind = 'reverse') = (reverses IS NOT NULL))
) STRICT;

CREATE TABLE postings (
    entry_id INTEGER NOT NULL REFERENCES entries (id) DEFERRABLE INITIALLY DEFERRED,
    line     INTEGER NOT NULL CHECK (line > 0),
    lot_id   INTEGER NOT NULL REFERENCES lot_versions (id), -- the lot's first version
    place    TEXT    NOT NULL CHECK (
        place IN ('safe', 'loss/cutting', 'loss/breakage', 'loss/count', 'loss/weighing', 'made/cutting')
        OR (substr(place, 1, instr(place, '/')) IN ('cutter/', 'setter/', 'memo/', 'piece/', 'vendor/', 'customer/', 'charge/')
            AND instr(place, '/') < length(place))),
    pieces   INTEGER NOT NULL,
    carats   INTEGER NOT NULL,
    cost     INTEGER NOT NULL,
    PRIMARY KEY (entry_id, line),
    CHECK (place <> 'made/cutting' OR (carats = 0 AND cost = 0))
) STRICT, WITHOUT ROWID;

CREATE INDEX postings_by_lot ON postings (lot_id, entry_id);

-- Records: one table a kind, all of one shape. previous is the version that a
-- row replaces; journal records (readings, reports, documents) replace nothing.
-- A lot is known everywhere by the id of its first version.

CREATE TABLE settings (
    id       INTEGER PRIMARY KEY,
    entry_id INTEGER NOT NULL REFERENCES entries (id) DEFERRABLE INITIALLY DEFERRED,
    line     INTEGER NOT NULL CHECK (line > 0),
    key      TEXT    NOT NULL CHECK (key <> ''),
    previous INTEGER REFERENCES settings (id),
    doc      TEXT    NOT NULL,
    UNIQUE (entry_id, line)
) STRICT;

CREATE TABLE parties (
    id       INTEGER PRIMARY KEY,
    entry_id INTEGER NOT NULL REFERENCES entries (id) DEFERRABLE INITIALLY DEFERRED,
    line     INTEGER NOT NULL CHECK (line > 0),
    key      TEXT    NOT NULL CHECK (key <> ''),
    previous INTEGER REFERENCES parties (id),
    doc      TEXT    NOT NULL,
    UNIQUE (entry_id, line)
) STRICT;

CREATE TABLE parcel_versions (
    id       INTEGER PRIMARY KEY,
    entry_id INTEGER NOT NULL REFERENCES entries (id) DEFERRABLE INITIALLY DEFERRED,
    line     INTEGER NOT NULL CHECK (line > 0),
    key      TEXT    NOT NULL CHECK (key <> ''),
    previous INTEGER REFERENCES parcel_versions (id),
    doc      TEXT    NOT NULL,
    UNIQUE (entry_id, line)
) STRICT;

CREATE TABLE lot_versions (
    id       INTEGER PRIMARY KEY,
    entry_id INTEGER NOT NULL REFERENCES entries (id) DEFERRABLE INITIALLY DEFERRED,
    line     INTEGER NOT NULL CHECK (line > 0),
    key      TEXT    NOT NULL CHECK (key <> ''),
    previous INTEGER REFERENCES lot_versions (id),
    doc      TEXT    NOT NULL,
    UNIQUE (entry_id, line)
) STRICT;

CREATE TABLE charges (
    id       INTEGER PRIMARY KEY,
    entry_id INTEGER NOT NULL REFERENCES entries (id) DEFERRABLE INITIALLY DEFERRED,
    line     INTEGER NOT NULL CHECK (line > 0),
    key      TEXT    NOT NULL CHECK (key <> ''),
    previous INTEGER REFERENCES charges (id),
    doc      TEXT    NOT NULL,
    UNIQUE (entry_id, line)
) STRICT;

CREATE TABLE rates (
    id       INTEGER PRIMARY KEY,
    entry_id INTEGER NOT NULL REFERENCES entries (id) DEFERRABLE INITIALLY DEFERRED,
    line     INTEGER NOT NULL CHECK (line > 0),
    key      TEXT    NOT NULL CHECK (key <> ''),
    previous INTEGER REFERENCES rates (id),
    doc      TEXT    NOT NULL,
    UNIQUE (entry_id, line)
) STRICT;

CREATE TABLE prices (
    id       INTEGER PRIMARY KEY,
    entry_id INTEGER NOT NULL REFERENCES entries (id) DEFERRABLE INITIALLY DEFERRED,
    line     INTEGER NOT NULL CHECK (line > 0),
    key      TEXT    NOT NULL CHECK (key <> ''),
    previous INTEGER REFERENCES prices (id),
    doc      TEXT    NOT NULL,
    UNIQUE (entry_id, line)
) STRICT;

CREATE TABLE design_versions (
    id       INTEGER PRIMARY KEY,
    entry_id INTEGER NOT NULL REFERENCES entries (id) DEFERRABLE INITIALLY DEFERRED,
    line     INTEGER NOT NULL CHECK (line > 0),
    key      TEXT    NOT NULL CHECK (key <> ''),
    previous INTEGER REFERENCES design_versions (id),
    doc      TEXT    NOT NULL,
    UNIQUE (entry_id, line)
) STRICT;

CREATE TABLE line_versions (
    id       INTEGER PRIMARY KEY,
    entry_id INTEGER NOT NULL REFERENCES entries (id) DEFERRABLE INITIALLY DEFERRED,
    line     INTEGER NOT NULL CHECK (line > 0),
    key      TEXT    NOT NULL CHECK (key <> ''),
    previous INTEGER REFERENCES line_versions (id),
    doc      TEXT    NOT NULL,
    UNIQUE (entry_id, line)
) STRICT;

CREATE TABLE holds (
    id       INTEGER PRIMARY KEY,
    entry_id INTEGER NOT NULL REFERENCES entries (id) DEFERRABLE INITIALLY DEFERRED,
    line     INTEGER NOT NULL CHECK (line > 0),
    key      TEXT    NOT NULL CHECK (key <> ''),
    previous INTEGER REFERENCES holds (id),
    doc      TEXT    NOT NULL,
    UNIQUE (entry_id, line)
) STRICT;

CREATE TABLE order_events (
    id       INTEGER PRIMARY KEY,
    entry_id INTEGER NOT NULL REFERENCES entries (id) DEFERRABLE INITIALLY DEFERRED,
    line     INTEGER NOT NULL CHECK (line > 0),
    key      TEXT    NOT NULL CHECK (key <> ''),
    previous INTEGER REFERENCES order_events (id),
    doc      TEXT    NOT NULL,
    UNIQUE (entry_id, line)
) STRICT;

CREATE TABLE memo_events (
    id       INTEGER PRIMARY KEY,
    entry_id INTEGER NOT NULL REFERENCES entries (id) DEFERRABLE INITIALLY DEFERRED,
    line     INTEGER NOT NULL CHECK (line > 0),
    key      TEXT    NOT NULL CHECK (key <> ''),
    previous INTEGER REFERENCES memo_events (id),
    doc      TEXT    NOT NULL,
    UNIQUE (entry_id, line)
) STRICT;

CREATE TABLE sale_events (
    id       INTEGER PRIMARY KEY,
    entry_id INTEGER NOT NULL REFERENCES entries (id) DEFERRABLE INITIALLY DEFERRED,
    line     INTEGER NOT NULL CHECK (line > 0),
    key      TEXT    NOT NULL CHECK (key <> ''),
    previous INTEGER REFERENCES sale_events (id),
    doc      TEXT    NOT NULL,
    UNIQUE (entry_id, line)
) STRICT;

CREATE TABLE setting_works (
    id       INTEGER PRIMARY KEY,
    entry_id INTEGER NOT NULL REFERENCES entries (id) DEFERRABLE INITIALLY DEFERRED,
    line     INTEGER NOT NULL CHECK (line > 0),
    key      TEXT    NOT NULL CHECK (key <> ''),
    previous INTEGER REFERENCES setting_works (id),
    doc      TEXT    NOT NULL,
    UNIQUE (entry_id, line)
) STRICT;

CREATE TABLE offers (
    id       INTEGER PRIMARY KEY,
    entry_id INTEGER NOT NULL REFERENCES entries (id) DEFERRABLE INITIALLY DEFERRED,
    line     INTEGER NOT NULL CHECK (line > 0),
    key      TEXT    NOT NULL CHECK (key <> ''),
    previous INTEGER REFERENCES offers (id),
    doc      TEXT    NOT NULL,
    UNIQUE (entry_id, line)
) STRICT;

CREATE TABLE readings (
    id       INTEGER PRIMARY KEY,
    entry_id INTEGER NOT NULL REFERENCES entries (id) DEFERRABLE INITIALLY DEFERRED,
    line     INTEGER NOT NULL CHECK (line > 0),
    key      TEXT    NOT NULL CHECK (key <> ''),
    previous INTEGER CHECK (previous IS NULL),
    doc      TEXT    NOT NULL,
    UNIQUE (entry_id, line)
) STRICT;

CREATE TABLE reports (
    id       INTEGER PRIMARY KEY,
    entry_id INTEGER NOT NULL REFERENCES entries (id) DEFERRABLE INITIALLY DEFERRED,
    line     INTEGER NOT NULL CHECK (line > 0),
    key      TEXT    NOT NULL CHECK (key <> ''),
    previous INTEGER CHECK (previous IS NULL),
    doc      TEXT    NOT NULL,
    UNIQUE (entry_id, line)
) STRICT;

CREATE TABLE documents (
    id       INTEGER PRIMARY KEY,
    entry_id INTEGER NOT NULL REFERENCES entries (id) DEFERRABLE INITIALLY DEFERRED,
    line     INTEGER NOT NULL CHECK (line > 0),
    key      TEXT    NOT NULL CHECK (key <> ''),
    previous INTEGER CHECK (previous IS NULL),
    doc      TEXT    NOT NULL,
    UNIQUE (entry_id, line)
) STRICT;

CREATE UNIQUE INDEX readings_by_key ON readings (key COLLATE NOCASE);
CREATE UNIQUE INDEX reports_by_key ON reports (key COLLATE NOCASE);
CREATE UNIQUE INDEX documents_by_key ON documents (key COLLATE NOCASE);

CREATE TABLE document_files (
    document_id INTEGER PRIMARY KEY REFERENCES documents (id),
    bytes       BLOB NOT NULL
) STRICT;

-- Derived.

-- What lies at the real places; what went through a boundary is in the postings.
CREATE TABLE balances (
    lot_id INTEGER NOT NULL REFERENCES lot_versions (id),
    place  TEXT    NOT NULL,
    pieces INTEGER NOT NULL,
    carats INTEGER NOT NULL,
    cost   INTEGER NOT NULL,
    PRIMARY KEY (lot_id, place),
    CONSTRAINT nothing_below_zero CHECK (pieces >= 0 AND carats >= 0 AND cost >= 0),
    CONSTRAINT nothing_without_pieces CHECK (pieces > 0 OR (carats = 0 AND cost = 0))
) STRICT, WITHOUT ROWID;

CREATE TABLE current_versions (
    kind       TEXT    NOT NULL,
    key        TEXT    NOT NULL, -- in lower case: keys compare without case
    first_id   INTEGER NOT NULL, -- the key's first version; orders keys
    version_id INTEGER NOT NULL, -- and its newest
    PRIMARY KEY (kind, key)
) STRICT, WITHOUT ROWID;

CREATE INDEX current_versions_by_first ON current_versions (kind, first_id);

CREATE TABLE counters (
    series TEXT    PRIMARY KEY,
    last   INTEGER NOT NULL CHECK (last > 0)
) STRICT, WITHOUT ROWID;

-- The law of an entry.

-- +goose StatementBegin
CREATE TRIGGER entries_follow BEFORE INSERT ON entries
BEGIN
    SELECT RAISE(ABORT, 'entries are numbered without gaps')
     WHERE NEW.id <> (SELECT coalesce(max(id), 0) + 1 FROM entries);
    SELECT RAISE(ABORT, 'an entry seals the entry before it')
     WHERE NEW.previous_hash <> coalesce((SELECT hash FROM entries WHERE id = NEW.id - 1), '');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER entries_balance AFTER INSERT ON entries
BEGIN
    SELECT RAISE(ABORT, 'an entry has the postings that it says, and they balance in pieces, carats and cost')
      FROM (SELECT count(*) AS n, sum(pieces) AS pieces, sum(carats) AS carats, sum(cost) AS cost FROM postings WHERE entry_id = NEW.id)
     WHERE n <> NEW.posting_count OR pieces <> 0 OR carats <> 0 OR cost <> 0;
    SELECT RAISE(ABORT, 'an entry has as many records as it says')
     WHERE NEW.record_count <> (
           (SELECT count(*) FROM settings WHERE entry_id = NEW.id)
         + (SELECT count(*) FROM parties WHERE entry_id = NEW.id)
         + (SELECT count(*) FROM parcel_versions WHERE entry_id = NEW.id)
         + (SELECT count(*) FROM lot_versions WHERE entry_id = NEW.id)
         + (SELECT count(*) FROM charges WHERE entry_id = NEW.id)
         + (SELECT count(*) FROM rates WHERE entry_id = NEW.id)
         + (SELECT count(*) FROM prices WHERE entry_id = NEW.id)
         + (SELECT count(*) FROM design_versions WHERE entry_id = NEW.id)
         + (SELECT count(*) FROM line_versions WHERE entry_id = NEW.id)
         + (SELECT count(*) FROM holds WHERE entry_id = NEW.id)
         + (SELECT count(*) FROM order_events WHERE entry_id = NEW.id)
         + (SELECT count(*) FROM memo_events WHERE entry_id = NEW.id)
         + (SELECT count(*) FROM sale_events WHERE entry_id = NEW.id)
         + (SELECT count(*) FROM setting_works WHERE entry_id = NEW.id)
         + (SELECT count(*) FROM offers WHERE entry_id = NEW.id)
         + (SELECT count(*) FROM readings WHERE entry_id = NEW.id)
         + (SELECT count(*) FROM reports WHERE entry_id = NEW.id)
         + (SELECT count(*) FROM documents WHERE entry_id = NEW.id));
    -- The row to insert is the new balance itself: CHECKs look at it before the conflict.
    INSERT INTO balances (lot_id, place, pieces, carats, cost)
    SELECT p.lot_id, p.place, sum(p.pieces) + coalesce(max(b.pieces), 0), sum(p.carats) + coalesce(max(b.carats), 0), sum(p.cost) + coalesce(max(b.cost), 0)
      FROM postings p LEFT JOIN balances b ON b.lot_id = p.lot_id AND b.place = p.place
     WHERE p.entry_id = NEW.id
       AND (p.place = 'safe' OR substr(p.place, 1, instr(p.place, '/')) IN ('cutter/', 'setter/', 'memo/', 'piece/'))
     GROUP BY p.lot_id, p.place
        ON CONFLICT (lot_id, place) DO UPDATE
       SET pieces = excluded.pieces, carats = excluded.carats, cost = excluded.cost;
END;
-- +goose StatementEnd

-- The journal and the versions only grow, and a finished entry takes nothing more.

-- +goose StatementBegin
CREATE TRIGGER book_grow BEFORE INSERT ON book WHEN EXISTS (SELECT 1 FROM book)
BEGIN SELECT RAISE(ABORT, 'book: a book has one currency and zone for ever'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER book_no_update BEFORE UPDATE ON book
BEGIN SELECT RAISE(ABORT, 'book: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER book_no_delete BEFORE DELETE ON book
BEGIN SELECT RAISE(ABORT, 'book: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER entries_no_update BEFORE UPDATE ON entries
BEGIN SELECT RAISE(ABORT, 'entries: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER entries_no_delete BEFORE DELETE ON entries
BEGIN SELECT RAISE(ABORT, 'entries: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER postings_grow BEFORE INSERT ON postings WHEN EXISTS (SELECT 1 FROM entries WHERE id = NEW.entry_id)
    OR EXISTS (SELECT 1 FROM postings WHERE entry_id = NEW.entry_id AND line = NEW.line)
BEGIN SELECT RAISE(ABORT, 'postings: the entry is finished'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER postings_no_update BEFORE UPDATE ON postings
BEGIN SELECT RAISE(ABORT, 'postings: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER postings_no_delete BEFORE DELETE ON postings
BEGIN SELECT RAISE(ABORT, 'postings: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER settings_grow BEFORE INSERT ON settings WHEN EXISTS (SELECT 1 FROM entries WHERE id = NEW.entry_id)
    OR EXISTS (SELECT 1 FROM settings WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'settings: the entry is finished'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER settings_no_update BEFORE UPDATE ON settings
BEGIN SELECT RAISE(ABORT, 'settings: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER settings_no_delete BEFORE DELETE ON settings
BEGIN SELECT RAISE(ABORT, 'settings: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER parties_grow BEFORE INSERT ON parties WHEN EXISTS (SELECT 1 FROM entries WHERE id = NEW.entry_id)
    OR EXISTS (SELECT 1 FROM parties WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'parties: the entry is finished'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER parties_no_update BEFORE UPDATE ON parties
BEGIN SELECT RAISE(ABORT, 'parties: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER parties_no_delete BEFORE DELETE ON parties
BEGIN SELECT RAISE(ABORT, 'parties: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER parcel_versions_grow BEFORE INSERT ON parcel_versions WHEN EXISTS (SELECT 1 FROM entries WHERE id = NEW.entry_id)
    OR EXISTS (SELECT 1 FROM parcel_versions WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'parcel_versions: the entry is finished'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER parcel_versions_no_update BEFORE UPDATE ON parcel_versions
BEGIN SELECT RAISE(ABORT, 'parcel_versions: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER parcel_versions_no_delete BEFORE DELETE ON parcel_versions
BEGIN SELECT RAISE(ABORT, 'parcel_versions: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER lot_versions_grow BEFORE INSERT ON lot_versions WHEN EXISTS (SELECT 1 FROM entries WHERE id = NEW.entry_id)
    OR EXISTS (SELECT 1 FROM lot_versions WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'lot_versions: the entry is finished'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER lot_versions_no_update BEFORE UPDATE ON lot_versions
BEGIN SELECT RAISE(ABORT, 'lot_versions: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER lot_versions_no_delete BEFORE DELETE ON lot_versions
BEGIN SELECT RAISE(ABORT, 'lot_versions: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER charges_grow BEFORE INSERT ON charges WHEN EXISTS (SELECT 1 FROM entries WHERE id = NEW.entry_id)
    OR EXISTS (SELECT 1 FROM charges WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'charges: the entry is finished'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER charges_no_update BEFORE UPDATE ON charges
BEGIN SELECT RAISE(ABORT, 'charges: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER charges_no_delete BEFORE DELETE ON charges
BEGIN SELECT RAISE(ABORT, 'charges: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER rates_grow BEFORE INSERT ON rates WHEN EXISTS (SELECT 1 FROM entries WHERE id = NEW.entry_id)
    OR EXISTS (SELECT 1 FROM rates WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'rates: the entry is finished'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER rates_no_update BEFORE UPDATE ON rates
BEGIN SELECT RAISE(ABORT, 'rates: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER rates_no_delete BEFORE DELETE ON rates
BEGIN SELECT RAISE(ABORT, 'rates: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER prices_grow BEFORE INSERT ON prices WHEN EXISTS (SELECT 1 FROM entries WHERE id = NEW.entry_id)
    OR EXISTS (SELECT 1 FROM prices WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'prices: the entry is finished'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER prices_no_update BEFORE UPDATE ON prices
BEGIN SELECT RAISE(ABORT, 'prices: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER prices_no_delete BEFORE DELETE ON prices
BEGIN SELECT RAISE(ABORT, 'prices: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER design_versions_grow BEFORE INSERT ON design_versions WHEN EXISTS (SELECT 1 FROM entries WHERE id = NEW.entry_id)
    OR EXISTS (SELECT 1 FROM design_versions WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'design_versions: the entry is finished'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER design_versions_no_update BEFORE UPDATE ON design_versions
BEGIN SELECT RAISE(ABORT, 'design_versions: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER design_versions_no_delete BEFORE DELETE ON design_versions
BEGIN SELECT RAISE(ABORT, 'design_versions: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER line_versions_grow BEFORE INSERT ON line_versions WHEN EXISTS (SELECT 1 FROM entries WHERE id = NEW.entry_id)
    OR EXISTS (SELECT 1 FROM line_versions WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'line_versions: the entry is finished'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER line_versions_no_update BEFORE UPDATE ON line_versions
BEGIN SELECT RAISE(ABORT, 'line_versions: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER line_versions_no_delete BEFORE DELETE ON line_versions
BEGIN SELECT RAISE(ABORT, 'line_versions: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER holds_grow BEFORE INSERT ON holds WHEN EXISTS (SELECT 1 FROM entries WHERE id = NEW.entry_id)
    OR EXISTS (SELECT 1 FROM holds WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'holds: the entry is finished'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER holds_no_update BEFORE UPDATE ON holds
BEGIN SELECT RAISE(ABORT, 'holds: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER holds_no_delete BEFORE DELETE ON holds
BEGIN SELECT RAISE(ABORT, 'holds: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER order_events_grow BEFORE INSERT ON order_events WHEN EXISTS (SELECT 1 FROM entries WHERE id = NEW.entry_id)
    OR EXISTS (SELECT 1 FROM order_events WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'order_events: the entry is finished'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER order_events_no_update BEFORE UPDATE ON order_events
BEGIN SELECT RAISE(ABORT, 'order_events: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER order_events_no_delete BEFORE DELETE ON order_events
BEGIN SELECT RAISE(ABORT, 'order_events: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER memo_events_grow BEFORE INSERT ON memo_events WHEN EXISTS (SELECT 1 FROM entries WHERE id = NEW.entry_id)
    OR EXISTS (SELECT 1 FROM memo_events WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'memo_events: the entry is finished'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER memo_events_no_update BEFORE UPDATE ON memo_events
BEGIN SELECT RAISE(ABORT, 'memo_events: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER memo_events_no_delete BEFORE DELETE ON memo_events
BEGIN SELECT RAISE(ABORT, 'memo_events: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER sale_events_grow BEFORE INSERT ON sale_events WHEN EXISTS (SELECT 1 FROM entries WHERE id = NEW.entry_id)
    OR EXISTS (SELECT 1 FROM sale_events WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'sale_events: the entry is finished'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER setting_works_grow BEFORE INSERT ON setting_works WHEN EXISTS (SELECT 1 FROM entries WHERE id = NEW.entry_id)
    OR EXISTS (SELECT 1 FROM setting_works WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'setting_works: the entry is finished'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER sale_events_no_update BEFORE UPDATE ON sale_events
BEGIN SELECT RAISE(ABORT, 'sale_events: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER setting_works_no_update BEFORE UPDATE ON setting_works
BEGIN SELECT RAISE(ABORT, 'setting_works: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER sale_events_no_delete BEFORE DELETE ON sale_events
BEGIN SELECT RAISE(ABORT, 'sale_events: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER setting_works_no_delete BEFORE DELETE ON setting_works
BEGIN SELECT RAISE(ABORT, 'setting_works: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER offers_grow BEFORE INSERT ON offers WHEN EXISTS (SELECT 1 FROM entries WHERE id = NEW.entry_id)
    OR EXISTS (SELECT 1 FROM offers WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'offers: the entry is finished'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER offers_no_update BEFORE UPDATE ON offers
BEGIN SELECT RAISE(ABORT, 'offers: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER offers_no_delete BEFORE DELETE ON offers
BEGIN SELECT RAISE(ABORT, 'offers: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER readings_grow BEFORE INSERT ON readings WHEN EXISTS (SELECT 1 FROM entries WHERE id = NEW.entry_id)
    OR EXISTS (SELECT 1 FROM readings WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'readings: the entry is finished'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER readings_no_update BEFORE UPDATE ON readings
BEGIN SELECT RAISE(ABORT, 'readings: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER readings_no_delete BEFORE DELETE ON readings
BEGIN SELECT RAISE(ABORT, 'readings: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER reports_grow BEFORE INSERT ON reports WHEN EXISTS (SELECT 1 FROM entries WHERE id = NEW.entry_id)
    OR EXISTS (SELECT 1 FROM reports WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'reports: the entry is finished'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER reports_no_update BEFORE UPDATE ON reports
BEGIN SELECT RAISE(ABORT, 'reports: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER reports_no_delete BEFORE DELETE ON reports
BEGIN SELECT RAISE(ABORT, 'reports: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER documents_grow BEFORE INSERT ON documents WHEN EXISTS (SELECT 1 FROM entries WHERE id = NEW.entry_id)
    OR EXISTS (SELECT 1 FROM documents WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'documents: the entry is finished'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER documents_no_update BEFORE UPDATE ON documents
BEGIN SELECT RAISE(ABORT, 'documents: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER documents_no_delete BEFORE DELETE ON documents
BEGIN SELECT RAISE(ABORT, 'documents: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER document_files_grow BEFORE INSERT ON document_files WHEN EXISTS (SELECT 1 FROM document_files WHERE document_id = NEW.document_id)
BEGIN SELECT RAISE(ABORT, 'document_files: the file is kept'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER document_files_no_update BEFORE UPDATE ON document_files
BEGIN SELECT RAISE(ABORT, 'document_files: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER document_files_no_delete BEFORE DELETE ON document_files
BEGIN SELECT RAISE(ABORT, 'document_files: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd
