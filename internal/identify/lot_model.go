package identify

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"lotpaper/internal/chance"
	"lotpaper/internal/facts"
)

// gridSteps is the number of shares of strangers that are weighed.
const gridSteps = 48

// othersTried is how many other materials, those that fit all stones best, a
// whole lot may be instead.
const othersTried = 20

// gridShares are the shares of strangers, close together at both ends.
var gridShares = func() (out [gridSteps]float64) {
	for k := range out {
		x := math.Sin((float64(k) + 0.5) * math.Pi / (2 * gridSteps))
		out[k] = x * x
	}
	return out
}()

// gridWeights are the weights of the grid under a belief; they add up to 1.
func gridWeights(b chance.Beta) (out [gridSteps]float64) {
	sum := 0.0
	for k, theta := range gridShares { // the density times the step, which is as its square root at both ends
		out[k] = math.Exp((b.A-0.5)*math.Log(theta) + (b.B-0.5)*math.Log1p(-theta))
		sum += out[k]
	}
	for k := range out {
		out[k] /= sum
	}
	return out
}

// lotModel weighs three states of a lot, or of one stratum, by its tested
// stones: the claim with few strangers, a true mixture, something else
// altogether.
type lotModel struct {
	claim  []*facts.Material
	pieces int
	random int // tested stones drawn at random
	stones []evidence

	chance   float64 // of the claim with few strangers
	untested float64 // expected share of strangers before any test
	// Posterior weights: of each share of strangers when the lot is its claim or
	// a mixture, and of each share of another material when it is that.
	few    [gridSteps]float64
	others []otherLot
}

// otherLot is the lot as another material altogether.
type otherLot struct {
	each   int // its place in evidence.each
	weight [gridSteps]float64
}

// product is a product of many factors that neither over- nor underflows.
type product struct{ value, log float64 }

func (p *product) times(x float64) {
	p.value *= x
	if p.value < 1e-100 || p.value > 1e100 {
		p.log += math.Log(p.value)
		p.value = 1
	}
}

func (p *product) logarithm() float64 { return p.log + math.Log(p.value) }

func newLotModel(claim []*facts.Material, pieces int, stones []TestedStone, s LotSettings) *lotModel {
	m := &lotModel{claim: claim, pieces: pieces, stones: make([]evidence, len(stones))}
	for i := range stones {
		m.stones[i] = evidenceOf(&stones[i], claim)
		if m.stones[i].random {
			m.random++
		}
		if len(stones) == pieces { // there was nothing to pick from
			m.stones[i].random = true
		}
	}
	w := s.Trade.weights()
	m.untested = w.untested()

	// Logarithms of weight times likelihood, brought to their greatest.
	var logs [gridSteps]float64
	greatest := math.Inf(-1)
	for k, theta := range gridShares {
		p := product{value: 1}
		for i := range m.stones {
			if e := &m.stones[i]; e.random {
				p.times((1-theta)*e.claim + theta*e.other)
			}
		}
		logs[k] = p.logarithm()
		greatest = max(greatest, logs[k]+math.Log(w.claimed[k]+w.mixed[k]))
	}
	tried, priors := m.otherMaterials()
	likes := make([][gridSteps]float64, len(tried))
	for x, each := range tried {
		for k, phi := range gridShares {
			p := product{value: 1}
			for i := range m.stones {
				if e := &m.stones[i]; e.random {
					p.times(phi*e.each[each] + (1-phi)*(e.claim+e.other)/2)
				}
			}
			likes[x][k] = p.logarithm()
			greatest = max(greatest, likes[x][k]+math.Log(priors[x]*w.other[k]))
		}
	}
	if math.IsInf(greatest, -1) {
		greatest = 0
	}
	sum, few := 0.0, 0.0
	for k := range logs {
		like := math.Exp(logs[k] - greatest)
		a, b := w.claimed[k]*like, w.mixed[k]*like
		m.few[k] = a + b
		few += a
		sum += a + b
	}
	m.others = make([]otherLot, len(tried))
	for x, each := range tried {
		m.others[x].each = each
		for k := range likes[x] {
			m.others[x].weight[k] = priors[x] * w.other[k] * math.Exp(likes[x][k]-greatest)
			sum += m.others[x].weight[k]
		}
	}
	m.chance = few / sum
	for k := range m.few {
		m.few[k] /= sum
	}
	for x := range m.others {
		for k := range m.others[x].weight {
			m.others[x].weight[k] /= sum
		}
	}
	for i := range m.stones {
		m.stones[i].p = m.stoneChance(&m.stones[i])
	}
	return m
}

