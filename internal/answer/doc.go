// Package answer holds one model for each question that a dealer asks: a plain
// struct that is printed as it is in JSON, with its text, figure and workbook
// beside it. Rooms fill the models in, edges choose the form. A model that is a
// paper or a plan carries the head of the book that it was read at. Nothing
// here reads a book or decides anything.
package answer
