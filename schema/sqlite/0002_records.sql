-- +goose Up

-- One table of records in place of a table a kind, an index of what they speak
-- of, the places that papers, offices and finished pieces need, and files by
-- their hash. Entries, their bodies and all that a body is written from stay as
-- they are. The derived tables are left empty, at version 0: the program that
-- opens the book fills them.

-- The records.

CREATE TABLE records (
    id       INTEGER PRIMARY KEY CHECK (id > 0),
    kind     TEXT    NOT NULL CHECK (kind <> ''),
    key      TEXT    NOT NULL CHECK (key <> ''),
    entry_id INTEGER NOT NULL REFERENCES entries (id) DEFERRABLE INITIALLY DEFERRED,
    line     INTEGER NOT NULL CHECK (line > 0),
    previous INTEGER REFERENCES records (id), -- the version that this one replaces
    doc      TEXT    NOT NULL CHECK (json_valid(doc)),
    UNIQUE (entry_id, line),
    CHECK (previous IS NULL OR kind NOT IN ('reading', 'report', 'document')) -- facts that nothing replaces
) STRICT;

-- moved gives every record its new id, in the order of entries and lines.
CREATE TABLE moved (
    id   INTEGER PRIMARY KEY,
    kind TEXT    NOT NULL,
    old  INTEGER NOT NULL
) STRICT;

INSERT INTO moved (kind, old)
SELECT kind, id FROM (
    SELECT 'setting' AS kind, id, entry_id, line FROM settings
    UNION ALL SELECT 'party', id, entry_id, line FROM parties
    UNION ALL SELECT 'parcel', id, entry_id, line FROM parcel_versions
    UNION ALL SELECT 'lot', id, entry_id, line FROM lot_versions
    UNION ALL SELECT 'charge', id, entry_id, line FROM charges
    UNION ALL SELECT 'reading', id, entry_id, line FROM readings
    UNION ALL SELECT 'report', id, entry_id, line FROM reports
    UNION ALL SELECT 'rate', id, entry_id, line FROM rates
    UNION ALL SELECT 'price', id, entry_id, line FROM prices
    UNION ALL SELECT 'design', id, entry_id, line FROM design_versions
    UNION ALL SELECT 'line', id, entry_id, line FROM line_versions
    UNION ALL SELECT 'hold', id, entry_id, line FROM holds
    UNION ALL SELECT 'order', id, entry_id, line FROM order_events
    UNION ALL SELECT 'memo', id, entry_id, line FROM memo_events
    UNION ALL SELECT 'sale', id, entry_id, line FROM sale_events
    UNION ALL SELECT 'work', id, entry_id, line FROM setting_works
    UNION ALL SELECT 'document', id, entry_id, line FROM documents
    UNION ALL SELECT 'offer', id, entry_id, line FROM offers
) ORDER BY entry_id, line;

CREATE UNIQUE INDEX moved_by_old ON moved (kind, old);

INSERT INTO records (id, kind, key, entry_id, line, previous, doc)
SELECT m.id, m.kind, t.key, t.entry_id, t.line, p.id, t.doc
  FROM moved m JOIN settings t ON t.id = m.old LEFT JOIN moved p ON p.kind = 'setting' AND p.old = t.previous
 WHERE m.kind = 'setting' ORDER BY m.id;

INSERT INTO records (id, kind, key, entry_id, line, previous, doc)
SELECT m.id, m.kind, t.key, t.entry_id, t.line, p.id, t.doc
  FROM moved m JOIN parties t ON t.id = m.old LEFT JOIN moved p ON p.kind = 'party' AND p.old = t.previous
 WHERE m.kind = 'party' ORDER BY m.id;

INSERT INTO records (id, kind, key, entry_id, line, previous, doc)
SELECT m.id, m.kind, t.key, t.entry_id, t.line, p.id, t.doc
  FROM moved m JOIN parcel_versions t ON t.id = m.old LEFT JOIN moved p ON p.kind = 'parcel' AND p.old = t.previous
 WHERE m.kind = 'parcel' ORDER BY m.id;

