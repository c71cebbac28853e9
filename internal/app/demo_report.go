package app

import (
	"context"
	"fmt"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/durability"
	"lotpaper/internal/facts"
	"lotpaper/internal/identify"
	"lotpaper/internal/num"
)

// DemoReport is what the demo did and found. Every number in it comes out of
// the book.
type DemoReport struct {
	Folder  string         `json:"folder"` // where its files were written; Demo leaves it empty
	Dealer  string         `json:"dealer"`
	Bought  []DemoParcel   `json:"bought"`
	States  []DemoState    `json:"states"` // of the lots as bought
	Found   []DemoFinding  `json:"found"`
	Facets  []DemoFacet    `json:"facets"`  // how each facet of the stones is known, at the end
	Refused []DemoRefusal  `json:"refused"` // what may not be set where it was asked for
	Caution []DemoRefusal  `json:"caution"` // what was planned and needs care at the bench or in the showcase
	Line    DemoLine       `json:"line"`
	Orders  []DemoOrder    `json:"orders"`
	Files   []DemoFile     `json:"files"`
	Check   LedgerCheck    `json:"ledger"`
	Assumed []DemoAssuming `json:"assumed"` // treatments that nobody stated, in planned stones
}

// DemoParcel is what came in.
type DemoParcel struct {
	Code     string       `json:"parcel"`
	Label    string       `json:"label"`
	Kind     string       `json:"kind"`
	Vendor   string       `json:"vendor"`
	Lots     int          `json:"lots"`
	Pieces   int64        `json:"pieces"`
	Carats   num.Carat    `json:"carats"`
	Price    num.Money    `json:"price"`
	Currency num.Currency `json:"currency"` // of the invoice
	Rate     num.Rate     `json:"rate"`
	Charges  num.Money    `json:"charges"`
	Held     num.Money    `json:"held"` // landed cost of what is left
	Agreed   num.Money    `json:"agreed"`
}

// DemoState counts the lots in one state of identity.
type DemoState struct {
	State  string `json:"state"`
	Lots   int    `json:"lots"`
	Pieces int64  `json:"pieces"`
}

// DemoFinding is one thing that was found out about a lot. Kind is
// contradicted, mixed, undecided, untested, treatment, verified or report.
type DemoFinding struct {
	Kind   string   `json:"kind"`
	Lot    string   `json:"lot"`
	Claim  string   `json:"claim"`
	Pieces int64    `json:"pieces"`
	Tested int      `json:"tested"`
	Of     int      `json:"of"`
	Others int      `json:"others"` // tested stones that are not the claim
	What   string   `json:"what"`   // what the others most likely are, or what is assumed
	Why    string   `json:"why"`
	Next   string   `json:"next"`
	Into   []string `json:"into"` // lots that a sort made
}

// DemoFacet counts pieces by how one facet is known.
type DemoFacet struct {
	Facet  string `json:"facet"`
	Report int64  `json:"lab_reported"`
	Tested int64  `json:"tested"`
	Stated int64  `json:"stated"`
	Silent int64  `json:"unknown"`
}

// DemoRefusal is a stone that must not go where it was asked for, or that
// needs care there.
type DemoRefusal struct {
	Design   string `json:"design"`
	Where    string `json:"where"` // "daily ring, prong"
	Position string `json:"position"`
	Lots     string `json:"lots"`
	Stone    string `json:"stone"`
	Pieces   int64  `json:"pieces"`
	Part     string `json:"part"`
	Level    string `json:"level"`
	Reason   string `json:"reason"`
	Mend     string `json:"mend"`
}

// DemoAssuming is a treatment that nobody stated.
type DemoAssuming struct {
	Lots    string `json:"lots"`
	Stone   string `json:"stone"`
	Assumed string `json:"assumed"`
}

// DemoLine is what the line costs and earns.
type DemoLine struct {
	Name       string       `json:"line"`
	Designs    []DemoDesign `json:"designs"`
	Cost       num.Money    `json:"cost"`
	Sales      num.Money    `json:"sales"`
	Fixed      num.Money    `json:"fixed"`
	Earned     num.Money    `json:"earned"`
	Drop       string       `json:"drop"`
	Bound      num.Money    `json:"bound"`
	GapPercent float64      `json:"gap_percent"`
	Status     string       `json:"status"`
	Low        num.Money    `json:"p10"`
	High       num.Money    `json:"p90"`
	LossChance string       `json:"loss_chance_percent"`
	Runs       int          `json:"runs"`
	Short      []DemoShort  `json:"short"`
}

