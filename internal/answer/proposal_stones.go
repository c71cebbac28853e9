package answer

import (
	"cmp"
	"fmt"
	"strings"

	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

func (p *Proposal) stonesPage() *page {
	s := &page{Sheet: sheet.Sheet{Name: "Stones", Title: "Stones: which stone goes where", Landscape: true,
		FreezeCol: 2, Columns: []sheet.Col{
			{Header: "Design", Width: 17}, {Header: "Unit", Width: 5.5}, {Header: "Position", Width: 12},
			{Header: "Setting", Width: 11}, {Header: "Lot", Width: 12}, {Header: "Stone", Width: 20},
			{Header: "Shape", Width: 13},
			{Header: "Size (mm)", Width: 27}, {Header: "Color", Width: 16}, {Header: "Pieces", Width: 7.5},
			{Header: "Weight (ct)", Width: 9}, {Header: "By scale (ct)", Width: 9}, {Header: p.unit("Cost"), Width: 11},
			{Header: "Identity", Width: 11}, {Header: "Setting verdict", Width: 9}, {Header: "Owner", Width: 23}},
		Notes: []string{
			"Weights are those of the pieces together, in total. " + p.caratWords(),
			"Costs are shares of what was paid, split so that no cent is lost: they are values, and the check below " +
				"their sum is live."}}}
	if len(p.Stones) == 0 {
		s.add(text("No stones are planned.").across(6)...)
		return s
	}
	pieces := int64(0)
	for i, x := range p.Stones {
		pieces += x.Pieces
		s.add(styled(x.Design, sheet.Strong), whole(x.Unit), text(x.Position), text(x.Setting), text(x.Lot),
			text(x.Name), text(x.Shape), text(x.Size), text(x.Color), whole(x.Pieces),
			lives(ofStone("stated", i), 2), lives(ofStone("scale", i), 3), lives(ofStone("cost", i), p.digits()),
			text(cmp.Or(x.Identity, "stated")), text(x.Level), text(x.Owner))
	}
	s.total(9, whole(pieces), lives(ofStones("stated"), 2), lives(ofStones("scale"), 3),
		lives(ofStones("cost"), p.digits()))
	s.add(append([]cell{styled("Cost in the book", sheet.Label), {}, {}, {}, {}, {}, {}, {}, {}, {}, {}, {},
		lives(ofStones("book"), p.digits())}, cell{figure: ofStones("check"), home: true,
		style: sheet.Strong}.across(3)...)...)
	return s
}

// caratWords say how weights are stated.
func (h Head) caratWords() string {
	if h.Carats == num.RuleHalfUp {
		return "Carats are stated to two decimals, rounded half up; the scale reading stands beside them."
	}
	return "Carats are stated to two decimals, and the second is raised only when the third is 9; the scale reading " +
		"stands beside them."
}

func (p *Proposal) cautionsPage() *page {
	const wide = 7
	s := &page{Sheet: sheet.Sheet{Name: "Cautions and care", Title: "Cautions, work order and care",
		Notes: []string{cautionBench}, Landscape: true, FreezeCol: 1, Columns: []sheet.Col{
			{Header: "Design", Width: 18}, {Header: "Where", Width: 20}, {Header: "Part", Width: 9}, {Header: "Level",
				Width: 9}, {Header: "What may happen", Width: 46}, {Header: "What to do", Width: 36},
			{Header: "Source", Width: 28}}}}
	for _, d := range p.Designs {
		for _, c := range d.Cautions {
			level := styled(c.Level, sheet.Plain)
			if c.Level == "avoid" || c.Level == "caution" {
				level = styled(c.Level, sheet.Strong)
			}
			where := strings.Join(fields(c.Position, c.Lot, c.Stone), ", ")
			s.add(styled(d.Design, sheet.Strong), text(where), text(c.Part), level, text(sentence(c.Reason)),
				text(sentence(c.todo())), text(c.Source))
		}
		if len(d.Cautions) == 0 {
			s.add(append([]cell{styled(d.Design, sheet.Strong)}, text("No finding above sound.").across(wide-1)...)...)
		}
	}
	for _, d := range p.Designs {
		lines := d.careLines()
		if len(lines) == 0 {
			continue
		}
		s.gap()
		s.section(d.Design+": work and care", wide)
		for _, l := range lines {
			s.add(append([]cell{styled(l[0], sheet.Label)}, text(l[1]).across(wide-1)...)...)
		}
	}
	return s
}

// fields are the texts that are not empty.
func fields(texts ...string) []string {
	var out []string
	for _, t := range texts {
		if t != "" {
			out = append(out, t)
		}
	}
	return out
}

// careLines are what the bench and the wearer are told of a design.
func (d ProposalDesign) careLines() [][2]string {
	var out [][2]string
	list := func(label string, words []string) {
		for i, w := range words {
			if i > 0 {
				label = ""
			}
			out = append(out, [2]string{label, sentence(w)})
		}
	}
	var steps []string
	for i, w := range d.WorkOrder {
		steps = append(steps, fmt.Sprintf("%d. %s", i+1, w))
	}
	list("Work order", steps)
	if len(d.Forbidden) > 0 {
		list("Never on this piece", []string{strings.Join(d.Forbidden, "; ")})
	}
	if len(d.Assumed) > 0 {
		list("Assumed", []string{strings.Join(d.Assumed, "; ")})
	}
	for _, w := range d.Care.lines() {
		list(w.topic, w.words)
	}
	return out
}

// topic is one heading of care words.
type topic struct {
	topic string
	words []string
}

// lines are the care words by topic, in the order of a card.
func (w CareWords) lines() []topic {
	return []topic{{peopleTitle, w.Safety}, {"Wear", w.Wear}, {"Cleaning", w.Cleaning}, {"Storage", w.Storage},
		{"Light and heat", w.Light}, {"Repairs", w.Repair}}
}

// lotWords are the stones of one lot in this proposal, as they are disclosed.
type lotWords struct {
	lot    string
	words  StoneWords
	carats num.Carat
	pieces int64
	scale  bool
}

// lots gathers the stones by lot, in order of first use.
func (p *Proposal) lots() []lotWords {
	at := map[string]int{}
	var out []lotWords
	for _, s := range p.Stones {
		i, known := at[s.Lot]
		if !known {
			i = len(out)
			at[s.Lot] = i
			out = append(out, lotWords{lot: s.Lot, words: s.StoneWords, scale: true})
		}
		out[i].carats += s.Carats
		out[i].pieces += s.Pieces
		out[i].scale = out[i].scale && s.ByScale
	}
	return out
}

func (p *Proposal) disclosurePage() *page {
	s := &page{Sheet: sheet.Sheet{Name: "Disclosure", Title: "Disclosure: what must be told of each stone",
		Landscape: true, FreezeCol: 2, Notes: []string{
			"To be told before the sale and written on the invoice, in these words and not in codes: what the stone " +
				"is, whether it is natural, what was done to it and whether that lasts, the special care it needs, " +
				"and what a treatment does to its value.", cautionTests},
		Columns: []sheet.Col{{Header: "Lot", Width: 12}, {Header: "Name", Width: 20}, {Header: "Weight", Width: 17},
			{Header: "Nature", Width: 18}, {Header: "Treatment", Width: 24}, {Header: "Special care", Width: 30},
			{Header: "Value and origin", Width: 26}, {Header: "Established", Width: 22}, {Header: "NOT established",
				Width: 28}}}}
	for _, l := range p.told() {
		row := []cell{styled(l.lot, sheet.Strong), styled(l.words.fullName(), sheet.Strong),
			text(l.weightWords(p.Carats))}
		for _, told := range l.words.told() {
			row = append(row, text(told))
		}
		s.add(row...)
	}
	if len(p.Stones) == 0 {
		s.add(text("No stones are planned.").across(5)...)
	}
	return s
}

// told are the columns of the disclosure after name and weight.
func (w StoneWords) told() []string {
	care := "None that comes from a treatment; see Cautions and care."
	if w.SpecialCare != "" {
		care = sentence(w.SpecialCare)
	}
	return []string{w.Nature.Words(), w.treatmentWords(), care, w.valueWords(),
		cmp.Or(strings.Join(w.Established, "; "), "nothing"), cmp.Or(strings.Join(w.NotEstablished, "; "),
			"nothing left open")}
}

// told gathers the lots of which the same must be told.
func (p *Proposal) told() []lotWords {
	at := map[string]int{}
	var out []lotWords
	for _, l := range p.lots() {
		key := l.words.fullName() + "\x00" + strings.Join(l.words.told(), "\x00") + fmt.Sprint(l.scale)
		i, known := at[key]
		if !known {
			at[key] = len(out)
			out = append(out, l)
			continue
		}
		out[i].lot += ", " + l.lot
		out[i].carats += l.carats
		out[i].pieces += l.pieces
	}
	return out
}

// fullName is the accepted name with its species when that differs.
func (w StoneWords) fullName() string {
	if w.Species == "" || strings.EqualFold(w.Species, w.Name) {
		return w.Name
	}
	return w.Name + " (" + w.Species + ")"
}

// treatmentWords say the treatment, its permanence, and what was assumed.
func (w StoneWords) treatmentWords() string {
	s := w.Treatment.Words()
	if w.Treatment.Value == "" {
		s = "not stated"
	}
	if w.Assumed != "" {
		s += "; usual treatment assumed: " + w.Assumed
	}
	if w.Permanence != "" {
		s += ". " + capital(w.Permanence)
	}
	return sentence(s)
}

// valueWords say what the treatment does to the value, the origin with its
// basis, and the permit.
func (w StoneWords) valueWords() string {
	var parts []string
	if w.ValueEffect != "" {
		parts = append(parts, sentence(w.ValueEffect))
	}
	origin := "Origin not known."
	if w.Origin.Value != "" {
		origin = sentence("Origin " + w.Origin.Words())
		if w.OriginBasis != "" {
			origin = sentence("Origin " + w.Origin.Words() + ": " + w.OriginBasis)
		}
	}
	parts = append(parts, origin)
	if w.Permit != "" {
		parts = append(parts, sentence("Permit: "+w.Permit))
	}
	return strings.Join(parts, " ")
}

// weightWords state the weight as documents must: by scale or approximately,
// in total for several stones.
func (l lotWords) weightWords(rule num.CaratRule) string {
	if l.carats == 0 {
		return fmt.Sprintf("%d pieces, weight not known", l.pieces)
	}
	s := l.carats.Stated(rule) + " ct"
	if l.pieces > 1 {
		s = fmt.Sprintf("%d pieces, %s in total", l.pieces, s)
	}
	if l.scale {
		return s + ", by scale"
	}
	return s + ", approximately"
}

func (p *Proposal) assumptionsPage() *page {
	s := &page{Sheet: sheet.Sheet{Name: "Assumptions", Title: "Assumptions: the numbers that everything follows from",
		Notes: []string{
			"Change a yellow cell and the whole workbook follows. Values of a single design (metal weight, minutes) " +
				"stand on Cost build-up, planned pieces and fixed cost on Pieces.",
			"Every amount is rounded half away from zero to the minor unit of " + string(p.Currency) +
				" where it arises, and sums are taken of rounded amounts."},
		Columns: []sheet.Col{{Header: "Assumption", Width: 34}, {Header: "Value", Width: 14},
			{Header: "Unit", Width: 14}, {Header: "Date", Width: 12}, {Header: "Source", Width: 40}}}}
	var groups []string
	by := map[string][]Input{}
	for _, in := range p.Inputs {
		if _, known := by[in.Group]; !known {
			groups = append(groups, in.Group)
		}
		by[in.Group] = append(by[in.Group], in)
	}
	for _, g := range groups {
		s.section(cmp.Or(g, "Other"), 5)
		for _, in := range by[g] {
			s.add(text(in.Label), lives(in.Key, in.Value.Places()).as(sheet.Input), text(in.Unit),
				plain(sheet.Date(string(in.On))), text(cmp.Or(in.Source, "no source given")))
		}
	}
	return s
}
