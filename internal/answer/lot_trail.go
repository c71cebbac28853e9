package answer

import (
	"fmt"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/chart"
	"lotpaper/internal/num"
)

// TrailLot is one lot of a trail of stones, with what it has now.
type TrailLot struct {
	Lot    string      `json:"lot"`
	Name   string      `json:"name"`
	Depth  int         `json:"depth"` // below the first lot
	From   []string    `json:"from"`  // lots that its stones came from
	Pieces int64       `json:"pieces"`
	Carats num.Carat   `json:"carats"`
	Steps  []TrailStep `json:"steps"`
}

// TrailStep is what one entry did with a lot.
type TrailStep struct {
	Entry string    `json:"entry"`
	On    book.Date `json:"on"`
	What  string    `json:"what"`
}

// head is the lot in one line.
func (t *TrailLot) head() string {
	words := fmt.Sprintf("%s %s: %d pieces, %s ct now", t.Lot, t.Name, t.Pieces, t.Carats)
	if len(t.From) > 0 {
		words += ", from " + strings.Join(t.From, " and ")
	}
	return words
}

// trail adds the tree of lots to a screen, when there is more than one.
func (h *LotHistory) trail(s *Screen) {
	if len(h.Trail) < 2 {
		return
	}
	s.line("trail:")
	for _, t := range h.Trail {
		indent := strings.Repeat("  ", t.Depth+1)
		s.line("%s%s", indent, t.head())
		for _, x := range t.Steps {
			s.line("%s  %s %s %s", indent, x.Entry, x.On, x.What)
		}
	}
}

// Figure is the trail as a tree.
func (h *LotHistory) Figure() chart.Figure {
	tree := chart.Tree{Title: "Trail of " + h.Lot}
	for _, t := range h.Trail {
		n := chart.TreeNode{Text: t.head(), Depth: t.Depth, Strong: strings.EqualFold(t.Lot, h.Lot)}
		for _, x := range t.Steps {
			n.Lines = append(n.Lines, x.Entry+" "+string(x.On)+" "+x.What)
		}
		tree.Nodes = append(tree.Nodes, n)
	}
	return &tree
}