INSERT INTO records (id, kind, key, entry_id, line, previous, doc)
SELECT m.id, m.kind, t.key, t.entry_id, t.line, p.id, t.doc
  FROM moved m JOIN lot_versions t ON t.id = m.old LEFT JOIN moved p ON p.kind = 'lot' AND p.old = t.previous
 WHERE m.kind = 'lot' ORDER BY m.id;

INSERT INTO records (id, kind, key, entry_id, line, previous, doc)
SELECT m.id, m.kind, t.key, t.entry_id, t.line, p.id, t.doc
  FROM moved m JOIN charges t ON t.id = m.old LEFT JOIN moved p ON p.kind = 'charge' AND p.old = t.previous
 WHERE m.kind = 'charge' ORDER BY m.id;

INSERT INTO records (id, kind, key, entry_id, line, previous, doc)
SELECT m.id, m.kind, t.key, t.entry_id, t.line, p.id, t.doc
  FROM moved m JOIN readings t ON t.id = m.old LEFT JOIN moved p ON p.kind = 'reading' AND p.old = t.previous
 WHERE m.kind = 'reading' ORDER BY m.id;

INSERT INTO records (id, kind, key, entry_id, line, previous, doc)
SELECT m.id, m.kind, t.key, t.entry_id, t.line, p.id, t.doc
  FROM moved m JOIN reports t ON t.id = m.old LEFT JOIN moved p ON p.kind = 'report' AND p.old = t.previous
 WHERE m.kind = 'report' ORDER BY m.id;

INSERT INTO records (id, kind, key, entry_id, line, previous, doc)
SELECT m.id, m.kind, t.key, t.entry_id, t.line, p.id, t.doc
  FROM moved m JOIN rates t ON t.id = m.old LEFT JOIN moved p ON p.kind = 'rate' AND p.old = t.previous
 WHERE m.kind = 'rate' ORDER BY m.id;

INSERT INTO records (id, kind, key, entry_id, line, previous, doc)
SELECT m.id, m.kind, t.key, t.entry_id, t.line, p.id, t.doc
  FROM moved m JOIN prices t ON t.id = m.old LEFT JOIN moved p ON p.kind = 'price' AND p.old = t.previous
 WHERE m.kind = 'price' ORDER BY m.id;

INSERT INTO records (id, kind, key, entry_id, line, previous, doc)
SELECT m.id, m.kind, t.key, t.entry_id, t.line, p.id, t.doc
  FROM moved m JOIN design_versions t ON t.id = m.old LEFT JOIN moved p ON p.kind = 'design' AND p.old = t.previous
 WHERE m.kind = 'design' ORDER BY m.id;

INSERT INTO records (id, kind, key, entry_id, line, previous, doc)
SELECT m.id, m.kind, t.key, t.entry_id, t.line, p.id, t.doc
  FROM moved m JOIN line_versions t ON t.id = m.old LEFT JOIN moved p ON p.kind = 'line' AND p.old = t.previous
 WHERE m.kind = 'line' ORDER BY m.id;

INSERT INTO records (id, kind, key, entry_id, line, previous, doc)
SELECT m.id, m.kind, t.key, t.entry_id, t.line, p.id, t.doc
  FROM moved m JOIN holds t ON t.id = m.old LEFT JOIN moved p ON p.kind = 'hold' AND p.old = t.previous
 WHERE m.kind = 'hold' ORDER BY m.id;

INSERT INTO records (id, kind, key, entry_id, line, previous, doc)
SELECT m.id, m.kind, t.key, t.entry_id, t.line, p.id, t.doc
  FROM moved m JOIN order_events t ON t.id = m.old LEFT JOIN moved p ON p.kind = 'order' AND p.old = t.previous
 WHERE m.kind = 'order' ORDER BY m.id;