// DemoDesign is one design as planned.
type DemoDesign struct {
	Design string    `json:"design"`
	Metal  string    `json:"metal"`
	Wanted int64     `json:"wanted"`
	Made   int64     `json:"made"`
	Cost   num.Money `json:"cost"`
	Price  num.Money `json:"price_trade"`
	Margin string    `json:"margin_percent"`
	Earned num.Money `json:"earned"`
}

// DemoShort is what the plan lacks.
type DemoShort struct {
	Design   string    `json:"design"`
	Position string    `json:"position"`
	Missing  int64     `json:"missing"`
	Why      string    `json:"why"`
	Worth    num.Money `json:"worth"`
}

// DemoOrder is one item of a cutter order.
type DemoOrder struct {
	Number   string         `json:"order"`
	Document string         `json:"document"`
	Cutter   string         `json:"cutter"`
	Due      book.Date      `json:"due"`
	Design   string         `json:"design"`
	Position string         `json:"position"`
	Material string         `json:"material"`
	Shape    string         `json:"shape"`
	Length   num.Millimetre `json:"length_mm"`
	Width    num.Millimetre `json:"width_mm"`
	Count    int64          `json:"count"`
	Spare    int64          `json:"spare"`
	Weight   num.Carat      `json:"weight_each"`
	PriceMax num.Money      `json:"price_max_each"`
}

// look reads the report out of the book and the plan.
func (d *demo) look(ctx context.Context) error {
	if err := d.bought(ctx); err != nil {
		return err
	}
	if err := d.found(ctx); err != nil {
		return err
	}
	if err := d.facets(ctx); err != nil {
		return err
	}
	d.refusals()
	d.cautions()
	d.money()
	d.report.Orders = []DemoOrder{}
	for _, o := range d.orders {
		for _, l := range o.Lines {
			d.report.Orders = append(d.report.Orders, DemoOrder{
				Number: o.Number, Document: o.Document, Cutter: o.Cutter, Due: o.Due, Design: l.Design, Position: l.Position, Material: strings.Join(l.Species, " or "),
				Shape: l.Shape, Length: l.Length, Width: l.Width, Count: l.Count, Spare: l.Spare, Weight: l.Weight, PriceMax: l.PriceMax,
			})
		}
	}
	var err error
	d.report.Check, err = d.LedgerCheck(ctx)
	return err
}

func (d *demo) bought(ctx context.Context) error {
	parcels, err := d.ParcelShow(ctx, "")
	if err != nil {
		return err
	}
	for _, p := range parcels {
		full, err := d.ParcelShow(ctx, p.Code)
		if err != nil {
			return err
		}
		p := full[0]
		row := DemoParcel{Code: p.Code, Label: p.Label, Kind: string(p.Kind), Vendor: p.Vendor, Lots: p.Lots, Pieces: p.Pieces, Carats: p.Carats,
			Price: p.Price, Currency: p.Currency, Rate: p.Rate, Charges: num.Zero(p.Price.Currency()), Held: p.Held, Agreed: num.Zero(p.Price.Currency())}
		for _, c := range p.Charges {
			row.Charges = row.Charges.Add(c.Amount)
		}
		for _, l := range p.Left {
			if !l.Owner.IsOwn() && !l.Agreed.IsZero() {
				row.Agreed = row.Agreed.Add(l.Agreed)
			}
		}
		d.report.Bought = append(d.report.Bought, row)
	}
	return nil
}

// paper is the lot as it stands on the vendor's list: single stones belong to
// the paper that they came in.
func paper(l book.Lot) string { return orThe(l.Parent, l.Code) }

func (d *demo) found(ctx context.Context) error {
	for _, state := range []identify.State{identify.Verified, identify.Supported, identify.Stated, identify.Mixed, identify.Contradicted} {
		row := DemoState{State: string(state)}
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
	add := func(kind string, f DemoFinding) {
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
			f.Into = list(into[id.Lot.Code])
			add(string(state), f)
		}
	}
	for _, id := range d.first {
		if f, undecided := undecidedBySG(&id); undecided {
			add("undecided", f)
		}
	}
	d.papers("untested", func(id *LotIdentity) (string, bool) {
		return "", id.Judged.Tested == 0 && !d.testedBeside(id.Lot)
	})
	d.papers("treatment", func(id *LotIdentity) (string, bool) {
		if id.Lot.Facets.Treatment.Value != "" {
			return "", false
		}
		return assumedTreatment(id.Lot), true
	})
	d.papers("verified", func(id *LotIdentity) (string, bool) { return "", id.Judged.State == identify.Verified })
	reports, err := d.Identify(ctx, "", StockFilter{})
	if err != nil {
		return err
	}
	for _, id := range reports {
		if id.Report != nil {
			f := finding(&id)
			f.What = fmt.Sprintf("%s, nature %s, treatment %s", id.Report.Species, orThe(id.Report.Nature, "not said"), orThe(id.Report.Treatment, "not said"))
			f.Why = "report " + id.Report.Number + " of " + id.Report.Lab
			add("report", f)
		}
	}
	return nil
}

