package answer

import (
	"fmt"
	"strings"

	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/sheet"
)

// Moved is what an entry moved.
type Moved struct {
	Entry    string           `json:"entry"`
	Lots     []string         `json:"lots"` // new or changed lots
	Postings []ledger.Posting `json:"postings"`
	Warnings fault.List       `json:"warnings"`
}

func (m *Moved) columns() []column[ledger.Posting] {
	return []column[ledger.Posting]{
		screen("entry", func(*ledger.Posting) sheet.Cell { return sheet.Text(m.Entry) }),
		screen("lot", func(p *ledger.Posting) sheet.Cell { return sheet.Text(p.Lot) }),
		screen("place", func(p *ledger.Posting) sheet.Cell { return sheet.Text(string(p.Place)) }),
		screen("pieces", signedPieces), screen("carats", signedCarats), screen("cost", signedCost),
	}
}

// Screen is the postings, or which lots changed when nothing moved.
func (m *Moved) Screen() Screen {
	var s Screen
	switch {
	case len(m.Postings) == 0 && len(m.Lots) == 0:
		s.line("%s: moved nothing", m.Entry)
		return s
	case len(m.Postings) == 0:
		s.line("%s: changed %s, moved nothing", m.Entry, strings.Join(m.Lots, ", "))
		return s
	}
	return Screen{{Table: tableOf(m.columns(), m.Postings)}}
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