INSERT INTO records (id, kind, key, entry_id, line, previous, doc)
SELECT m.id, m.kind, t.key, t.entry_id, t.line, p.id, t.doc
  FROM moved m JOIN memo_events t ON t.id = m.old LEFT JOIN moved p ON p.kind = 'memo' AND p.old = t.previous
 WHERE m.kind = 'memo' ORDER BY m.id;

INSERT INTO records (id, kind, key, entry_id, line, previous, doc)
SELECT m.id, m.kind, t.key, t.entry_id, t.line, p.id, t.doc
  FROM moved m JOIN sale_events t ON t.id = m.old LEFT JOIN moved p ON p.kind = 'sale' AND p.old = t.previous
 WHERE m.kind = 'sale' ORDER BY m.id;

INSERT INTO records (id, kind, key, entry_id, line, previous, doc)
SELECT m.id, m.kind, t.key, t.entry_id, t.line, p.id, t.doc
  FROM moved m JOIN setting_works t ON t.id = m.old LEFT JOIN moved p ON p.kind = 'work' AND p.old = t.previous
 WHERE m.kind = 'work' ORDER BY m.id;

INSERT INTO records (id, kind, key, entry_id, line, previous, doc)
SELECT m.id, m.kind, t.key, t.entry_id, t.line, p.id, t.doc
  FROM moved m JOIN documents t ON t.id = m.old LEFT JOIN moved p ON p.kind = 'document' AND p.old = t.previous
 WHERE m.kind = 'document' ORDER BY m.id;

INSERT INTO records (id, kind, key, entry_id, line, previous, doc)
SELECT m.id, m.kind, t.key, t.entry_id, t.line, p.id, t.doc
  FROM moved m JOIN offers t ON t.id = m.old LEFT JOIN moved p ON p.kind = 'offer' AND p.old = t.previous
 WHERE m.kind = 'offer' ORDER BY m.id;

CREATE UNIQUE INDEX records_by_previous ON records (previous) WHERE previous IS NOT NULL;
CREATE UNIQUE INDEX records_written_once ON records (kind, key COLLATE NOCASE) WHERE kind IN ('reading', 'report', 'document');

-- The files beside documents, and pictures: each once, by its hash.

CREATE TABLE files (
    sha256 TEXT NOT NULL PRIMARY KEY CHECK (length(sha256) = 64),
    bytes  BLOB -- NULL: a picture that was taken out
) STRICT;

INSERT INTO files (sha256, bytes)
SELECT json_extract(d.doc, '$.sha256'), f.bytes FROM documents d JOIN document_files f ON f.document_id = d.id WHERE true
    ON CONFLICT (sha256) DO NOTHING;

-- The postings know their lots by the new ids.

DROP TRIGGER entries_balance;

CREATE TABLE moved_postings (
    entry_id INTEGER NOT NULL REFERENCES entries (id) DEFERRABLE INITIALLY DEFERRED,
    line     INTEGER NOT NULL CHECK (line > 0),
    lot_id   INTEGER NOT NULL, -- the lot's first version, as entries_balance proves
    place    TEXT    NOT NULL CHECK (
        place IN ('safe', 'loss/cutting', 'loss/breakage', 'loss/count', 'loss/weighing', 'made/cutting', 'made/piece')
        OR (substr(place, 1, instr(place, '/')) IN ('safe/', 'paper/', 'cutter/', 'setter/', 'memo/', 'piece/', 'vendor/', 'customer/', 'charge/')
            AND instr(place, '/') < length(place))),
    pieces   INTEGER NOT NULL,
    carats   INTEGER NOT NULL,
    cost     INTEGER NOT NULL,
    PRIMARY KEY (entry_id, line),
    CHECK (place <> 'made/cutting' OR (carats = 0 AND cost = 0))
) STRICT, WITHOUT ROWID;

INSERT INTO moved_postings (entry_id, line, lot_id, place, pieces, carats, cost)
SELECT p.entry_id, p.line, m.id, p.place, p.pieces, p.carats, p.cost
  FROM postings p JOIN moved m ON m.kind = 'lot' AND m.old = p.lot_id ORDER BY p.entry_id, p.line;