// testedBeside tells whether another stone of the same paper was tested.
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
func (d *demo) papers(kind string, when func(*LotIdentity) (string, bool)) {
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
	err := d.StockEach(ctx, StockFilter{}, func(s StockLot) error {
		if s.Parent != "" && !known[s.Code] {
			out[s.Parent] = append(out[s.Parent], fmt.Sprintf("%s: %d %s, %s ct", s.Code, s.Pieces, s.Name(), s.Carats))
		}
		return nil
	})
	return out, err
}

func finding(id *LotIdentity) DemoFinding {
	f := DemoFinding{Lot: id.Lot.Code, Claim: id.Claim, Pieces: id.Pieces, Tested: id.Judged.Tested, Of: id.Judged.Of, Others: id.Judged.Others, Into: []string{}}
	if len(id.Stones) > 0 && len(id.Stones[0].Next.Next) > 0 {
		f.Next = id.Stones[0].Next.Next[0].Instrument
	}
	return f
}

// others says what the stones that are not the claim most likely are, and why.
func others(id *LotIdentity) (what, why string) {
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
func undecidedBySG(id *LotIdentity) (DemoFinding, bool) {
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
			f.Why = fmt.Sprintf("a specific gravity of %s on %.3f ct cannot decide: even to tell %s from %s by weighing takes a stone of %.2f ct", gravity, t.Carats, of.Name, rival.Name, least)
			return f, true
		}
	}
	return f, false
}

