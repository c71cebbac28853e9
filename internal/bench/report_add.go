package bench

import (
	"context"
	"fmt"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// AddReportRequest is a laboratory's report on a stone.
type AddReportRequest struct {
	desk.Write
	Report book.Report
}

// AddReport sets the facets of a one-piece lot by a laboratory's report. The
// stone is matched by weight and size: a report of another stone is refused.
func (room *Room) AddReport(ctx context.Context, req AddReportRequest) (answer.ReportAdded, error) {
	out, r := answer.ReportAdded{Warnings: fault.List{}}, req.Report
	named, f := facts.Resolve(r.Species)
	if f != nil {
		return out, f.AtField("species")
	}
	if r.Lab == "" || r.Number == "" {
		return out, fault.New(fault.Usage, "report-number", "a report has a laboratory and a number", "give both").
			AtField("lab")
	}
	err := room.desk.Update(ctx, req.Write, func(tx store.Tx, s desk.Stamp) error {
		lot, err := desk.StockOf(ctx, tx, r.Lot)
		if err != nil {
			return err
		}
		if lot.Pieces != 1 {
			return fault.New(fault.Refused, "report-lot", fmt.Sprintf("a report is of one stone, but %s has %d pieces",
				lot.Code, lot.Pieces), "split the stone off first").AtRef(lot.Code).Do("lot", "split", lot.Code)
		}
		lab := labReport(r)
		if ok, why := lab.Matches(measuredOf(lot.Lot, lot.Carats)); !ok {
			return fault.New(fault.Refused, "report-other-stone", why, "find the stone that the report describes; "+
				"give weight and sizes as the report states them").AtRef(lot.Code)
		}
		r.Lot = lot.Code
		if r.On == "" {
			r.On = s.On
		}
		if r.Species = named.Materials[0].Name; len(named.Materials) > 1 {
			r.Species = named.Asked
		}
		if named.Variety != nil && r.Variety == "" {
			r.Variety = named.Variety.Name
		}
		next := lot.Lot
		if !strings.EqualFold(next.Species, r.Species) {
			out.Warnings = append(out.Warnings, fault.New(fault.Invalid, "report-species",
				fmt.Sprintf("the report says %s, the lot claimed %s", r.Species, next.Name()),
				"tell the vendor; the lot now follows the report").AtRef(lot.Code).AsWarning())
			next.Species, next.Variety = r.Species, r.Variety
		}
		if r.Variety != "" {
			next.Variety = r.Variety
		}
		set := func(f *book.Facet, value string) {
			if value != "" {
				*f = book.Facet{Value: value, Basis: book.LabReported}
			}
		}
		set(&next.Facets.Species, r.Species)
		if next.Fenced == book.Unestablished {
			next.Fenced = ""
		}
		set(&next.Facets.Nature, r.Nature)
		set(&next.Facets.Treatment, r.Treatment)
		set(&next.Facets.Origin, r.Origin)
		e := s.Entry(ledger.Record, "report "+r.Number+" of "+r.Lab+" on "+lot.Code)
		e.Records = []book.Record{r, next}
		if err := tx.Post(ctx, &e); err != nil {
			return err
		}
		out.Entry, out.Report, out.Lot = e.Code, r, next
		return nil
	})
	return out, err
}