// otherMaterials are the materials, and the open set, that fit the random
// stones best together, with their shares of the trade among all that is not
// the claim. Without stones one stands for all.
func (m *lotModel) otherMaterials() (places []int, priors []float64) {
	var drawn []*evidence
	for i := range m.stones {
		if m.stones[i].random {
			drawn = append(drawn, &m.stones[i])
		}
	}
	if len(drawn) == 0 {
		return []int{0}, []float64{1}
	}
	n := len(drawn[0].each)
	before := make([]float64, n)
	sum := 0.0
	for _, e := range drawn {
		for i, p := range e.before {
			before[i] += p
			sum += p
		}
	}
	type fit struct {
		place int
		log   float64
	}
	fits := make([]fit, 0, n)
	for i := range n {
		if before[i] == 0 {
			continue
		}
		p := product{value: before[i]}
		for _, e := range drawn {
			p.times(0.95*e.each[i] + 0.05*(e.claim+e.other)/2)
		}
		fits = append(fits, fit{i, p.logarithm()})
	}
	slices.SortFunc(fits, func(a, b fit) int {
		return cmp.Or(cmp.Compare(b.log, a.log), cmp.Compare(a.place, b.place))
	})
	for _, f := range fits[:min(othersTried, len(fits))] {
		places = append(places, f.place)
		priors = append(priors, before[f.place]/sum)
	}
	return places, priors
}

func (m *lotModel) is(x *facts.Material) bool {
	return slices.ContainsFunc(m.claim, func(c *facts.Material) bool { return c == x || c.Name == x.Name })
}

// strangerAt is the chance that a tested stone is not the claim when the share of
// strangers is theta.
func (e *evidence) strangerAt(theta float64) float64 {
	switch {
	case e.flagged:
		return 1
	case e.lab:
		return 1 - labChance
	}
	other := theta * e.other
	return other / (other + (1-theta)*e.claim)
}

// strangerIf is the same when the lot is another material altogether, by the
// share phi of it.
func (e *evidence) strangerIf(each int, phi float64) float64 {
	switch {
	case e.flagged:
		return 1
	case e.lab:
		return 1 - labChance
	}
	claim := (1 - phi) / 2 * e.claim
	return 1 - claim/(claim+phi*e.each[each]+(1-phi)/2*e.other)
}

// restIf is the share of strangers among the untested when the lot is another
// material by the share phi.
func restIf(phi float64) float64 { return phi + (1-phi)/2 }

// stoneChance is the chance that a tested stone is the claim.
func (m *lotModel) stoneChance(e *evidence) float64 {
	stranger := 0.0
	for k, w := range m.few {
		stranger += w * e.strangerAt(gridShares[k])
	}
	for x := range m.others {
		for k, w := range m.others[x].weight {
			if w > 0 {
				stranger += w * e.strangerIf(m.others[x].each, gridShares[k])
			}
		}
	}
	return min(1, max(0, 1-stranger))
}

func (m *lotModel) tested() int { return len(m.stones) }

// flagged counts the tested stones that are not the claim.
func (m *lotModel) flagged() int {
	n := 0
	for i := range m.stones {
		if m.stones[i].flagged {
			n++
		}
	}
	return n
}

func (m *lotModel) doubted() bool {
	return slices.ContainsFunc(m.stones, func(e evidence) bool { return e.doubted })
}

func (m *lotModel) standings() []StoneStanding {
	out := make([]StoneStanding, 0, len(m.stones))
	for i := range m.stones {
		out = append(out, m.stones[i].standing(m.claim))
	}
	return out
}

// rest is the expected share of strangers among the untested, after so many
// further plain stones.
func (m *lotModel) rest(further int) float64 {
	weight, sum := 0.0, 0.0
	add := func(w, plain, share float64) {
		w *= math.Pow(plain, float64(further))
		weight += w
		sum += w * share
	}
	for k, w := range m.few {
		add(w, 1-gridShares[k], gridShares[k])
	}
	for x := range m.others {
		for k, w := range m.others[x].weight {
			add(w, (1-gridShares[k])/2, restIf(gridShares[k]))
		}
	}
	return sum / weight
}

// expected is the expected number of strangers.
func (m *lotModel) expected() float64 { return m.expectedAfter(0) }

// expectedAfter is the same after so many further random stones, each plain.
func (m *lotModel) expectedAfter(further int) float64 {
	sum := 0.0
	for i := range m.stones {
		sum += 1 - m.stones[i].p
	}
	return sum + float64(m.pieces-m.tested()-further)*m.rest(further)
}

// until is the least number of further stones that reaches something; all that
// are left when none does.
func (m *lotModel) until(reached func(further int) bool) int {
	return sort.Search(m.pieces-m.tested(), reached)
}

// exact is the bound on the strangers that assumes nothing beforehand: the
// picked stones are known one by one, the random ones bound the rest.
func (m *lotModel) exact(s LotSettings) int {
	picked, bad, badPicked := 0, 0, 0
	for i := range m.stones {
		e := &m.stones[i]
		doubt := 0
		if e.flagged || e.share < doubtShare {
			doubt = 1
		}
		if e.random {
			bad += doubt
		} else {
			picked++
			badPicked += doubt
		}
	}
	left := m.pieces - picked
	n, ok := chance.UpperCount(left, m.random, bad, s.Confidence, s.Efficacy)
	if !ok {
		n = left
	}
	return badPicked + n
}
