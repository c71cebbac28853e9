// Planbench measures the line-plan solver on seeded lines of stones, beside an
// outside solver on the very same model.
//
//	go run ./internal/allocate/planbench --stones 2000 --seeds 101,102 --solver cbc --limit 120s
//
// Each line is solved --runs times and the median time is printed. The seeds
// of the table in DEVELOPERS.md are printed with it and were not used for tuning.
package main

import (
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"time"

	"lotpaper/internal/allocate"
	"lotpaper/internal/allocate/instance"
	"lotpaper/internal/allocate/outside"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	err := run(ctx, os.Args[1:], os.Stdout)
	stop()
	switch {
	case errors.Is(err, flag.ErrHelp):
		os.Exit(2)
	case err != nil:
		fmt.Fprintln(os.Stderr, "planbench:", err)
		os.Exit(1)
	}
}

// options are the flags.
type options struct {
	stones, seeds []int
	solver        string
	limit         time.Duration
	runs, work    int
	gap, refGap   float64
	json          bool
	dear, singles bool
	pairs, lots   bool
	fixed         bool
	families      []instance.Family
}

// row is one line of stones, measured.
type row struct {
	Stones     int             `json:"stones"`
	Seed       int             `json:"seed"`
	Kind       string          `json:"kind"`
	Model      string          `json:"model_sha256"`
	Value      int64           `json:"value"`
	Bound      int64           `json:"bound"`
	GapPercent float64         `json:"gap_percent"`
	Status     string          `json:"status"`
	Seconds    float64         `json:"seconds"`
	CPU        float64         `json:"cpu_seconds"` // of the last run, enumeration included
	Enumerate  float64         `json:"enumerate_seconds"`
	PeakMB     float64         `json:"peak_mb"`
	Work       int64           `json:"work"`
	Nodes      int             `json:"nodes"`
	Reference  *outside.Answer `json:"reference,omitempty"`
}

func run(ctx context.Context, args []string, out io.Writer) error {
	o, err := parse(args)
	if err != nil {
		return err
	}
	var rows []row
	if !o.json {
		fmt.Fprintln(out, "stones  seed  kind        value         bound         gap %   status       seconds  "+
			"    cpu  enumerate  peak MB  reference")
	}
	for _, n := range o.stones {
		for _, family := range o.families {
			for _, seed := range o.seeds {
				r, err := measure(ctx, o, family, n, seed)
				if err != nil {
					return fmt.Errorf("%d stones, seed %d: %w", n, seed, err)
				}
				if rows = append(rows, r); !o.json {
					r.print(out)
				}
			}
		}
	}
	if o.json {
		enc := json.NewEncoder(out)
		enc.SetIndent("", "  ")
		return enc.Encode(struct {
			Rows []row `json:"rows"`
		}{rows})
	}
	summary(out, rows)
	return nil
}

func parse(args []string) (options, error) {
	var o options
	f := flag.NewFlagSet("planbench", flag.ContinueOnError)
	stones := f.String("stones", "2000", "how many stones: one number or several, with commas")
	seeds := f.String("seeds", "101,102", "the seeds of the lines, with commas")
	f.StringVar(&o.solver, "solver", "none", "the outside solver: highs, cbc or none")
	f.DurationVar(&o.limit, "limit", 120*time.Second, "the outside solver's time limit")
	f.Float64Var(&o.refGap, "reference-gap", 1e-4, "the outside solver's relative gap")
	f.IntVar(&o.runs, "runs", 3, "runs of our solver; the median time counts")
	f.IntVar(&o.work, "work", 0, "work limit in million steps; 0: the default")
	f.Float64Var(&o.gap, "gap", 0, "stop at this proven gap in percent")
	f.BoolVar(&o.json, "json", false, "print JSON")
	f.BoolVar(&o.dear, "dear", false, "a few pieces earn most of the money")
	f.BoolVar(&o.singles, "singles", false, "single positions only")
	f.BoolVar(&o.pairs, "pairs", false, "pairs only")
	family := f.String("family", "", "the families of lines, with commas, or all; empty: the ordinary one, as the "+
		"other flags say")
	f.BoolVar(&o.fixed, "fixed", false, "every design has a fixed cost")
	f.BoolVar(&o.lots, "lots", false, "melee lots are one item each")
	if err := f.Parse(args); err != nil {
		return o, err
	}
	var err error
	if o.stones, err = numbers(*stones); err != nil {
		return o, fmt.Errorf("--stones: %w", err)
	}
	if o.seeds, err = numbers(*seeds); err != nil {
		return o, fmt.Errorf("--seeds: %w", err)
	}
	if o.families, err = families(*family); err != nil {
		return o, err
	}
	if !slices.Contains([]string{"highs", "cbc", "none"}, o.solver) {
		return o, fmt.Errorf("--solver: %q is none of highs, cbc, none", o.solver)
	}
	o.runs = max(1, o.runs)
	return o, nil
}

