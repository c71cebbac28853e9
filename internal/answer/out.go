package answer

import (
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/num"
)

// outSum is what lies on papers of one kind, for the first line of their list.
type outSum struct {
	papers, late int
	pieces       int64
	carats       num.Carat
	with         []string
	worst        string // the paper that is overdue the longest, and with whom
	days         int64
}

// add counts a paper, with whom it is and by how many days it is overdue.
func (o *outSum) add(paper, with string, overdue int64, lots []book.SuppliedLot) {
	o.papers++
	for _, l := range lots {
		o.pieces, o.carats = o.pieces+l.Pieces, o.carats+l.Carats
	}
	if !slices.ContainsFunc(o.with, func(w string) bool { return strings.EqualFold(w, with) }) {
		o.with = append(o.with, with)
	}
	if overdue > 0 {
		o.late++
	}
	if overdue > o.days {
		o.days, o.worst = overdue, paper+" with "+with
	}
}

// mostNamed is how many parties the first line of a list names.
const mostNamed = 3

// words are the sum in one line: what is out, with whom, and what is overdue; empty
// when nothing is out.
func (o *outSum) words(one, many string) string {
	if o.papers == 0 {
		return ""
	}
	with := strings.Join(o.with, ", ")
	if len(o.with) > mostNamed {
		with = fmt.Sprintf("%d parties", len(o.with))
	}
	words := fmt.Sprintf("out on %s: %s, %s ct with %s", plural(o.papers, one, many),
		plural(int(o.pieces), "piece", "pieces"), o.carats, with)
	return words + "; " + overdueWords(o.late, o.worst, o.days)
}

// overdueWords say how many papers are overdue, and which one the longest.
func overdueWords(late int, worst string, days int64) string {
	switch late {
	case 0:
		return "nothing is overdue"
	case 1:
		return fmt.Sprintf("overdue: %s by %s", worst, plural(int(days), "day", "days"))
	}
	return fmt.Sprintf("%d overdue, the longest %s by %s", late, worst, plural(int(days), "day", "days"))
}
