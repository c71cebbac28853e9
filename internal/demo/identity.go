package demo

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/bench"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/durability"
	"lotpaper/internal/facts"
	"lotpaper/internal/identify"
	"lotpaper/internal/store"
)

// paper is the lot as it stands on the vendor's list: single stones belong to
// the paper that they came in.
func paper(l book.Lot) string { return cmp.Or(l.Parent, l.Code) }

// identities judges every lot of the book.
func (d *demo) identities(ctx context.Context) ([]bench.LotIdentity, error) {
	var out []bench.LotIdentity
	err := d.Desk.View(ctx, func(tx store.ReadTx) error {
		config, err := desk.LoadConfig(ctx, tx)
		if err != nil {
			return err
		}
		b, err := bench.NewIdentifier(config)
		if err != nil {
			return err
		}
		return bench.Identities(ctx, tx, b, desk.StockFilter{}, func(_ answer.StockLot, id bench.LotIdentity) error {
			out = append(out, id)
			return nil
		})
	})
	return out, err
}

func (d *demo) found(ctx context.Context) error {
	for _, state := range []identify.State{identify.Verified, identify.Supported, identify.Stated, identify.Mixed,
		identify.Contradicted} {
		row := answer.DemoState{State: string(state)}
		for _, id := range d.first {
			if id.Judged.State == state {
				row.Lots++
				row.Pieces += id.Pieces
			}
		}
		if row.Lots > 0 {
			d.report.States = append(d.report.States, row)
		}
	}
	into, err := d.made(ctx)
	if err != nil {
		return err
	}
	add := func(kind string, f answer.DemoFinding) {
		f.Kind = kind
		d.report.Found = append(d.report.Found, f)
	}
	for _, state := range []identify.State{identify.Contradicted, identify.Mixed} {
		for _, id := range d.first {
			if id.Judged.State != state {
				continue
			}
			f := finding(&id)
			f.What, f.Why = others(&id)
			f.Into = answer.List(into[id.Lot.Code])
			add(string(state), f)
		}
	}
	for _, id := range d.first {
		if f, undecided := undecidedBySG(&id); undecided {
			add("undecided", f)
		}
	}
	d.papers("untested", func(id *bench.LotIdentity) (string, bool) {
		return "", id.Judged.Tested == 0 && !d.testedBeside(id.Lot)
	})
	d.papers("treatment", func(id *bench.LotIdentity) (string, bool) {
		if id.Lot.Facets.Treatment.Value != "" {
			return "", false
		}
		return assumedTreatment(id.Lot), true
	})
	d.papers("verified", func(id *bench.LotIdentity) (string, bool) { return "", id.Judged.State == identify.Verified })
	reports, err := d.identities(ctx)
	if err != nil {
		return err
	}
	for _, id := range reports {
		if id.Report != nil {
			f := finding(&id)
			f.What = fmt.Sprintf("%s, nature %s, treatment %s", id.Report.Species, cmp.Or(id.Report.Nature, "not said"),
				cmp.Or(id.Report.Treatment, "not said"))
			f.Why = "report " + id.Report.Number + " of " + id.Report.Lab
			add("report", f)
		}
	}
	return nil
}

// testedBeside reports whether another stone of the same paper was tested.
func (d *demo) testedBeside(l book.Lot) bool {
	if l.Stone == "" {
		return false
	}
	for _, id := range d.first {
		if paper(id.Lot) == paper(l) && id.Judged.Tested > 0 {
			return true
		}
	}
	return false
}

// papers adds one finding for each paper that has lots of which when says yes.
func (d *demo) papers(kind string, when func(*bench.LotIdentity) (string, bool)) {
	at := map[string]int{}
	for i := range d.first {
		id := &d.first[i]
		what, yes := when(id)
		if !yes {
			continue
		}
		key := paper(id.Lot)
		if j, known := at[key]; known {
			f := &d.report.Found[j]
			f.Pieces += id.Pieces
			f.Tested += id.Judged.Tested
			f.Of += id.Judged.Of
			continue
		}
		f := finding(id)
		f.Kind, f.Lot, f.What = kind, key, what
		at[key] = len(d.report.Found)
		d.report.Found = append(d.report.Found, f)
	}
}

// made lists the lots that came out of each other lot after the import.
func (d *demo) made(ctx context.Context) (map[string][]string, error) {
	known := map[string]bool{}
	for _, id := range d.first {
		known[id.Lot.Code] = true
	}
	out := map[string][]string{}
	err := d.Desk.StockEach(ctx, desk.StockFilter{}, func(s answer.StockLot) error {
		if s.Parent != "" && !known[s.Code] {
			out[s.Parent] = append(out[s.Parent], fmt.Sprintf("%s: %d %s, %s ct", s.Code, s.Pieces, s.Name(), s.Carats))
		}
		return nil
	})
	return out, err
}

// parents are the papers that lots in stock came out of, by lot.
func (d *demo) parents(ctx context.Context) (map[string]string, error) {
	out := map[string]string{}
	err := d.Desk.StockEach(ctx, desk.StockFilter{}, func(s answer.StockLot) error {
		out[s.Code] = s.Parent
		return nil
	})
	return out, err
}

