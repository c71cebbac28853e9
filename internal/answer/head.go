package answer

import (
	"lotpaper/internal/sheet"
)

// SetHead gives a paper its head.
func (h *Head) SetHead(head Head) { *h = head }

// unit is a header with the document's currency: "Cost (EUR)".
func (h Head) unit(header string) string { return header + " (" + string(h.Currency) + ")" }

// digits is the number of decimals of the document's currency.
func (h Head) digits() int { return h.Currency.Digits() }

// origin are the lines that say what a document was made from.
func (h Head) origin() [][2]string {
	out := [][2]string{{"Date", string(h.On)}}
	if h.Number != "" {
		out = append([][2]string{{"Number", h.Number}}, out...)
	}
	if h.Dealer != "" {
		out = append(out, [2]string{"By", h.Dealer})
	}
	return out
}

// basis are the lines that tie a document to the record.
func (h Head) basis() [][2]string {
	var out [][2]string
	if h.Book != "" {
		out = append(out, [2]string{"Book, head hash", h.Book})
	}
	if h.Facts != "" {
		out = append(out, [2]string{"Facts, version", h.Facts})
	}
	return out
}

// pairs adds label and value lines; the value covers width columns.
func (p *page) pairs(width int, lines [][2]string) {
	for _, l := range lines {
		p.add(append([]cell{styled(l[0], sheet.Label)}, text(l[1]).across(width)...)...)
	}
}

// section adds a heading over width columns.
func (p *page) section(title string, width int) {
	p.add(styled(title, sheet.Heading).across(width)...)
}

// notes adds small print over width columns.
func (p *page) notes(width int, lines ...string) {
	for _, l := range lines {
		p.add(styled(l, sheet.Note).across(width)...)
	}
}