// easiestRival is the common doubly refracting material with a named variety
// of the stone's colour, among those that its weighing leaves, that the
// smallest stone would tell from the claim; nil when one of this size would do.
func easiestRival(of *facts.Material, t *TestedStone, claim map[string]*facts.Material) (rival *facts.Material, least float64) {
	for _, c := range t.Account.Candidates {
		m := c.Material
		if claim[m.Name] != nil || m.Frequency != "common" || m.Nature != of.Nature || m.Optic == facts.Isotropic || m.Optic == facts.Aggregate || len(c.Varieties) == 0 {
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
	return strings.Join(durability.DisclosureOf(durability.Stone{Material: named.Materials[0], Variety: named.Variety, Nature: l.Facets.Nature.Value}).Treatment, "; ")
}

// facets counts the pieces of every lot by how each facet is known now.
func (d *demo) facets(ctx context.Context) error {
	rows := []DemoFacet{{Facet: "species"}, {Facet: "nature"}, {Facet: "treatment"}, {Facet: "origin"}}
	ids, err := d.Identify(ctx, "", StockFilter{})
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

// refusals are the stones that a position asks for and its setting refuses,
// one row for each kind of stone and reason.
func (d *demo) refusals() {
	p := d.line.Planned
	out := []DemoRefusal{}
	at := map[string]int{}
	for _, design := range p.Designs {
		for _, pos := range design.Positions {
			accept, _ := durability.LevelNamed(orThe(pos.Accept, "care"))
			for _, s := range p.input.Stones {
				lot, held := p.Stones[s.Lot]
				if !held || s.Free <= 0 || s.Fenced != "" || !asksFor(pos, lot.Lot) {
					continue
				}
				j := p.judge.at(lot.Lot, design.Design, pos)
				if j.err != nil || j.all.Setting <= accept {
					continue
				}
				f := worstOf(j, durability.PartSetting)
				row := DemoRefusal{Design: design.Name, Where: whereWords(design.Design, pos), Position: pos.Name, Lots: s.Lot, Stone: lot.Name(), Pieces: s.Free,
					Part: string(f.Part), Level: f.Level.String(), Reason: j.reason(), Mend: f.Mend}
				key := row.Design + row.Position + row.Stone + row.Reason
				if i, known := at[key]; known {
					out[i].Pieces += row.Pieces
					out[i].Lots += ", " + row.Lots
					continue
				}
				at[key] = len(out)
				out = append(out, row)
			}
		}
	}
	d.report.Refused = out
}

// asksFor tells whether a position asks for such a stone by kind, shape and
// size.
func asksFor(p book.Position, l book.Lot) bool {
	inside := func(s book.Size, low, high num.Millimetre) bool {
		return low == 0 && high == 0 || !s.IsZero() && s.Min >= low && (high == 0 || s.Max <= high)
	}
	kind := len(p.Species) == 0 || containsFold(p.Species, l.Species) || l.Variety != "" && containsFold(p.Species, l.Variety)
	return kind && strings.EqualFold(p.Shape, l.Shape) && inside(l.Length, p.LengthMin, p.LengthMax) && inside(l.Width, p.WidthMin, p.WidthMax)
}

func whereWords(d book.Design, p book.Position) string {
	return d.Wear + " " + d.Piece + ", " + p.Setting
}

// worstOf is the worst finding of one part.
func worstOf(j *judgement, part durability.Part) durability.Finding {
	var worst durability.Finding
	for _, f := range j.all.Worst.Verdict.Findings {
		if f.Part == part && (worst.Rule == "" || f.Level > worst.Level) {
			worst = f
		}
	}
	return worst
}

// cautions are the findings at caution or worse of the bench and the showcase
// on stones that the plan uses, and what is assumed of their treatment.
func (d *demo) cautions() {
	w := &proposalWriter{LinePrice: d.line.LinePrice}
	d.report.Caution, d.report.Assumed = []DemoRefusal{}, []DemoAssuming{}
	seen := map[string]bool{}
	for _, design := range d.line.Planned.Designs {
		w.judged(design.Design, func(pos book.Position, lot StockLot, j *judgement) {
			for _, part := range []durability.Part{durability.PartBench, durability.PartDisplay} {
				f := worstOf(j, part)
				key := design.Name + pos.Name + lot.Name() + string(part)
				if f.Level < durability.Caution || seen[key] {
					continue
				}
				seen[key] = true
				where := "the bench: " + orThe(strings.Join(design.Bench, ", "), "no step stated")
				if part == durability.PartDisplay {
					where = "on show: no light stated, so a lit showcase is assumed"
					if design.Lux.Sign() > 0 {
						where = fmt.Sprintf("on show: %s lux, %s h a day", design.Lux, design.HoursPerDay)
					}
				}
				d.report.Caution = append(d.report.Caution, DemoRefusal{Design: design.Name, Where: where, Position: pos.Name, Lots: lot.Code, Stone: lot.Name(),
					Pieces: d.line.Plan.Used[lot.Code], Part: string(part), Level: f.Level.String(), Reason: f.Reason, Mend: f.Mend})
			}
			if lot.Facets.Treatment.Value == "" && !seen["treatment "+paper(lot.Lot)] {
				seen["treatment "+paper(lot.Lot)] = true
				d.report.Assumed = append(d.report.Assumed, DemoAssuming{Lots: paper(lot.Lot), Stone: lot.Name(), Assumed: assumedTreatment(lot.Lot)})
			}
		})
	}
}

// money is the line as proposed.
func (d *demo) money() {
	l := d.line
	out := DemoLine{Name: l.Line, Cost: l.Cost, Sales: l.Sales, Fixed: l.Fixed, Earned: l.Earned, Drop: l.Drop, Bound: l.Plan.Bound, GapPercent: l.Plan.Gap, Status: l.Plan.Status, Designs: []DemoDesign{}, Short: []DemoShort{}}
	if r := l.Proposal.Risk; r != nil {
		out.Low, out.High, out.LossChance, out.Runs = r.P10, r.P90, r.LossChance.Fixed(1), int(r.Runs)
	}
	for i, p := range l.LinePrice.Designs {
		design := l.Planned.Designs[i].Design
		out.Designs = append(out.Designs, DemoDesign{Design: p.Design, Metal: metalWords(design), Wanted: p.Wanted, Made: p.Made, Cost: p.Cost.Amount,
			Price: p.Trade.Price, Margin: p.Trade.Margin.Fixed(1), Earned: p.Earned})
	}
	for _, s := range l.Plan.Short {
		out.Short = append(out.Short, DemoShort{s.Design, s.Position, s.Missing, s.Why, s.Worth})
	}
	d.report.Line = out
}
