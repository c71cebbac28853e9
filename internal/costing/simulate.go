package costing

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"

	"lotpaper/internal/chance"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// Runs says how much to simulate.
type Runs struct {
	Seed   uint64
	First  int       // runs to begin with; 0: 10,000
	Most   int       // never more; 0: 160,000
	Within num.Money // raise the runs until the mean's standard error is at most this; zero: First is enough
}

// Outcome is what a simulation found. Every figure has its standard error.
type Outcome struct {
	Runs   int       `json:"runs"`
	Seed   uint64    `json:"seed"`
	Mean   Figure    `json:"mean"`
	SD     Figure    `json:"sd"`
	P10    Figure    `json:"p10"`
	P50    Figure    `json:"p50"`
	P90    Figure    `json:"p90"`
	Loss   Figure    `json:"chance_of_loss"` // share of the runs with a profit under 0
	Bins   []Bin     `json:"histogram"`
	Words  string    `json:"words"`
	profit []float64 // by run, unsorted: for common random numbers
}

// Figure is a value with its standard error: units of the currency, or a share.
type Figure struct {
	Value float64 `json:"value"`
	SE    float64 `json:"se"`
}

// Bin is one bar of a histogram, from Low to High.
type Bin struct {
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
	Count int     `json:"count"`
}

// Simulate draws the line's profit. Run r of one seed draws the same numbers
// whatever the other runs, the number of cores, the prices, or the other
// designs of the model are: two plans are compared with the same luck.
func Simulate(m *Model, runs Runs) (Outcome, fault.List) {
	if faults := m.Check(); len(faults) > 0 {
		return Outcome{}, faults
	}
	profit := simulate(compile(m, runs.Seed), runs)
	return Summarise(profit, runs.Seed, m.Currency), nil
}

func simulate(c *compiled, runs Runs) []float64 {
	if runs.First <= 0 {
		runs.First = 10_000
	}
	if runs.Most <= 0 {
		runs.Most = 160_000
	}
	var profit []float64
	for n := min(runs.First, runs.Most); ; n = min(2*n, runs.Most) {
		profit = c.run(profit, n)
		if n >= runs.Most || runs.Within.Sign() <= 0 {
			return profit
		}
		if _, sd := meanSD(profit); sd/math.Sqrt(float64(n)) <= runs.Within.Float() {
			return profit
		}
	}
}

// compiled is a model in floats, its names turned into places.
type compiled struct {
	designs []compiledDesign
	beliefs []chance.Beta
	keys    []uint64 // of the beliefs, then of the drivers
	drivers []Driver
	fixed   float64
}

type compiledDesign struct {
	key                 uint64
	quantity            int
	price, base         float64
	exposed, billed     []compiledExposed
	stones              []compiledStone
	sell, returns       int // belief, -1: none
	salvage, returnCost float64
}

type compiledExposed struct {
	driver int
	amount float64
}

type compiledStone struct {
	pieces                  int
	each, wrong, cut        float64
	breakage, others, yield int
	meanYield               float64
}

func compile(m *Model, seed uint64) *compiled {
	c := &compiled{fixed: m.Shared.Float()}
	key := func(name string) uint64 { return chance.NewStream(seed, name).Uint64() }
	at := map[string]int{"": -1}
	belief := func(name string) int {
		i, ok := at[name]
		if !ok {
			i = len(c.beliefs)
			at[name] = i
			c.beliefs = append(c.beliefs, m.Beliefs[name])
		}
		return i
	}
	driverAt := map[string]int{}
	var driverNames []string
	exposed := func(of []Exposed) (out []compiledExposed) {
		for _, e := range of {
			i, ok := driverAt[e.Driver]
			if !ok {
				i = len(c.drivers)
				driverAt[e.Driver] = i
				c.drivers = append(c.drivers, m.Drivers[e.Driver])
				driverNames = append(driverNames, e.Driver)
			}
			out = append(out, compiledExposed{i, e.Amount.Float()})
		}
		return out
	}
	for _, d := range m.Designs {
		x := compiledDesign{
			key: key("design/" + d.Name), quantity: int(d.Quantity), price: d.Price.Float(), base: d.Base.Float(),
			sell: belief(d.SellThrough), returns: belief(d.Returns), salvage: d.Salvage.Float(),
			returnCost: d.ReturnCost.Float(),
		}
		c.fixed += d.Fixed.Float()
		x.exposed, x.billed = exposed(d.Exposed), exposed(d.Billed)
		for _, s := range d.Stones {
			y := compiledStone{pieces: int(s.Pieces), each: s.Each.Float(), wrong: s.Wrong.Float(), cut: s.Cut.Float(),
				breakage: belief(s.Breakage), others: belief(s.Others), yield: belief(s.Yield)}
			if y.yield >= 0 {
				y.meanYield = c.beliefs[y.yield].Mean()
			}
			x.stones = append(x.stones, y)
		}
		c.designs = append(c.designs, x)
	}
	c.keys = make([]uint64, len(c.beliefs)+len(c.drivers))
	for name, i := range at {
		if i >= 0 {
			c.keys[i] = key("belief/" + name)
		}
	}
	for i, name := range driverNames {
		c.keys[len(c.beliefs)+i] = key("driver/" + name)
	}
	return c
}

