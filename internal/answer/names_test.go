package answer

import (
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"lotpaper/internal/book"
	"lotpaper/internal/chart"
	"lotpaper/internal/costing"
	"lotpaper/internal/formula"
)

// anyName draws a name that a design or a position may have: of signs that mean
// something to formulas, keys, papers or a spreadsheet, and of any others.
func anyName() *rapid.Generator[string] {
	sign := rapid.OneOf(
		rapid.SampledFrom([]string{"$", "$1", "$9", "{", "}", "/", "//", "\"", "'", "%", "%s", "&", "<", ">", "=", "+",
			"-", "@", "*", "!", "#REF!", "|", "\\", "(", ")", ",", ";", ":", "ROUND(1,2)", "{node/1/0}", "metal/gold",
			"breakage/1/0", "A1", "_x0041_", "é", "漢", " "}),
		rapid.Map(rapid.Rune(), func(r rune) string { return string(r) }),
	)
	return rapid.Custom(func(t *rapid.T) string {
		name := ""
		for range rapid.IntRange(1, 6).Draw(t, "signs") {
			name += sign.Draw(t, "sign")
		}
		return name
	}).Filter(func(s string) bool { return book.CheckFreeName("a name", s) == nil })
}

// anyPieces draws names for the sample's designs, positions and stones.
func anyPieces() *rapid.Generator[[]costing.PieceInput] {
	return rapid.Custom(func(t *rapid.T) []costing.PieceInput {
		pieces := samplePieces()
		designs := rapid.SliceOfNDistinct(anyName(), len(pieces), len(pieces), rapid.ID[string]).Draw(t, "designs")
		for i := range pieces {
			pieces[i].Design = designs[i]
			positions := rapid.SliceOfNDistinct(anyName(), len(pieces[i].Stones), len(pieces[i].Stones),
				rapid.ID[string]).Draw(t, "positions")
			for k := range pieces[i].Stones {
				pieces[i].Stones[k].Position, pieces[i].Stones[k].Name = positions[k], anyName().Draw(t, "stone")
			}
		}
		return pieces
	})
}

// namedProposal is the sample with these pieces, without its pictures.
func namedProposal(t *testing.T, pieces []costing.PieceInput) *Proposal {
	t.Helper()
	p := proposalOf(t, pieces)
	p.Risk, p.Moves, p.drawn = nil, nil, chart.Plan{}
	return p
}

// A name changes no number and no formula: designs, positions and stones of any
// names are costed, priced and proposed as those of plain names are. What a
// spreadsheet program makes of such names is seen in TestRecalculated.
func TestProposal_AnyName(t *testing.T) {
	plain, err := namedProposal(t, samplePieces()).figures()
	if err != nil {
		t.Fatal(err)
	}
	cells := func(f *figure) string {
		s, _ := f.expr.Cells(func(k formula.Key) (string, error) { return string(k), nil })
		return s
	}
	rapid.Check(t, func(r *rapid.T) {
		p := namedProposal(t, anyPieces().Draw(r, "pieces"))
		named, err := p.figures()
		if err != nil || !slices.Equal(named.order, plain.order) {
			r.Fatalf("figures %v, %v", named, err)
		}
		for _, key := range plain.order {
			got, want := named.figures[key], plain.figures[key]
			if !reflect.DeepEqual(got.value, want.value) || !want.expr.IsZero() && cells(got) != cells(want) {
				r.Fatalf("%s is %v = %s, with plain names %v = %s", key, got.value, cells(got), want.value, cells(want))
			}
		}
		b, err := p.Workbook()
		if err != nil {
			r.Fatal(err)
		}
		for i, d := range p.Designs {
			if got := b.Sheets[1].Rows[i][0].String(); got != d.Design {
				r.Fatalf("design %q is shown as %q", d.Design, got)
			}
		}
	})
}
