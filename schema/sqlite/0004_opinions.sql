-- +goose Up

-- A lot may hold the dealer's own opinion of what its stones are. It needs no
-- table. An older program would drop it when it changes a lot, and now refuses
-- the book.

SELECT 1;
