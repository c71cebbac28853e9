package answer

import (
	"fmt"
	"strings"

	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// Moved is what an entry moved.
type Moved struct {
	Entry    string           `json:"entry"`
	Lots     []string         `json:"lots"` // new or changed lots
	Postings []ledger.Posting `json:"postings"`
	Now      []ledger.Balance `json:"now"` // of each lot that moved, what lies where
	Warnings fault.List       `json:"warnings"`
	Words    string           `json:"-"` // what was done, when no lot was moved or changed
}

// movement is a posting, and what lies there now; nothing lies at a boundary.
type movement struct {
	ledger.Posting
	now *ledger.Balance
}

func (m *Moved) columns() []column[movement] {
	of := func(cell func(*ledger.Posting) sheet.Cell) func(*movement) sheet.Cell {
		return func(p *movement) sheet.Cell { return cell(&p.Posting) }
	}
	now := func(cell func(b *ledger.Balance) string) func(*movement) sheet.Cell {
		return func(p *movement) sheet.Cell {
			if p.now == nil {
				return sheet.Empty()
			}
			return sheet.Text(cell(p.now)).Right()
		}
	}
	return []column[movement]{
		screen("entry", func(*movement) sheet.Cell { return sheet.Text(m.Entry) }),
		screen("lot", func(p *movement) sheet.Cell { return sheet.Text(p.Lot) }),
		screen("place", func(p *movement) sheet.Cell { return sheet.Text(string(p.Place)) }),
		screen("pieces", of(signedPieces)), screen("carats", of(signedCarats)), screen("cost", of(signedCost)),
		screen("now pieces", now(func(b *ledger.Balance) string { return fmt.Sprint(b.Pieces) })),
		screen("now carats", now(func(b *ledger.Balance) string { return b.Carats.String() })),
		screen("now cost", now(func(b *ledger.Balance) string { return b.Cost.String() })),
	}
}

// movements are the postings, each with what lies there now.
func (m *Moved) movements() []movement {
	out := make([]movement, len(m.Postings))
	for i, p := range m.Postings {
		out[i].Posting = p
		if !p.Place.IsReal() {
			continue
		}
		out[i].now = &ledger.Balance{Lot: p.Lot, Place: p.Place, Cost: num.Zero(p.Cost.Currency())}
		for j, b := range m.Now {
			if strings.EqualFold(b.Lot, p.Lot) && b.Place == p.Place {
				out[i].now = &m.Now[j]
			}
		}
	}
	return out
}

// Screen is the postings with what lies there now, or which lots changed when nothing moved.
func (m *Moved) Screen() Screen {
	var s Screen
	switch {
	case len(m.Postings) == 0 && m.Words != "":
		s.line("%s: %s", m.Entry, m.Words)
		return s
	case len(m.Postings) == 0 && len(m.Lots) == 0:
		s.line("%s: moved nothing", m.Entry)
		return s
	case len(m.Postings) == 0:
		s.line("%s: changed %s, moved nothing", m.Entry, strings.Join(m.Lots, ", "))
		return s
	}
	return Screen{{Table: tableOf(m.columns(), m.movements())}}
}

// Warned returns the warnings of the movement.
func (m *Moved) Warned() fault.List { return m.Warnings }

// after is the postings under a remark.
func (m *Moved) after(remark string) Screen {
	var s Screen
	s.remark("%s", remark)
	return append(s, m.Screen()...)
}

// signedPieces, signedCarats and signedCost are changes as a screen shows them:
// what comes has a plus.
func signedPieces(p *ledger.Posting) sheet.Cell {
	return sheet.Text(fmt.Sprintf("%+d", p.Pieces)).Right()
}

func signedCarats(p *ledger.Posting) sheet.Cell { return signed(p.Carats > 0, p.Carats.String()) }

func signedCost(p *ledger.Posting) sheet.Cell { return signed(p.Cost.Sign() > 0, p.Cost.String()) }

func signed(comes bool, number string) sheet.Cell {
	if comes {
		number = "+" + number
	}
	return sheet.Text(number).Right()
}
