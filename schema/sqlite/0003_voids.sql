-- +goose Up

-- A new kind of record: a reading may be declared void. It needs no table. An
-- older program would still count such a reading, and now refuses the book.

SELECT 1;
