-- +goose Up

-- Pictures are records with two files. They need no table of their own. An older
-- program does not know them and now refuses the book.

SELECT 1;
