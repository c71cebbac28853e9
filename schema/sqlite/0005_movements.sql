-- +goose Up

-- Stones lie on papers: paper/NUMBER, which the postings allow since 0002. What
-- comes back is a batch. These and the other kinds of records that came with
-- them need no table of their own. An older program does not know them and now
-- refuses the book.

SELECT 1;
