package config

import (
	"fmt"
	"net/mail"
	"strings"
	"unicode"
	"unicode/utf8"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/page"
)

var headSettings = []Setting{
	{"head_trade", "", "what the house deals in, below its name on letters", line(func(h *book.House) *string {
		return &h.Trade
	})},
	{"head_address", "", "the house's address, its lines with ; between, e.g. 14 Harbour Steps; 2380 Sandmouth",
		headAddress},
	{"head_telephone", "", "the house's telephone number as papers print it",
		line(func(h *book.House) *string { return &h.Telephone })},
	{"head_email", "", "the house's e-mail address", headEmail},
	{"head_tax", "", "the house's tax number with its name, e.g. VAT XX 000 123 456",
		line(func(h *book.House) *string { return &h.TaxNumber })},
	{"head_bank", "", "where customers pay to: bank and account", line(func(h *book.House) *string { return &h.Bank })},
	{"head_signs", "", "who signs for the house", line(func(h *book.House) *string { return &h.Signs })},
	{"head_payment", "", "the term of payment, a sentence; empty: papers say nothing of it",
		line(func(h *book.House) *string { return &h.Payment })},
	{"head_returns", "", "the term of returns, a sentence; empty: papers say nothing of it",
		line(func(h *book.House) *string { return &h.Returns })},
	{"head_delivery", "", "the term of delivery, a sentence; empty: papers say nothing of it",
		line(func(h *book.House) *string { return &h.Delivery })},
	{"head_insurance", "", "who insures goods that are out, a sentence; empty: papers say nothing of it",
		line(func(h *book.House) *string { return &h.Insurance })},
	{"head_smallest", "0", "the smallest order, in the book's currency; 0: any",
		amount(func(c *Config, d num.Dec) { c.House.Smallest = d })},
	{"head_paper", "A4", "the paper in the printer: A4 or Letter", func(c *Config, v string) (f *fault.Fault) {
		c.House.Paper = v
		_, f = page.ParseSize(v)
		return f
	}},
	{"head_accent", "18/82/92", "the one colour of papers, red/green/blue from 0 to 255; not lighter than a grey of " +
		"45 %", func(c *Config, v string) (f *fault.Fault) {
		c.House.Accent = v
		_, f = page.ParseInk(v)
		return f
	}},
	{"head_dates", "day", "how papers write dates: day (13 March 2026), month (March 13, 2026) or year (2026-03-13)",
		word([]string{"day", "month", "year"}, func(c *Config, v string) { c.House.Dates = v })},
	{"head_logo", "", "the house's logo, a picture of the book, such as PIC7",
		line(func(h *book.House) *string { return &h.Logo })},
}

// printed refuses a text that no paper can print on one line.
func printed(v string) *fault.Fault {
	if !utf8.ValidString(v) || strings.ContainsFunc(v, unicode.IsControl) {
		return fault.New(fault.Invalid, "config-value", fmt.Sprintf("the text must be one line of letters, but is %q",
			v),
			"write it without control characters")
	}
	return nil
}

// line reads a line of text into a field of the head.
func line(field func(*book.House) *string) reader {
	return func(c *Config, v string) *fault.Fault {
		*field(&c.House) = strings.TrimSpace(v)
		return printed(v)
	}
}

// headAddress reads the lines of an address.
func headAddress(c *Config, v string) *fault.Fault {
	const most = 4 // beside a telephone number and an e-mail address
	c.House.Address = fields(v)
	if n := len(c.House.Address); n > most {
		return fault.New(fault.Invalid, "config-value", fmt.Sprintf("an address has at most %d lines, but this one %d",
			most, n), "join some of them")
	}
	return printed(v)
}

// headEmail reads an e-mail address, or none.
func headEmail(c *Config, v string) *fault.Fault {
	c.House.Email = v
	if a, err := mail.ParseAddress(v); v != "" && (err != nil || a.Address != v) {
		return fault.New(fault.Invalid, "config-value", fmt.Sprintf("%q is no e-mail address", v),
			"write it like office@house.example")
	}
	return printed(v)
}
