package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/demo"
	"lotpaper/internal/fault"
	"lotpaper/internal/ui"
)

// demoFolder is where the demo goes when no folder is named.
const demoFolder = "lotpaper-demo"

func (r *root) demoCommand() *cobra.Command {
	return verb("demo [DIR]", "See the whole job on an invented dealer's data", `  lotpaper demo
  lotpaper demo sea-line

Makes a book in a new folder (default `+demoFolder+`) and runs the whole job on
invented data: buys a mixed parcel, tests it, sorts it, checks settings, plans
and prices a line, proposes it and orders what is short. It writes every
document into the folder and says what it found.
`, cobra.MaximumNArgs(1), func(ctx context.Context, args []string) error {
		dir := demoFolder
		if len(args) == 1 {
			dir = args[0]
		}
		return r.demo(ctx, dir)
	})
}

// demo claims the folder, fills it, and takes it away again when anything
// fails.
func (r *root) demo(ctx context.Context, dir string) (err error) {
	switch err := os.Mkdir(dir, 0o755); {
	case errors.Is(err, fs.ErrExist):
		return fault.New(fault.Refused, "demo-exists", dir+" exists already", "choose another folder: lotpaper demo "+
			"NAME, or remove this one")
	case errors.Is(err, fs.ErrNotExist):
		return fault.New(fault.NotFound, "demo-parent", "the folder "+filepath.Dir(dir)+" does not exist",
			"make it first, or choose another")
	case err != nil:
		return fmt.Errorf("make the folder %s: %w", dir, err)
	}
	defer func() {
		if err != nil {
			os.RemoveAll(dir)
		}
	}()
	clock := demo.NewClock()
	s, err := r.Create(ctx, filepath.Join(dir, "lotpaper.db"), demo.Meta(), clock.Now)
	if err != nil {
		return err
	}
	report, err := demo.Run(ctx, s, clock)
	if err := errors.Join(err, s.Close()); err != nil {
		return err
	}
	report.Folder = dir
	for _, f := range report.Files {
		path := filepath.Join(dir, filepath.FromSlash(f.Name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			return fmt.Errorf("make a folder: %w", err)
		}
		if err := r.Streams.WriteFile(path, false, true, func(w io.Writer) error {
			_, err := w.Write(f.Bytes)
			return err
		}); err != nil {
			return err
		}
	}
	if r.Streams.JSON {
		return r.Streams.Document("demo", report)
	}
	r.demoBought(report)
	r.demoFound(report)
	r.demoSettings(report)
	r.demoLine(report)
	r.demoFiles(report, dir)
	return nil
}

func (r *root) title(text string) { r.Streams.Printf("\n%s\n", strings.ToUpper(text)) }

// point prints one point of a report, wrapped.
func (r *root) point(format string, args ...any) {
	r.Streams.Printf("- %s\n", answer.Wrap(fmt.Sprintf(format, args...), 94, "  "))
}

// aligned prints a table for people, also into a pipe: a report is read, not
// cut.
func (r *root) aligned(t *ui.Table) { r.Streams.Printf("%s", t.Aligned(r.Streams.Color)) }

func number(n int64) string { return strconv.FormatInt(n, 10) }

func (r *root) demoBought(d *answer.Demo) {
	r.Streams.Printf("The invented dealer %s plans a line. Names, places, prices and readings are invented.\n",
		d.Dealer)
	r.title("what was bought")
	for _, p := range d.Bought {
		if p.Kind == "memo-in" {
			r.point("%s, %s, on memo in from %s: %d lot, %d pieces, %s ct; agreed at %s if used.", p.Code, p.Label,
				p.Vendor, p.Lots, p.Pieces, p.Carats, p.Agreed.Words())
			continue
		}
		r.point("%s, %s, from %s: %d lots, %d pieces, %s ct for %s (invoice in %s at %s), landed costs %s; held now "+
			"at %s.",
			p.Code, p.Label, p.Vendor, p.Lots, p.Pieces, p.Carats, p.Price.Words(), p.Currency, p.Rate,
			p.Charges.Words(), p.Held.Words())
	}
}

func (r *root) demoFound(d *answer.Demo) {
	r.title("what it turned out to be")
	t := (&ui.Table{Header: []string{"as bought", "lots", "pieces"}}).Numbers(1, 2)
	for _, s := range d.States {
		t.Add(s.State, strconv.Itoa(s.Lots), number(s.Pieces))
	}
	r.aligned(t)
	for _, f := range d.Found {
		switch f.Kind {
		case "contradicted":
			r.point("%s is not what the invoice says: %s. All %d tested of %d stones exclude it; they are %s (%s). "+
				"Plans leave it out.", f.Lot, f.Claim, f.Tested, f.Of, f.What, f.Why)
		case "mixed":
			r.point("%s, bought as %s, is two things: %d of %d tested stones are %s (%s). Sorted by identity into %s.",
				f.Lot, f.Claim, f.Others, f.Tested, f.What, f.Why, strings.Join(f.Into, "; "))
		case "undecided":
			r.point("%s, claimed %s, is not settled: %s; %s. Next test: %s.", f.Lot, f.Claim, f.What, f.Why, f.Next)
		case "untested":
			r.point("%s, claimed %s: nobody tested any of its %d pieces.", f.Lot, f.Claim, f.Pieces)
		case "treatment":
			r.point("%s, %s: nobody stated the treatment. Assumed: %s.", f.Lot, f.Claim, f.What)
		case "verified":
			r.point("%s: %d stones are verified as %s.", f.Lot, f.Tested, f.Claim)
		case "report":
			r.point("%s, claimed %s: %s, by %s.", f.Lot, f.Claim, f.What, f.Why)
		}
	}
	r.Streams.Printf("\nNOT established: a bench test proves a species, never nature, treatment or origin. Pieces, " +
		"by how each is known:\n")
	t = (&ui.Table{Header: []string{"", "laboratory", "tested", "only stated", "not even stated"}}).Numbers(1, 2, 3, 4)
	for _, f := range d.Facets {
		t.Add(f.Facet, number(f.Report), number(f.Tested), number(f.Stated), number(f.Silent))
	}
	r.aligned(t)
}

func (r *root) demoSettings(d *answer.Demo) {
	r.title("what may not be set where")
	for _, f := range d.Refused {
		r.point("%s (%s): %s of %s is refused, %s: %s. Mend: %s.", f.Design, f.Where, f.Stone, f.Lots, f.Level,
			f.Reason, f.Mend)
	}
	for _, f := range d.Caution {
		r.point("%s (%s): %s, %s: %s. Mend: %s.", f.Design, f.Where, f.Stone, f.Level, f.Reason, f.Mend)
	}
	for _, a := range d.Assumed {
		r.point("%s of %s is planned with no stated treatment; for wear, care and disclosure it is taken as %s.",
			a.Stone, a.Lots, a.Assumed)
	}
}

func (r *root) demoLine(d *answer.Demo) {
	l := d.Line
	r.title("what the line costs and earns")
	t := (&ui.Table{Header: []string{"design", "metal", "wanted", "planned", "unit cost", "trade price", "margin %",
		"earns"}}).Numbers(2, 3, 4, 5, 6, 7)
	for _, x := range l.Designs {
		t.Add(x.Design, x.Metal, number(x.Wanted), number(x.Made), x.Cost.String(), x.Price.String(), x.Margin,
			x.Earned.String())
	}
	r.aligned(t)
	r.point("The planned units cost %s and sell for %s; fixed cost is %s; the line earns %s.", l.Cost.Words(),
		l.Sales.Words(), l.Fixed.Words(), l.Earned.Words())
	r.point("The search ended %s: no other plan could be better by more than %.2f %%.", l.Status, l.GapPercent)
	if l.Runs > 0 {
		r.point("With breakage and metal prices at chance (%d runs) it earns %s to %s in 8 of 10 cases; the chance "+
			"of a loss is %s %%.", l.Runs, l.Low.Words(), l.High.Words(), l.LossChance)
	}
	if l.Drop != "" {
		r.point("%s does not earn its own fixed cost: drop it first, or raise its price.", l.Drop)
	}
	r.title("what to order")
	for _, s := range l.Short {
		r.point("%s, %s: %d short. It %s.", s.Design, s.Position, s.Missing, s.Why)
	}
	for _, o := range d.Orders {
		count := number(o.Count)
		if o.Spare > 0 {
			count += " and " + number(o.Spare) + " spare"
		}
		r.point("%s at %s, due %s: %s %s, %s %s x %s mm, about %s ct each, at most %s each.", o.Number, o.Cutter,
			o.Due, count,
			o.Material, o.Shape, o.Length, o.Width, o.Weight, o.PriceMax.Words())
	}
}

func (r *root) demoFiles(d *answer.Demo, dir string) {
	r.title("the files, in " + dir)
	t := &ui.Table{Header: []string{"file", "what"}}
	t.Add("lotpaper.db", fmt.Sprintf("the book: %d sealed entries, checked, %d differences", d.Check.Entries,
		len(d.Check.Differences)))
	for _, f := range d.Files {
		t.Add(filepath.FromSlash(f.Name), f.About)
	}
	r.aligned(t)
	r.Streams.Printf("\nLook on: lotpaper stock list --book %s\n", filepath.Join(dir, "lotpaper.db"))
	r.Streams.Printf("A bench identification is no laboratory report, and a price here is no appraisal.\n")
}
