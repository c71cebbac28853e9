package identify

import (
	"fmt"
	"slices"
)

// Quarrel is one reading that no material of the table has, or two that cannot
// both be right, with what the stone would be without each of them.
type Quarrel struct {
	Tests   []Test
	Without []string // what the other readings say without that test, in the order of Tests; empty for a single one
	Text    string
}

// part is one kind of reading that stands or falls as a whole.
type part uint8

const (
	partIndex part = iota // edges, spot, and the birefringence between them
	partTurning
	partFigure
	partPolariscope
	partGravity
	partPleochroism
	parts // count
)

var partTests = [parts][]Test{
	partIndex:       {TestLow, TestEdge, TestSpot, TestHigh, TestSeparation, TestFull},
	partFigure:      {TestFigure},
	partPolariscope: {TestOptic},
	partGravity:     {TestSG, TestLiquid},
	partPleochroism: {TestPleochroism},
}

var partNames = [parts]string{"the index", "turning", "the figure", "the polariscope", "the gravity", "the pleochroism"}

// has reports whether the part was read.
func (b *bench) has(p part) bool {
	switch p {
	case partTurning:
		return b.rotated != ""
	case partPleochroism:
		return b.pleo >= 2 // less proves nothing
	}
	return slices.ContainsFunc(partTests[p], b.done)
}

// test names the part.
func (b *bench) test(p part) Test {
	if p == partTurning {
		p = partIndex
	}
	for _, t := range partTests[p] {
		if b.done(t) {
			return t
		}
	}
	return partTests[p][0]
}

// without is the bench as if the part had not been read.
func (b bench) without(p part) bench {
	if !b.has(p) {
		return b
	}
	for _, t := range partTests[p] {
		b.did &^= 1 << t
	}
	switch p {
	case partIndex:
		b.low, b.high, b.spot, b.pair, b.several, b.full = edge{}, edge{}, edge{}, false, false, false
		b.rotated = ""
	case partTurning:
		b.rotated = ""
	case partFigure, partPolariscope:
		b.optic, b.sign = OpticUntested, 0
	case partGravity:
		b.liquids = nil
	case partPleochroism:
		b.pleo, b.pleoHues = -1, 0
	}
	b.have = 0
	for t := Test(0); t < tests; t++ {
		if b.done(t) {
			b.have |= properties[t]
		}
	}
	return b
}

// only is the bench with nothing but some parts read.
func (b bench) only(keep ...part) bench {
	for p := part(0); p < parts; p++ {
		if !slices.Contains(keep, p) {
			b = b.without(p)
		}
	}
	return b
}

// fitsAny reports whether some material passes all readings.
func (b *bench) fitsAny(t *Table) bool {
	for i := range t.rows {
		if b.have&propertyIndex != 0 && !t.rows[i].whole.Known {
			continue
		}
		if failed, _, _ := b.fit(&t.rows[i]); failed == 0 && b.against(&t.rows[i]) == "" {
			return true
		}
	}
	return false
}

// impossible are the readings that no material of the table has.
func (v *Verdict) impossible() []part {
	var out []part
	for p := range parts {
		if alone := v.bench.only(p); p != partTurning && v.bench.has(p) && !alone.fitsAny(v.table) {
			out = append(out, p)
		}
	}
	return out
}

// Quarrels are what cannot be right: when nothing fits, when a guard holds an
// answer back, or when two readings contradict each other whatever the stone is.
func (v *Verdict) Quarrels() []Quarrel {
	b := &v.bench
	var out []Quarrel
	add := func(a, c part) {
		x, y := v.saysWithout(c), v.saysWithout(a)
		out = append(out, Quarrel{Tests: []Test{b.test(a), b.test(c)}, Without: []string{y, x},
			Text: fmt.Sprintf("%s and %s cannot both be right: without %s it is %s, without %s %s", v.partText(a),
				v.partText(c), partNames[c], x, partNames[a], y)})
	}
	if b.clash {
		out = append(out, v.clashQuarrel())
	}
	for _, pair := range b.contradictions() {
		add(pair[0], pair[1])
	}
	if len(out) > 0 || v.Kind != None && (v.Guard == "" || len(v.Candidates) > 0) {
		return out
	}
	for _, p := range v.impossible() {
		out = append(out, Quarrel{Tests: []Test{b.test(p)}, Text: fmt.Sprintf("no material in the table has %s: "+
			"read it again", v.partText(p))})
	}
	if len(out) > 0 {
		return out
	}
	for p := range parts {
		for q := p + 1; q < parts; q++ {
			if !b.has(p) || !b.has(q) {
				continue
			}
			if both := b.only(p, q); !both.fitsAny(v.table) {
				add(p, q)
			}
		}
	}
	if len(out) == 0 && len(v.Candidates) == 0 {
		var all []Test
		for p := range parts {
			if p != partTurning && b.has(p) {
				all = append(all, b.test(p))
			}
		}
		out = append(out, Quarrel{Tests: all, Text: "the readings, taken together, fit no material in the table"})
	}
	return out
}

// contradictions are pairs of readings that no stone can show together.
func (b *bench) contradictions() [][2]part {
	var out [][2]part
	dark := b.optic == OpticIsotropic && !b.partial
	if dark && b.apart() {
		out = append(out, [2]part{partIndex, partPolariscope})
	}
	if dark && b.pleo >= 2 {
		out = append(out, [2]part{partPolariscope, partPleochroism})
	}
	if b.rotated != "" && b.done(TestFigure) && (b.rotated == b.optic && b.rotatedSign != 0 &&
		b.sign == -b.rotatedSign || b.rotated == OpticBiaxial && b.optic == OpticUniaxial) {
		out = append(out, [2]part{partTurning, partFigure})
	}
	return out
}

// partText is what was read, in words.
func (v *Verdict) partText(p part) string {
	b := &v.bench
	switch {
	case p == partTurning:
		return fmt.Sprintf("turning (%s)", characterText(b.rotated, b.rotatedSign))
	case p == partFigure:
		return fmt.Sprintf("the figure (%s)", characterText(b.optic, b.sign))
	case p == partIndex && b.pair && !b.several && len(b.pairs) > 1: // single edges among them
		var read []string
		for _, p := range b.pairs {
			if words := p.words(); !slices.Contains(read, words) {
				read = append(read, words)
			}
		}
		return "the indices " + listed(read)
	case p == partIndex && b.pair:
		return fmt.Sprintf("the indices %.3f and %.3f", b.low.n, b.high.n)
	}
	return fmt.Sprintf("the %s %s", b.test(p), v.reading(b.test(p)))
}

func characterText(class Optic, sign int8) string {
	switch sign {
	case 1:
		return string(class) + " positive"
	case -1:
		return string(class) + " negative"
	}
	return string(class)
}

// saysWithout is what the stone would be without a part: its likeliest answer.
func (v *Verdict) saysWithout(p part) string { return v.saysBy(v.bench.without(p)) }

// saysBy is the likeliest answer by other readings than those of the verdict.
func (v *Verdict) saysBy(b bench) string {
	w := Verdict{table: v.table, settings: v.settings, bench: b, shares: make([]float64, len(v.shares))}
	w.OpenShare = v.table.weigh(&b, &v.settings, w.shares)
	if best := w.Leading(1, 0.1); len(best) > 0 && best[0].Share > w.OpenShare {
		return best[0].Name + " " + percent(best[0].Share)
	}
	return "nothing that stands out"
}