// run extends the profits to n runs, over the machine's cores.
func (c *compiled) run(profit []float64, n int) []float64 {
	from := len(profit)
	profit = append(profit, make([]float64, n-from)...)
	const chunk = 256
	var wait sync.WaitGroup
	next := make(chan int, (n-from)/chunk+1)
	for i := from; i < n; i += chunk {
		next <- i
	}
	close(next)
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			w := newWorker(c)
			for i := range next {
				for r := i; r < min(i+chunk, n); r++ {
					profit[r] = w.one(uint64(r))
				}
			}
		})
	}
	wait.Wait()
	return profit
}

// worker draws runs one after another; each draw starts from the key of what
// is drawn and the number of the run.
type worker struct {
	c      *compiled
	source *rand.PCG
	stream chance.Stream
	rate   []float64
	factor []float64
}

func newWorker(c *compiled) *worker {
	source := rand.NewPCG(0, 0)
	return &worker{c, source, chance.Stream{Rand: rand.New(source)}, make([]float64, len(c.beliefs)),
		make([]float64, len(c.drivers))}
}

// spread sets the seeds of neighbouring runs far apart (the golden ratio in 64
// bits, as splitmix64 steps).
const spread = 0x9e3779b97f4a7c15

func (w *worker) one(run uint64) float64 {
	c := w.c
	for i, b := range c.beliefs {
		w.source.Seed(c.keys[i], run*spread)
		w.rate[i] = w.stream.Beta(b)
	}
	for i, d := range c.drivers {
		w.factor[i] = 1
		if d.Volatility > 0 && d.Months > 0 {
			w.source.Seed(c.keys[len(c.beliefs)+i], run*spread)
			sd := d.Volatility * math.Sqrt(d.Months/12)
			w.factor[i] = math.Exp(sd*w.stream.NormFloat64() - sd*sd/2)
		}
	}
	profit := -c.fixed
	for i := range c.designs {
		d := &c.designs[i]
		w.source.Seed(d.key, run*spread)
		unit := d.base
		for _, e := range d.exposed {
			unit += e.amount * w.factor[e.driver]
		}
		for _, s := range d.stones {
			n := d.quantity * s.pieces
			if s.breakage >= 0 {
				profit -= s.each * float64(w.replaced(n, w.rate[s.breakage]))
			}
			if s.others >= 0 {
				profit -= s.wrong * float64(w.binomial(n, w.rate[s.others]))
			}
			if s.yield >= 0 {
				unit += s.cut * (s.meanYield/math.Max(w.rate[s.yield], 0.01*s.meanYield) - 1)
			}
		}
		price := d.price
		for _, e := range d.billed {
			price += e.amount * (w.factor[e.driver] - 1)
		}
		sold := d.quantity
		if d.sell >= 0 {
			sold = w.binomial(d.quantity, w.rate[d.sell])
		}
		profit += float64(sold)*price - float64(d.quantity)*unit + float64(d.quantity-sold)*d.salvage
		if d.returns >= 0 {
			profit -= d.returnCost * float64(w.binomial(sold, w.rate[d.returns]))
		}
	}
	return profit
}

// replaced is how many stones break until n are set, each try with chance p.
func (w *worker) replaced(n int, p float64) int {
	broken := 0
	for need := n; need > 0 && broken < 1000*n; {
		need = w.binomial(need, p)
		broken += need
	}
	return broken
}

