package bench

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
)

// ReportAdd asks to keep a laboratory's report on a stone.
type ReportAdd struct {
	desk.Write
	Report book.Report
	File   *desk.Input // the report itself; nil: none
}

// ReportAdd sets the facets of a one-piece lot by a laboratory's report. The
// stone is matched by weight and size: a report of another stone is refused.
func (room *Room) ReportAdd(ctx context.Context, r ReportAdd) (answer.ReportAdded, error) {
	var out answer.ReportAdded
	err := room.desk.Update(ctx, r.Write, func(tx store.Tx, s desk.Stamp) (err error) {
		if out, err = KeepReport(ctx, tx, s, r.Report, r.File); err != nil {
			return err
		}
		e := s.Entry(ledger.Record, "report "+out.Report.Number+" of "+out.Report.Lab+" on "+out.Lot.Code)
		e.Records = []book.Record{out.Report, out.Lot}
		err = tx.Post(ctx, &e)
		out.Entry = e.Code
		return err
	})
	return out, err
}

// mostReport is the size of the largest file that a report is kept with.
const mostReport = 64 << 20

// KeepReport returns a laboratory's report as the book keeps it, with its file, and
// the lot as the report makes it. The caller posts both.
func KeepReport(ctx context.Context, tx store.ReadTx, s desk.Stamp, report book.Report, file *desk.Input) (
	answer.ReportAdded, error) {
	out := answer.ReportAdded{Warnings: fault.List{}}
	lot, err := stoneOf(ctx, tx, report.Lot)
	if err != nil {
		return out, err
	}
	if claimed := cmp.Or(lot.Variety, lot.Species); report.Species == "" && claimed != "" {
		report.Species = claimed
		out.Warnings.Add(fault.New(fault.Invalid, "report-claimed", "nobody said what the report names the stone: it "+
			"is "+
			"taken to be "+claimed+", as "+lot.Code+" is claimed", "name the species when the report says otherwise").
			AtRef(lot.Code).AtField("species").AsWarning())
	}
	named, f := facts.Resolve(report.Species)
	if f != nil {
		return out, f.AtField("species")
	}
	if words := named.Misleads(); words != "" {
		out.Warnings.Add(fault.New(fault.Invalid, "name-misleads", words, "ask whether the report says so").
			AtField("species").AsWarning())
	}
	if report.Lab == "" || report.Number == "" {
		return out, fault.New(fault.Usage, "report-number", "a report has a laboratory and a number", "give both").
			AtField("lab")
	}
	if lot.Pieces != 1 {
		return out, fault.New(fault.Refused, "report-lot", fmt.Sprintf("a report is of one stone, but %s has %d pieces",
			lot.Code, lot.Pieces), "split the stone off first").AtRef(lot.Code).Do("lot", "split", lot.Code)
	}
	lab := labReport(report)
	if ok, why := lab.Matches(measuredOf(lot.Lot, lot.Carats)); !ok {
		return out, fault.New(fault.Refused, "report-other-stone", why, "find the stone that the report describes; "+
			"give weight and sizes as the report states them").AtRef(lot.Code)
	}
	report.Lot = lot.Code
	report.On = cmp.Or(report.On, s.On)
	if report.Species = named.Materials[0].Name; len(named.Materials) > 1 {
		report.Species = named.Asked
	}
	if named.Variety != nil && report.Variety == "" {
		report.Variety = named.Variety.Name
	}
	next := lot.Lot
	if !strings.EqualFold(next.Species, report.Species) {
		out.Warnings = append(out.Warnings, fault.New(fault.Invalid, "report-species",
			fmt.Sprintf("the report says %s, the lot claimed %s", report.Species, next.Name()),
			"tell the vendor; the lot now follows the report").AtRef(lot.Code).AsWarning())
		next.Species, next.Variety = report.Species, report.Variety
	}
	if report.Variety != "" {
		next.Variety = report.Variety
	}
	set := func(f *book.Facet, value string) {
		if value != "" {
			*f = book.Facet{Value: value, Basis: book.LabReported}
		}
	}
	set(&next.Facets.Species, report.Species)
	next.Opinion = nil // the laboratory decided
	if next.Fenced == book.Unestablished {
		next.Fenced = ""
	}
	set(&next.Facets.Nature, report.Nature)
	set(&next.Facets.Treatment, report.Treatment)
	set(&next.Facets.Origin, report.Origin)
	if file != nil {
		if file.Size > mostReport {
			return out, fault.New(fault.Refused, "report-file",
				fmt.Sprintf("%s has %d bytes: a report's file may have %d",
					file.Name, file.Size, mostReport), "keep a smaller one").AtField("file")
		}
		report.File, report.Bytes = file.Name, make([]byte, file.Size)
		if _, err := file.Reader.ReadAt(report.Bytes, 0); err != nil && err != io.EOF {
			return out, fmt.Errorf("read %s: %w", file.Name, err)
		}
		sum := sha256.Sum256(report.Bytes)
		report.SHA256 = hex.EncodeToString(sum[:])
	}
	out.Report, out.Lot = report, next
	return out, nil
}

// stoneOf reads the lot that a report is of; of a finished piece it is the only
// stone that lies in it.
func stoneOf(ctx context.Context, tx store.ReadTx, code string) (answer.StockLot, error) {
	s, err := desk.StockOf(ctx, tx, code)
	if err != nil || !s.IsPiece() {
		return s, err
	}
	inside, err := desk.StonesIn(ctx, tx, s.Inside())
	switch {
	case err != nil:
		return s, err
	case len(inside) == 1 && inside[0].Pieces == 1:
		return desk.StockOf(ctx, tx, inside[0].Lot)
	case len(inside) == 0:
		return s, s.CheckStones()
	}
	return s, fault.New(fault.Refused, "report-piece", "more than one stone lies in "+s.Code+", and a report is of one",
		"name the lot of that stone").AtRef(s.Code).Do("piece", "show", s.Code)
}