func numbers(list string) ([]int, error) {
	var out []int
	for _, s := range strings.Split(list, ",") {
		n, err := strconv.Atoi(strings.TrimSpace(s))
		if err != nil || n < 0 {
			return nil, fmt.Errorf("%q is not a whole number", s)
		}
		out = append(out, n)
	}
	return out, nil
}

func families(list string) ([]instance.Family, error) {
	switch list {
	case "":
		return []instance.Family{""}, nil
	case "all":
		return instance.Families(), nil
	}
	var out []instance.Family
	for _, s := range strings.Split(list, ",") {
		if !slices.Contains(instance.Families(), instance.Family(s)) {
			return nil, fmt.Errorf("--family: %q is none of %v", s, instance.Families())
		}
		out = append(out, instance.Family(s))
	}
	return out, nil
}

func (o options) kind(f instance.Family) string {
	switch {
	case f != "":
		return string(f)
	case o.singles:
		return "singles"
	case o.pairs:
		return "pairs"
	case o.dear:
		return "dear"
	case o.lots:
		return "lots"
	}
	return "mixed"
}

func measure(ctx context.Context, o options, family instance.Family, stones, seed int) (row, error) {
	line := instance.New(instance.Options{
		Stones: stones, Seed: uint64(seed),
		Dear: o.dear, SinglesOnly: o.singles, PairsOnly: o.pairs, Lots: o.lots, Family: family, Fixed: o.fixed,
	})
	r := row{Stones: stones, Seed: seed, Kind: o.kind(family)}
	if o.fixed {
		r.Kind += "+fixed"
	}
	resetPeak()
	var p allocate.Problem
	var times, enumerations []float64
	for range o.runs {
		p = allocate.Problem{}
		debug.FreeOSMemory()
		started, cpu := time.Now(), cpuSeconds()
		p = line.Problem()
		enumerations = append(enumerations, time.Since(started).Seconds())
		got, err := allocate.Solve(ctx, p, allocate.Settings{Work: o.work, Gap: o.gap, Seed: 1})
		if err != nil {
			return r, err
		}
		r.CPU = cpuSeconds() - cpu
		times = append(times, time.Since(started).Seconds())
		r.Value, r.Bound, r.GapPercent, r.Status = got.Value, got.Bound, got.GapPercent, got.Status.String()
		r.Work, r.Nodes = got.Stats.Work, got.Stats.Nodes
		if got.Status == allocate.Cancelled {
			return r, context.Canceled
		}
	}
	r.Seconds, r.Enumerate, r.PeakMB = median(times), median(enumerations), peakMB()
	var err error
	if r.Model, err = outside.Hash(p); err != nil {
		return r, err
	}
	if o.solver != "none" {
		a, err := outside.Solve(ctx, o.solver, p, o.refGap, o.limit)
		if err != nil {
			return r, err
		}
		r.Reference = &a
	}
	return r, nil
}

func median(list []float64) float64 {
	list = slices.Clone(list)
	slices.Sort(list)
	return (list[(len(list)-1)/2] + list[len(list)/2]) / 2
}

func (r row) print(out io.Writer) {
	fmt.Fprintf(out, "%6d  %4d  %-10s  %-12d  %-12d  %6.3f  %-11s  %7.2f  %7.2f  %9.2f  %7.0f", r.Stones, r.Seed,
		r.Kind, r.Value, r.Bound, r.GapPercent, r.Status, r.Seconds, r.CPU, r.Enumerate, r.PeakMB)
	if a := r.Reference; a != nil {
		fmt.Fprintf(out, "  %s %s: %d, bound %d in %.1f s (%s); ours %+.3f %%, %.0f x as fast", a.Solver, a.Version,
			a.Value, a.Bound, a.Seconds, a.Status, 100*float64(r.Value-a.Value)/float64(max(1, a.Value)),
			a.Seconds/r.Seconds)
	}
	fmt.Fprintln(out)
}

// summary prints the median and the worst of the gaps, times and memory by
// size and kind.
func summary(out io.Writer, rows []row) {
	type group struct {
		stones int
		kind   string
	}
	by := map[group][]row{}
	var groups []group
	for _, r := range rows {
		g := group{r.Stones, r.Kind}
		if by[g] == nil {
			groups = append(groups, g)
		}
		by[g] = append(by[g], r)
	}
	fmt.Fprintln(out)
	for _, g := range groups {
		var gaps, times, cpus, peaks []float64
		var seeds []int
		proven := 0
		for _, r := range by[g] {
			gaps, times, peaks = append(gaps, r.GapPercent), append(times, r.Seconds), append(peaks, r.PeakMB)
			cpus, seeds = append(cpus, r.CPU), append(seeds, r.Seed)
			if r.Value == r.Bound {
				proven++
			}
		}
		fmt.Fprintf(out, "%d stones, %s, %d lines, %d proven best: gap median %.3f %%, worst %.3f %%; "+
			"seconds median %.2f, worst %.2f; processor seconds median %.2f, worst %.2f; MB worst %.0f; seeds %d\n",
			g.stones, g.kind, len(gaps), proven, median(gaps), slices.Max(gaps), median(times), slices.Max(times),
			median(cpus), slices.Max(cpus), slices.Max(peaks), seeds)
	}
}
