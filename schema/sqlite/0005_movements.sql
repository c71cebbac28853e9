-- +goose Up

-- Stones lie on papers: paper/NUMBER, which the postings allow since 0002. What
-- comes back is a batch. The new kinds of records need no table of their own:
-- ticket, transfer, batch, period, alias, payment, claim, bid. An older program does not
-- know them and now refuses the book.

SELECT 1;
