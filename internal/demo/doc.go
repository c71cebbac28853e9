// Package demo plays the invented dealer's whole job in a new book: it buys,
// tests, sorts, judges, plans, prices, proposes and orders, and reports what it
// found. It calls the rooms as any edge would, and has a clock of its own, so
// that two runs make the same book. It teaches nothing that the rooms do not
// answer.
package demo