-- A dropped table looks for the rows that point to each of its rows.
CREATE INDEX settings_by_previous ON settings (previous);
CREATE INDEX parties_by_previous ON parties (previous);
CREATE INDEX parcel_versions_by_previous ON parcel_versions (previous);
CREATE INDEX lot_versions_by_previous ON lot_versions (previous);
CREATE INDEX charges_by_previous ON charges (previous);
CREATE INDEX rates_by_previous ON rates (previous);
CREATE INDEX prices_by_previous ON prices (previous);
CREATE INDEX design_versions_by_previous ON design_versions (previous);
CREATE INDEX line_versions_by_previous ON line_versions (previous);
CREATE INDEX holds_by_previous ON holds (previous);
CREATE INDEX order_events_by_previous ON order_events (previous);
CREATE INDEX memo_events_by_previous ON memo_events (previous);
CREATE INDEX sale_events_by_previous ON sale_events (previous);
CREATE INDEX setting_works_by_previous ON setting_works (previous);
CREATE INDEX offers_by_previous ON offers (previous);

DROP TABLE document_files;
DROP TABLE balances;
DROP TABLE current_versions;
DROP TABLE postings;
DROP TABLE moved;
DROP TABLE settings;
DROP TABLE parties;
DROP TABLE parcel_versions;
DROP TABLE lot_versions;
DROP TABLE charges;
DROP TABLE readings;
DROP TABLE reports;
DROP TABLE rates;
DROP TABLE prices;
DROP TABLE design_versions;
DROP TABLE line_versions;
DROP TABLE holds;
DROP TABLE order_events;
DROP TABLE memo_events;
DROP TABLE sale_events;
DROP TABLE setting_works;
DROP TABLE documents;
DROP TABLE offers;

ALTER TABLE moved_postings RENAME TO postings;
CREATE INDEX postings_by_lot ON postings (lot_id, entry_id);

-- Derived. counters stays as it is.

-- derived tells which version of the program's rules the derived tables follow.
CREATE TABLE derived (
    only    INTEGER PRIMARY KEY CHECK (only = 1),
    version INTEGER NOT NULL
) STRICT;

INSERT INTO derived (only, version) VALUES (1, 0);

-- What lies at the real places; what went through a boundary is in the postings.
CREATE TABLE balances (
    lot_id INTEGER NOT NULL,
    place  TEXT    NOT NULL,
    pieces INTEGER NOT NULL,
    carats INTEGER NOT NULL,
    cost   INTEGER NOT NULL,
    PRIMARY KEY (lot_id, place),
    CONSTRAINT nothing_below_zero CHECK (pieces >= 0 AND carats >= 0 AND cost >= 0),
    CONSTRAINT nothing_without_pieces CHECK (pieces > 0 OR (carats = 0 AND cost = 0))
) STRICT, WITHOUT ROWID;

-- Nearly all lots lie in the safe: they are found without an index.
CREATE INDEX balances_away ON balances (place, lot_id) WHERE place <> 'safe';

CREATE TABLE current_versions (
    kind       TEXT    NOT NULL,
    key        TEXT    NOT NULL, -- in lower case: keys compare without case
    first_id   INTEGER NOT NULL, -- the key's first version; orders keys
    version_id INTEGER NOT NULL, -- and its newest
    PRIMARY KEY (kind, key)
) STRICT, WITHOUT ROWID;

CREATE UNIQUE INDEX current_versions_by_first ON current_versions (kind, first_id);

-- What a record speaks of, in any of its versions.
CREATE TABLE refs (
    kind   TEXT    NOT NULL, -- lot, parcel, party, paper ...
    ref    TEXT    NOT NULL, -- in lower case
    record INTEGER NOT NULL, -- the record's first version
    PRIMARY KEY (kind, ref, record)
) STRICT, WITHOUT ROWID;

-- The law of an entry.

