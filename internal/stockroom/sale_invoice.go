package stockroom

import (
	"context"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/num"
)

// invoiceOf is the invoice of a sale: nothing of what the stones cost. lots are
// those of its lines.
func (m *mover) invoiceOf(ctx context.Context, sale book.Sale, to book.Party, lots []answer.StockLot, note string) (
	*answer.Invoice, error) {
	v := newInvoice(sale, to)
	v.Due, v.Note = sale.Due, note
	joint := num.Zero(v.Billed)
	for i, l := range sale.Lines {
		words, err := m.goodsLine(ctx, lots[i].Lot)
		if err != nil {
			return nil, err
		}
		amount := shown(l.Gross, l.Tax, sale)
		row := answer.InvoiceLine{Lot: l.Lot, Words: words, Pieces: l.Pieces, Carats: l.Carats,
			Basis: l.Basis, Price: l.Price, Amount: &amount}
		if l.Basis == book.LineTogether {
			joint = joint.Add(amount)
			row.Amount = nil
		}
		v.Lines = append(v.Lines, row)
		v.add(l.Gross, l.Tax)
	}
	if joint.Sign() > 0 {
		v.Together = &joint
	}
	return v.Invoice, nil
}

// invoice is an invoice being written.
type invoice struct{ *answer.Invoice }

// newInvoice is an invoice to a customer without lines.
func newInvoice(sale book.Sale, to book.Party) invoice {
	c := sale.Currency()
	v := invoice{&answer.Invoice{Sale: sale.Number, Customer: sale.Customer,
		Addressee: answer.AddresseeOf(to), Terms: sale.Terms, Billed: c, Lines: []answer.InvoiceLine{},
		Net: num.Zero(c), Total: num.Zero(c)}}
	if sale.Tax != nil {
		v.Tax = &answer.InvoiceTax{Rate: sale.Tax.Rate, In: sale.Tax.In, Margin: sale.Tax.Margin, Amount: num.Zero(c)}
	}
	return v
}

// add counts the amounts of a line.
func (v invoice) add(gross, tax num.Money) {
	v.Total = v.Total.Add(gross)
	v.Net = v.Net.Add(gross.Sub(tax))
	if v.Tax != nil {
		v.Tax.Amount = v.Tax.Amount.Add(tax)
	}
}

// shown is a line's amount as its invoice shows it: with the tax when the agreed
// prices include it.
func shown(gross, tax num.Money, sale book.Sale) num.Money {
	if sale.Tax != nil && !sale.Tax.In {
		return gross.Sub(tax)
	}
	return gross
}