func finding(id *bench.LotIdentity) answer.DemoFinding {
	f := answer.DemoFinding{Lot: id.Lot.Code, Claim: id.Claim, Pieces: id.Pieces, Tested: id.Judged.Tested,
		Of:     id.Judged.Of,
		Others: id.Judged.Others, Into: []string{}}
	if len(id.Stones) > 0 && len(id.Stones[0].Next.Next) > 0 {
		f.Next = id.Stones[0].Next.Next[0].Instrument
	}
	return f
}

// others says what the stones that are not the claim most likely are, and why.
func others(id *bench.LotIdentity) (what, why string) {
	for _, s := range id.Judged.Stones {
		for _, t := range id.Stones {
			if t.Stone != s.Stone || s.Standing != "not the claim" || len(t.Account.Candidates) == 0 {
				continue
			}
			best := t.Account.Candidates[0]
			what = best.Material.Name
			if len(t.Account.Candidates) > 1 {
				what = fmt.Sprintf("most likely %s, share %.0f %%", what, 100*best.Share)
			}
			var readings []string
			for _, test := range best.Tests {
				if !strings.HasPrefix(test.Test, "colour") {
					readings = append(readings, test.Test+" "+test.Reading)
				}
			}
			return what, strings.Join(readings, ", ")
		}
	}
	return "", ""
}

// undecidedBySG finds a lot whose only reading is the specific gravity, on
// stones too small for it: it names a common rival and the weight from which
// weighing would tell the two apart.
func undecidedBySG(id *bench.LotIdentity) (answer.DemoFinding, bool) {
	f := finding(id)
	claim := map[string]*facts.Material{}
	if named, bad := facts.Resolve(id.Lot.Name()); bad == nil {
		for _, m := range named.Materials {
			claim[m.Name] = m
		}
	}
	for _, t := range id.Stones {
		var of *facts.Material
		gravity := ""
		for _, c := range t.Account.Candidates {
			if claim[c.Material.Name] == nil {
				continue
			}
			of = c.Material
			for _, test := range c.Tests {
				switch {
				case test.Test == "specific gravity":
					gravity = test.Reading
				case !strings.HasPrefix(test.Test, "colour"):
					return f, false
				}
			}
		}
		if of == nil || gravity == "" {
			return f, false
		}
		rival, least := easiestRival(of, &t, claim)
		if rival != nil {
			f.What = fmt.Sprintf("%d of %d materials are left", len(t.Account.Candidates), t.Account.Considered)
			f.Why = fmt.Sprintf("a specific gravity of %s on %.3f ct cannot decide: even to tell %s from %s by "+
				"weighing takes a stone of %.2f ct", gravity, t.Carats, of.Name, rival.Name, least)
			return f, true
		}
	}
	return f, false
}

// easiestRival is the common doubly refracting material with a named variety
// of the stone's colour, among those that its weighing leaves, that the
// smallest stone would tell from the claim; nil when one of this size would do.
func easiestRival(of *facts.Material, t *bench.TestedStone, claim map[string]*facts.Material) (rival *facts.Material,
	least float64) {
	for _, c := range t.Account.Candidates {
		m := c.Material
		if claim[m.Name] != nil || m.Frequency != "common" || m.Nature != of.Nature || m.Optic == facts.Isotropic ||
			m.Optic == facts.Aggregate || len(c.Varieties) == 0 {
			continue
		}
		need, ok := identify.SmallestWeight(of, m, balance, 1, exclusion)
		if ok && need > t.Carats && (rival == nil || need < least) {
			rival, least = m, need
		}
	}
	return rival, least
}

// The bench of the samples: resolution of the balance in carats, and the
// coverage factor of exclusion; both are the defaults of a book.
const balance, exclusion = 0.01, 3

// assumedTreatment is what is assumed where nobody stated a treatment.
func assumedTreatment(l book.Lot) string {
	named, f := facts.Resolve(l.Name())
	if f != nil {
		return ""
	}
	return strings.Join(durability.DisclosureOf(durability.Stone{Material: named.Materials[0], Variety: named.Variety,
		Nature: l.Facets.Nature.Value}).Treatment, "; ")
}

// facets counts the pieces of every lot by how each facet is known now.
func (d *demo) facets(ctx context.Context) error {
	rows := []answer.DemoFacet{{Facet: "species"}, {Facet: "nature"}, {Facet: "treatment"}, {Facet: "origin"}}
	ids, err := d.identities(ctx)
	if err != nil {
		return err
	}
	for _, id := range ids {
		x := id.Lot.Facets
		for i, f := range []book.Facet{x.Species, x.Nature, x.Treatment, x.Origin} {
			basis := f.Basis
			if i == 0 && basis == book.Stated && id.Judged.State == identify.Verified {
				basis = book.Tested
			}
			switch basis {
			case book.LabReported:
				rows[i].Report += id.Pieces
			case book.Tested:
				rows[i].Tested += id.Pieces
			case book.Stated:
				rows[i].Stated += id.Pieces
			default:
				rows[i].Silent += id.Pieces
			}
		}
	}
	d.report.Facets = rows
	return nil
}