-- +goose StatementBegin
CREATE TRIGGER entries_balance AFTER INSERT ON entries
BEGIN
    SELECT RAISE(ABORT, 'an entry has the postings that it says, and they balance in pieces, carats and cost')
      FROM (SELECT count(*) AS n, sum(pieces) AS pieces, sum(carats) AS carats, sum(cost) AS cost FROM postings WHERE entry_id = NEW.id)
     WHERE n <> NEW.posting_count OR pieces <> 0 OR carats <> 0 OR cost <> 0;
    SELECT RAISE(ABORT, 'a posting names the first version of a lot')
     WHERE EXISTS (SELECT 1 FROM postings p LEFT JOIN records l ON l.id = p.lot_id AND l.kind = 'lot' AND l.previous IS NULL
                    WHERE p.entry_id = NEW.id AND l.id IS NULL);
    SELECT RAISE(ABORT, 'an entry has as many records as it says')
     WHERE NEW.record_count <> (SELECT count(*) FROM records WHERE entry_id = NEW.id);
    -- The row to insert is the new balance itself: CHECKs look at it before the conflict.
    INSERT INTO balances (lot_id, place, pieces, carats, cost)
    SELECT p.lot_id, p.place, sum(p.pieces) + coalesce(max(b.pieces), 0), sum(p.carats) + coalesce(max(b.carats), 0), sum(p.cost) + coalesce(max(b.cost), 0)
      FROM postings p LEFT JOIN balances b ON b.lot_id = p.lot_id AND b.place = p.place
     WHERE p.entry_id = NEW.id
       AND (p.place = 'safe' OR substr(p.place, 1, instr(p.place, '/')) IN ('safe/', 'paper/', 'cutter/', 'setter/', 'memo/', 'piece/'))
     GROUP BY p.lot_id, p.place
        ON CONFLICT (lot_id, place) DO UPDATE
       SET pieces = excluded.pieces, carats = excluded.carats, cost = excluded.cost;
END;
-- +goose StatementEnd

-- The journal only grows, and a finished entry takes nothing more.

-- +goose StatementBegin
CREATE TRIGGER postings_grow BEFORE INSERT ON postings WHEN EXISTS (SELECT 1 FROM entries WHERE id = NEW.entry_id)
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
CREATE TRIGGER records_grow BEFORE INSERT ON records WHEN EXISTS (SELECT 1 FROM entries WHERE id = NEW.entry_id)
    OR EXISTS (SELECT 1 FROM records WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'records: the entry is finished'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER records_follow BEFORE INSERT ON records WHEN NEW.previous IS NOT NULL
    AND (NOT EXISTS (SELECT 1 FROM records WHERE id = NEW.previous AND kind = NEW.kind AND id < NEW.id)
        OR EXISTS (SELECT 1 FROM records WHERE previous = NEW.previous))
BEGIN SELECT RAISE(ABORT, 'records: a version follows the newest of its kind and key'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER records_no_update BEFORE UPDATE ON records
BEGIN SELECT RAISE(ABORT, 'records: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER records_no_delete BEFORE DELETE ON records
BEGIN SELECT RAISE(ABORT, 'records: what is written stays, post a reversal or a new version'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER files_grow BEFORE INSERT ON files WHEN EXISTS (SELECT 1 FROM files WHERE sha256 = NEW.sha256)
BEGIN SELECT RAISE(ABORT, 'files: the file is kept'); END;
-- +goose StatementEnd

-- Only the bytes of what no issued document holds are taken out, and put back.

-- +goose StatementBegin
CREATE TRIGGER files_no_update BEFORE UPDATE ON files WHEN NEW.sha256 <> OLD.sha256
    OR (OLD.bytes IS NOT NULL AND (NEW.bytes IS NOT NULL
        OR EXISTS (SELECT 1 FROM records WHERE kind = 'document' AND instr(doc, OLD.sha256) > 0)))
BEGIN SELECT RAISE(ABORT, 'files: what is written stays, only a picture that no document holds may be taken out'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER files_no_delete BEFORE DELETE ON files
BEGIN SELECT RAISE(ABORT, 'files: what is written stays, only a picture that no document holds may be taken out'); END;
-- +goose StatementEnd
