package lines

import (
	"fmt"

	"lotpaper/internal/answer"
	"lotpaper/internal/bench"
	"lotpaper/internal/book"
	"lotpaper/internal/identify"
)

// stones are the rows of one design: every planned unit, position and lot.
func (w *proposalWriter) stones(d *pricedDesign) []answer.ProposalStone {
	var out []answer.ProposalStone
	for _, piece := range w.plan.Pieces {
		if piece.Design != d.Name {
			continue
		}
		for _, f := range piece.Fills {
			pos, _ := d.PositionNamed(f.Position)
			for _, s := range f.Stones {
				lot := w.lots[s.Lot]
				row := answer.ProposalStone{
					Design: d.Name, Unit: int64(piece.Number), Position: f.Position, Setting: pos.Setting, Lot: s.Lot,
					Pieces: s.Pieces, StoneWords: stoneWords(lot, w.identities[s.Lot]), Carats: s.Carats,
					ByScale: lot.Pieces == s.Pieces, Cost: w.bookCost(s.Lot, s.Pieces), Owner: string(lot.Owner),
				}
				if j := w.judge.At(lot.Lot, d.Design.Design, pos); j.Err == nil {
					row.Level = j.All.Setting.String()
				}
				out = append(out, row)
			}
		}
	}
	return out
}

// stoneWords say what a lot's stones are, as published rules ask it to be told.
func stoneWords(lot answer.StockLot, id *bench.LotIdentity) answer.StoneWords {
	facet := func(f book.Facet) answer.Facet { return answer.Facet{Value: f.Value, Basis: f.Basis} }
	s := answer.StoneWords{
		Name: lot.Called(), Shape: lot.Shape, Size: answer.SizeWords(lot.Lot), Color: lot.Color,
		Nature: facet(lot.Facets.Nature), Treatment: facet(lot.Facets.Treatment), Origin: facet(lot.Facets.Origin),
		Established: []string{}, NotEstablished: []string{},
	}
	switch o := lot.Opinion; {
	case o != nil:
		s.NotEstablished = append(s.NotEstablished, fmt.Sprintf("its name, which is the dealer's judgement; claimed %s",
			lot.Name()))
	case lot.Variety != "":
		s.Species = lot.Species
	}
	disclose(&s, lot.Lot)
	establish(&s, lot, id)
	return s
}

// disclose words treatment and special care.
func disclose(s *answer.StoneWords, lot book.Lot) {
	d := answer.DisclosureOf(lot)
	if d.Assumed {
		s.Assumed = d.Treatment
	} else {
		s.Permanence = d.Treatment
	}
	s.SpecialCare = d.Care
	if d.Value {
		s.ValueEffect = "the treatment affects the value"
	}
}

// establish says which facets are established, and how, and which are not.
func establish(s *answer.StoneWords, lot answer.StockLot, id *bench.LotIdentity) {
	s.Identity = string(identify.Stated)
	if id != nil {
		s.Identity = string(id.Judged.State)
	}
	species := "species " + lot.Species
	switch {
	case lot.Facets.Species.Basis == book.LabReported:
		s.Established = append(s.Established, species+" (laboratory report)")
	case id != nil && id.Judged.State == identify.Verified:
		s.Established = append(s.Established, fmt.Sprintf("%s (%d of %d tested)", species, id.Judged.Tested,
			id.Judged.Of))
	case id != nil && id.Judged.Tested > 0:
		s.NotEstablished = append(s.NotEstablished, fmt.Sprintf("%s (%d of %d tested, others not excluded)", species,
			id.Judged.Tested, id.Judged.Of))
	default:
		s.NotEstablished = append(s.NotEstablished, species+" (nobody tested it)")
	}
	for _, f := range []struct {
		name string
		book.Facet
	}{{"nature", lot.Facets.Nature}, {"treatment", lot.Facets.Treatment}, {"origin", lot.Facets.Origin}} {
		if f.Basis == book.LabReported {
			s.Established = append(s.Established, f.name+": "+f.Value+" (laboratory report)")
			continue
		}
		if f.name == "origin" && f.Value == "" {
			continue // origin is told only when somebody claims one
		}
		s.NotEstablished = append(s.NotEstablished, f.name)
	}
	if id != nil && id.Report != nil {
		s.OriginBasis = "report " + id.Report.Number + " of " + id.Report.Lab
	}
}
