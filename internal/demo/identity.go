package demo

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/bench"
	"lotpaper/internal/book"
	"lotpaper/internal/stockroom"
)

// notTheClaim is the standing of a stone that its tests show to be another.
const notTheClaim = "not the claim"

// paper is the lot as it stands on the vendor's list: single stones belong to
// the paper that they came in.
func (d *demo) paper(lot string) string { return cmp.Or(d.lots[lot].Parent, lot) }

// identities are what the tests say of every lot, and the lots.
func (d *demo) identities(ctx context.Context) ([]answer.LotIdentity, map[string]answer.StockLot, error) {
	list, err := d.Stockroom.StockList(ctx, stockroom.StockList{})
	if err != nil {
		return nil, nil, err
	}
	lots := map[string]answer.StockLot{}
	for _, row := range list.Lots {
		lots[row.Code] = row.StockLot
	}
	out, err := d.Bench.Identify(ctx, bench.Identify{})
	return out.Lots, lots, err
}

func (d *demo) found(ctx context.Context) error {
	now, lots, err := d.identities(ctx)
	if err != nil {
		return err
	}
	for _, state := range []string{"verified", "supported", "stated", "mixed", "contradicted"} {
		row := answer.DemoState{State: state}
		for _, id := range d.first {
			if id.State == state {
				row.Lots++
				row.Pieces += int64(id.Of)
			}
		}
		if row.Lots > 0 {
			d.report.States = append(d.report.States, row)
		}
	}
	for _, state := range []string{"contradicted", "mixed"} {
		for i := range d.first {
			if id := &d.first[i]; id.State == state {
				f := finding(id)
				f.What, f.Why = others(id)
				f.Into = d.madeOf(id.Lot, lots)
				d.add(state, f)
			}
		}
	}
	for i := range d.first {
		id := &d.first[i]
		if len(id.Stones) > 0 && id.Stones[0].TooLight != nil {
			s, f := id.Stones[0], finding(id)
			f.What = fmt.Sprintf("the specific gravity of so small a stone, %s on %.3f ct, fits %s", s.TooLight.Gravity,
				s.TooLight.Carats, fits(len(s.Candidates), s.Considered))
			f.Why = fmt.Sprintf("even to tell %s from %s by weighing takes a stone of %.2f ct", s.TooLight.Claim,
				s.TooLight.Rival, s.TooLight.Needs)
			d.add("undecided", f)
		}
	}
	d.papers("untested", func(id *answer.LotIdentity) bool { return id.Tested == 0 && !d.testedBeside(id.Lot) })
	d.papers("treatment", func(id *answer.LotIdentity) bool { return id.Assumed != "" })
	d.papers("verified", func(id *answer.LotIdentity) bool { return id.State == "verified" })
	for i := range now {
		if r := now[i].Report; r != nil {
			f := finding(&now[i])
			f.What = fmt.Sprintf("%s, nature %s, treatment %s", r.Species, cmp.Or(r.Nature, "not said"),
				cmp.Or(r.Treatment, "not said"))
			f.Why = "report " + r.Number + " of " + r.Lab
			d.add("report", f)
		}
	}
	d.facets(now)
	d.lots = lots
	return nil
}

// fits says how many of the known materials a reading fits.
func fits(left, of int) string {
	if 10*left >= 9*of {
		return "almost any gem"
	}
	return fmt.Sprintf("%d of %d materials", left, of)
}

func (d *demo) add(kind string, f answer.DemoFinding) {
	f.Kind = kind
	d.report.Found = append(d.report.Found, f)
}

// testedBeside reports whether another stone of the same paper was tested.
func (d *demo) testedBeside(lot string) bool {
	if d.lots[lot].Stone == "" {
		return false
	}
	for _, id := range d.first {
		if d.paper(id.Lot) == d.paper(lot) && id.Tested > 0 {
			return true
		}
	}
	return false
}

// papers adds one finding for each paper that has lots of which when says yes.
func (d *demo) papers(kind string, when func(*answer.LotIdentity) bool) {
	at := map[string]int{}
	for i := range d.first {
		id := &d.first[i]
		if !when(id) {
			continue
		}
		key := d.paper(id.Lot)
		if j, known := at[key]; known {
			f := &d.report.Found[j]
			f.Pieces += int64(id.Of)
			f.Tested += id.Tested
			f.Of += id.Of
			continue
		}
		f := finding(id)
		f.Lot = key
		if kind == "treatment" {
			f.What = id.Assumed
		}
		at[key] = len(d.report.Found)
		d.add(kind, f)
	}
}

// madeOf lists the lots that came out of a lot after the first tests.
func (d *demo) madeOf(lot string, now map[string]answer.StockLot) []string {
	out := []string{}
	for i := 1; ; i++ {
		s, ok := now[fmt.Sprintf("%s.%d", lot, i)]
		if !ok {
			return out
		}
		if _, before := d.lots[s.Code]; !before {
			out = append(out, fmt.Sprintf("%s: %d %s, %s ct", s.Code, s.Pieces, s.Name(), s.Carats))
		}
	}
}

func finding(id *answer.LotIdentity) answer.DemoFinding {
	f := answer.DemoFinding{Lot: id.Lot, Claim: id.Claim, Pieces: int64(id.Of), Tested: id.Tested, Of: id.Of,
		Into: []string{}}
	for _, s := range id.Stones {
		if s.Standing == notTheClaim {
			f.Others++
		}
	}
	if len(id.Stones) > 0 && len(id.Stones[0].Next) > 0 {
		f.Next = id.Stones[0].Next[0].Test
	}
	return f
}

// others says what the stones that are not the claim most likely are, and why.
func others(id *answer.LotIdentity) (what, why string) {
	for _, s := range id.Stones {
		if s.Standing != notTheClaim || len(s.Candidates) == 0 {
			continue
		}
		best := s.Candidates[0]
		what = best.Species
		if len(s.Candidates) > 1 {
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
	return "", ""
}

// facets counts the pieces of every lot by how each facet is known now.
func (d *demo) facets(now []answer.LotIdentity) {
	for i, name := range []string{"species", "nature", "treatment", "origin"} {
		row := answer.DemoFacet{Facet: name}
		for _, id := range now {
			basis := id.Facets[i].Basis
			if name == "species" && basis == book.Stated && id.State == "verified" {
				basis = book.Tested
			}
			switch basis {
			case book.LabReported:
				row.Report += int64(id.Of)
			case book.Tested:
				row.Tested += int64(id.Of)
			case book.Stated:
				row.Stated += int64(id.Of)
			default:
				row.Silent += int64(id.Of)
			}
		}
		d.report.Facets = append(d.report.Facets, row)
	}
}