// binomial draws by inversion from one uniform number: the smallest count whose
// chance reaches it. Large counts are drawn in halves, so that no power
// underflows.
func (w *worker) binomial(n int, p float64) int {
	switch {
	case n <= 0 || p <= 0:
		return 0
	case p >= 1:
		return n
	case p > 0.5:
		return n - w.binomial(n, 1-p)
	case float64(n)*p > 100:
		return w.binomial(n/2, p) + w.binomial(n-n/2, p)
	}
	odds := p / (1 - p)
	term := math.Exp(float64(n) * math.Log1p(-p))
	u := w.stream.Float64()
	k := 0
	for u > term && k < n {
		u -= term
		k++
		term *= odds * float64(n-k+1) / float64(k)
	}
	return k
}

func meanSD(x []float64) (mean, sd float64) {
	for _, v := range x {
		mean += v
	}
	mean /= float64(len(x))
	for _, v := range x {
		sd += (v - mean) * (v - mean)
	}
	if len(x) < 2 {
		return mean, 0
	}
	return mean, math.Sqrt(sd / float64(len(x)-1))
}

// Summarise turns profits by run into figures with their standard errors.
func Summarise(profit []float64, seed uint64, c num.Currency) Outcome {
	n := len(profit)
	o := Outcome{Runs: n, Seed: seed, profit: profit}
	if n == 0 {
		return o
	}
	mean, sd := meanSD(profit)
	root := math.Sqrt(float64(n))
	o.Mean = Figure{mean, sd / root}
	fourth := 0.0
	loss := 0
	for _, v := range profit {
		fourth += math.Pow(v-mean, 4)
		if v < 0 {
			loss++
		}
	}
	o.SD = Figure{Value: sd}
	if sd > 0 { // delta method on the variance of the variance
		o.SD.SE = math.Sqrt(math.Max(0, fourth/float64(n)-math.Pow(sd, 4))/float64(n)) / (2 * sd)
	}
	p := float64(loss) / float64(n)
	o.Loss = Figure{p, math.Sqrt(p*(1-p)) / root}
	sorted := slices.Clone(profit)
	slices.Sort(sorted)
	o.P10, o.P50, o.P90 = quantile(sorted, 0.1), quantile(sorted, 0.5), quantile(sorted, 0.9)
	o.Bins = histogram(sorted, 30)
	o.Words = fmt.Sprintf("%d runs, seed %d: mean %.2f +/- %.2f %s, P10 %.2f, P50 %.2f, P90 %.2f, chance of a loss "+
		"%.1f %%", n, seed, mean, o.Mean.SE, c, o.P10.Value, o.P50.Value, o.P90.Value, 100*p)
	return o
}

// quantile with the standard error read off the order statistics one standard
// deviation of the rank to either side.
func quantile(sorted []float64, q float64) Figure {
	n := float64(len(sorted))
	half := math.Sqrt(q * (1 - q) / n)
	low, high := chance.Quantile(sorted, math.Max(0, q-half)), chance.Quantile(sorted, math.Min(1, q+half))
	return Figure{chance.Quantile(sorted, q), (high - low) / 2}
}

// histogram has at most n bars of equal width from the least to the greatest.
func histogram(sorted []float64, n int) []Bin {
	low, high := sorted[0], sorted[len(sorted)-1]
	if high <= low {
		return []Bin{{low, high, len(sorted)}}
	}
	bins := make([]Bin, n)
	step := (high - low) / float64(n)
	for i := range bins {
		bins[i] = Bin{Low: low + step*float64(i), High: low + step*float64(i+1)}
	}
	for _, v := range sorted {
		bins[min(n-1, int((v-low)/step))].Count++
	}
	return bins
}

// ChanceOf is the share of the runs with a profit of at least target.
func (o Outcome) ChanceOf(target num.Money) Figure {
	hit := 0
	for _, v := range o.profit {
		if v >= target.Float()-1e-9 {
			hit++
		}
	}
	p := float64(hit) / math.Max(1, float64(len(o.profit)))
	return Figure{p, math.Sqrt(p * (1 - p) / math.Max(1, float64(len(o.profit))))}
}

// Shift is the outcome when every run earns by more (or less) than before.
func (o Outcome) Shift(by num.Money) Outcome {
	moved := make([]float64, len(o.profit))
	for i, v := range o.profit {
		moved[i] = v + by.Float()
	}
	return Summarise(moved, o.Seed, by.Currency())
}

// reachedBy is the profit that a share q of the runs reaches: at least q of
// them earn as much or more.
func (o Outcome) reachedBy(q float64) float64 {
	sorted := slices.Clone(o.profit)
	slices.Sort(sorted)
	k := int(math.Ceil(q*float64(len(sorted)) - 1e-9))
	return sorted[len(sorted)-max(1, k)]
}
