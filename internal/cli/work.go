package cli

import (
	"context"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/num"
	"lotpaper/internal/stockroom"
)

func (r *root) workCommands() *cobra.Command {
	return r.group("work", "Stones out with a setter, a goldsmith or a laboratory: out, back, close, list", r.workOut,
		r.workBack, r.workClose, r.workList)
}

// setterCommands are the same as those of work.
func (r *root) setterCommands() *cobra.Command {
	return r.group("setter", "Stones at the setter: out, back, close, list (as work)", r.workOut, r.workBack,
		r.workClose, r.workList)
}

func (r *root) workOut() *cobra.Command {
	var req stockroom.WorkOut
	var due, kind string
	var spots []string
	var report bool
	var out output
	c := verb("out LOT[:PIECES:CARATS] ...", "Give stones, or finished pieces, out on a work ticket",
		`  lotpaper work out P1-3:1:1.020 P1-9:2:0.310 --to "A Setter" --kind make --design Sea/Ring \
    --spot P1-3=center --spot P1-9=side --due 2026-05-31
  lotpaper work out P1-7 --to "A Setter" --into J7          J7 goes with it
  lotpaper work out P1-8 --to "A Laboratory" --report
  lotpaper work out J7 --to "A Goldsmith" --kind repair --note "resize from 54 to 56"

The ticket is issued as a paper: what goes where, the order of the work, what
must never touch each stone, how it breaks, and what of it can hurt people.
`, cobra.MinimumNArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			var err error
			if req.Lots, err = moving(args); err != nil {
				return err
			}
			if req.Due, err = flagDate("due", due); err != nil {
				return err
			}
			req.Work = book.WorkKind(kind)
			if report {
				req.Work = book.WorkLaboratory
			}
			if req.Spots, err = ticketSpots(spots); err != nil {
				return err
			}
			var done answer.WorkMoved
			err = r.issuing(out, func() (answer.DocumentFile, error) {
				done, err = a.Stockroom.WorkOut(ctx, req)
				return done.Document, err
			})
			if err != nil {
				return err
			}
			return r.moved("work", &done)
		}))
	f := c.Flags()
	f.StringVar(&req.Party, "to", "", "the setter, goldsmith or laboratory (required)")
	f.StringVar(&due, "due", "", "when they are due back")
	f.StringVar((*string)(&req.From), "from", "", "the office that they leave (default: where they lie)")
	f.StringVar(&kind, "kind", "set", "set, make, repair or laboratory")
	f.BoolVar(&report, "report", false, "as --kind laboratory")
	f.StringVar(&req.Into, "into", "", "the finished piece that they are set into")
	f.StringVar(&req.Design, "design", "", "LINE/DESIGN that a piece is made by")
	f.StringArrayVar(&spots, "spot", nil, "LOT=POSITION of the design that a lot is for; may be repeated")
	f.StringVar(&req.Setting, "setting", "", "without a design: what they are set in")
	f.StringVar(&req.Is, "is", "", "without a design: ring, pendant ...")
	f.StringVar(&req.Breakage, "breakage", "dealer", "who bears it: dealer or party")
	f.StringVar(&req.Note, "note", "", "what is to be done")
	out.flags(c, "")
	return r.moves(c, &req.Movement)
}

// ticketSpots reads LOT=POSITION.
func ticketSpots(texts []string) ([]book.TicketSpot, error) {
	var out []book.TicketSpot
	for _, text := range texts {
		lot, position, found := strings.Cut(text, "=")
		if !found || lot == "" || position == "" {
			return nil, fault.New(fault.Usage, "spot-form", "a spot is LOT=POSITION, but is \""+text+"\"",
				"write it like P1-3=center").AtField("spot")
		}
		out = append(out, book.TicketSpot{Lot: lot, Position: position})
	}
	return out, nil
}

// workFlags are the flags of what came back, as they were typed.
type workFlags struct {
	set, broken         []string
	spot                string
	metal, making, fee  string
	currency, rate      string
	per                 int64
	weight              string
	number, file, on    string
	length, width, deep string
	reportWeight        string
	report              book.Report
}

func (r *root) workBack() *cobra.Command {
	var req stockroom.WorkBack
	var w workFlags
	var out output
	c := verb("back [LOT[:PIECES:CARATS] ...]", "Book what came of stones that were out for work: set, broken, "+
		"brought back",
		`  lotpaper work back --ticket W4 --set P1-3 --set P1-9:2 --piece new --metal-cost 120 --making-cost 80
  lotpaper work back P1-9:1:0.310 --ticket W4 --set P1-9:1 --broken P1-3:1 --claim --piece J7
  lotpaper work back J7 --ticket W5 --making-cost 25
  lotpaper work back P1-8:1:2.141 --ticket W6 --report-number 123 --file report.pdf --species sapphire --fee 45
  lotpaper work back P1-3:2:1.310 --from "A Setter" --broken 1

A lot that is named alone came back, as far as nothing else is said of it; what
no word is said of stays out. --set and --broken are LOT[:PIECES[:CARATS]], or
PIECES of the one lot that is named. --set LOT alone is all of it. A piece that
the stones were set into comes back with them; --piece new takes the next number.
A ticket need not be named while only one of that setter holds the lot.
`, cobra.ArbitraryArgs, r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			var err error
			if req.Lines, err = w.lines(args); err != nil {
				return err
			}
			for _, x := range []struct {
				flag, amount string
				to           *stockroom.Paid
			}{{"metal-cost", w.metal, &req.Metal}, {"making-cost", w.making, &req.Making}, {"fee", w.fee, &req.Fee}} {
				if *x.to, err = r.paid(ctx, a, x.flag, x.amount, w.currency, w.rate, w.per); err != nil {
					return err
				}
			}
			if req.Jewel.Weight, err = flagGram("metal-g", w.weight); err != nil {
				return err
			}
			file, err := w.labReport(r, &req)
			if err != nil {
				return err
			}
			if file != nil {
				defer file.Close()
			}
			if err := out.workbookOnly(); err != nil {
				return err
			}
			var done answer.WorkMoved
			err = r.issuing(out, func() (answer.DocumentFile, error) {
				done, err = a.Stockroom.WorkBack(ctx, req)
				return done.Document, err
			})
			if err != nil {
				return err
			}
			return r.moved("work", &done)
		}))
	f := c.Flags()
	f.StringVar(&req.Ticket, "ticket", "", "the work ticket, e.g. W4")
	f.StringVar(&req.Party, "from", "", "who had them, when no ticket is named")
	f.StringArrayVar(&w.set, "set", nil, "stones set: LOT, LOT:PIECES or PIECES; may be repeated")
	f.StringArrayVar(&w.broken, "broken", nil, "stones that broke: LOT:PIECES[:CARATS] or PIECES; may be repeated")
	f.BoolVar(&req.Claim, "claim", false, "claim the cost of what broke from whoever had it")
	f.StringVar(&req.Piece, "piece", "", "the piece they were set into: its code, or new")
	f.StringVar(&w.metal, "metal-cost", "", "the metal of the piece, net of tax")
	f.StringVar(&w.making, "making-cost", "", "its making, setting or repair, net of tax")
	r.jewelFlags(c, &req.Jewel, &w.weight)
	f.StringVar(&w.spot, "for", "", "LINE/DESIGN/POSITION that they were set for, where the ticket does not say: "+
		"what the "+
		"loss rates learn from")
	f.StringVar(&w.fee, "fee", "", "of a laboratory: goes into the cost of its stones")
	f.StringVar(&w.currency, "currency", "", "of cost and fee (default: the book's)")
	f.StringVar(&w.rate, "rate", "", "book units per unit of that currency")
	f.Int64Var(&w.per, "per", 1, "the rate is per 1, 100 or 1000 units")
	w.labFlags(c)
	f.StringVar(&req.Accept, "accept", "", "why a difference of weight is accepted")
	comes(c, &req.Office, whereItLeft)
	out.flags(c, "")
	return r.writes(c)
}

// jewelFlags are the flags of what a finished piece is.
func (r *root) jewelFlags(c *cobra.Command, j *book.Jewel, weight *string) {
	f := c.Flags()
	f.StringVar(&j.Is, "is", "", "of a new piece: ring, pendant ...")
	f.StringVar(&j.Metal, "metal", "", "of a new piece: gold 750, silver ...")
	f.StringVar(weight, "metal-g", "", "of a new piece: its metal in grams")
	f.StringVar(&j.Size, "size", "", "of a new ring: its size")
}

// labFlags are the flags of a laboratory's report.
func (w *workFlags) labFlags(c *cobra.Command) {
	f, rep := c.Flags(), &w.report
	f.StringVar(&w.number, "report-number", "", "number of the report that came with the stone")
	f.StringVar(&w.file, "file", "", "the report's file; it is kept in the book")
	f.StringVar(&w.on, "report-on", "", "the report's date")
	f.StringVar(&w.reportWeight, "report-weight", "", "as the report states it, ct (default: as weighed now)")
	f.StringVar(&w.length, "length", "", "as the report states it, mm")
	f.StringVar(&w.width, "width", "", "as the report states it, mm")
	f.StringVar(&w.deep, "depth", "", "as the report states it, mm")
	f.StringVar(&rep.Species, "species", "", "as the report names it (default: as the lot is claimed)")
	f.StringVar(&rep.Variety, "variety", "", "as the report names it")
	f.StringVar(&rep.Nature, "nature", "", "natural, laboratory-grown, assembled or imitation")
	f.StringVar(&rep.Treatment, "treatment", "", "as the report names it; none when it says so")
	f.StringVar(&rep.Origin, "origin", "", "the laboratory's opinion of origin")
	f.StringVar(&rep.Note, "report-note", "", "a note on the report")
}

// labReport reads the report into the request; the file that it opened must be
// closed.
func (w *workFlags) labReport(r *root, req *stockroom.WorkBack) (*openInput, error) {
	if w.number == "" {
		if w.file != "" || w.report.Species != "" {
			return nil, fault.New(fault.Usage, "report-number", "a report has a number", "give it").
				AtField("report_number")
		}
		return nil, nil
	}
	rep := w.report
	rep.Number = w.number
	var err error
	if rep.On, err = flagDate("report-on", w.on); err != nil {
		return nil, err
	}
	if rep.Weight, err = flagCarat("report-weight", w.reportWeight); err != nil {
		return nil, err
	}
	for _, d := range []struct {
		name, text string
		to         *num.Millimetre
	}{{"length", w.length, &rep.Length}, {"width", w.width, &rep.Width}, {"depth", w.deep, &rep.Depth}} {
		if *d.to, err = flagMillimetre(d.name, d.text); err != nil {
			return nil, err
		}
	}
	if rep.Nature != "" {
		var f *fault.Fault
		if rep.Nature, f = book.ParseNature(rep.Nature); f != nil {
			return nil, asUsage(f.AtField("nature"))
		}
	}
	req.Report = &stockroom.WorkReport{Report: rep}
	return r.keptFile(w.file, &req.Report.File)
}

// keptFile opens a file that is to be kept; without a path there is none.
func (r *root) keptFile(path string, to **desk.Input) (*openInput, error) {
	if path == "" {
		return nil, nil
	}
	in, err := r.input(path, "")
	if err != nil {
		return nil, err
	}
	*to = &in.Input
	return in, nil
}

// paid reads an amount in any currency; an empty text is none.
func (r *root) paid(ctx context.Context, a *house.House, flag, amount, currency, rate string, per int64) (
	stockroom.Paid, error) {
	if amount == "" {
		return stockroom.Paid{}, nil
	}
	m, x, err := r.foreign(ctx, a, flag, amount, currency, rate, per)
	return stockroom.Paid{Amount: m, Rate: x}, err
}

func flagGram(name, value string) (num.Gram, error) {
	if value == "" {
		return 0, nil
	}
	g, f := num.ParseGram(value)
	if f != nil {
		return 0, asUsage(f.AtField(name))
	}
	return g, nil
}

// lines are what became of each lot: those that are named, and those of --set and
// --broken.
func (w *workFlags) lines(args []string) ([]stockroom.WorkLine, error) {
	named, err := moving(args)
	if err != nil {
		return nil, err
	}
	var out []stockroom.WorkLine
	of := func(lot string) *stockroom.WorkLine {
		return lineOf(&out, lot, func(l *stockroom.WorkLine) *stockroom.Moving { return &l.Moving })
	}
	for _, m := range named {
		of(m.Lot).Moving = m
	}
	for _, text := range w.set {
		m, err := ofOne(text, named, "set")
		if err != nil {
			return nil, err
		}
		x := of(m.Lot)
		x.Set, x.SetRest = x.Set+m.Pieces, x.SetRest || m.Pieces == 0
	}
	for _, text := range w.broken {
		m, err := ofOne(text, named, "broken")
		if err != nil {
			return nil, err
		}
		if err := checkBroken(m); err != nil {
			return nil, err
		}
		x := of(m.Lot)
		x.Broken.Pieces, x.Broken.Carats = x.Broken.Pieces+m.Pieces, x.Broken.Carats+m.Carats
	}
	for _, m := range named {
		x := of(m.Lot)
		x.Rest = m.Pieces == 0 && x.Set == 0 && !x.SetRest
	}
	var f *fault.Fault
	for i := range out {
		if w.spot != "" {
			if out[i].Spot, f = book.ParseLineSpot(w.spot); f != nil {
				return nil, f.AtField("for")
			}
		}
	}
	return out, nil
}

// ofOne reads LOT[:PIECES[:CARATS]], or PIECES of the one lot that is named.
func ofOne(text string, named []stockroom.Moving, flag string) (stockroom.Moving, error) {
	if n, err := strconv.ParseInt(text, 10, 64); err == nil && len(named) == 1 {
		if n < 0 {
			return stockroom.Moving{}, fault.New(fault.Usage, "pieces-bad", "pieces are a whole number above 0, but "+
				"are "+
				text, "count the pieces").AtField(flag)
		}
		return stockroom.Moving{Lot: named[0].Lot, Pieces: n}, nil
	}
	all, err := moving([]string{text})
	if err != nil {
		return stockroom.Moving{}, err
	}
	return all[0], nil
}

func (r *root) workClose() *cobra.Command {
	var req stockroom.WorkClose
	var out output
	c := verb("close TICKET", "Close a work ticket: what is still out on it is missing",
		`  lotpaper work close W4 --reason "lost in the post" --missing claim

A loss is an expense; a claim is owed by whoever had the stones.
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			req.Ticket = args[0]
			if err := out.workbookOnly(); err != nil {
				return err
			}
			var done answer.WorkMoved
			err := r.issuing(out, func() (answer.DocumentFile, error) {
				var err error
				done, err = a.Stockroom.WorkClose(ctx, req)
				return done.Document, err
			})
			if err != nil {
				return err
			}
			return r.moved("work", &done)
		}))
	c.Flags().StringVar(&req.Missing, "missing", "", "loss or claim (required)")
	out.flags(c, "")
	return r.writes(c)
}

func (r *root) workList() *cobra.Command {
	var all bool
	var then asOf
	var out output
	c := verb("list", "List the work tickets that are out, overdue ones first", "", cobra.NoArgs,
		r.reading(func(ctx context.Context, a *house.House, _ []string) error {
			at, err := then.read()
			if err != nil {
				return err
			}
			tickets, err := a.Stockroom.WorkList(ctx, stockroom.WorkList{AsOf: at, All: all})
			if err != nil {
				return err
			}
			return r.list("work-list", &tickets, out)
		}))
	then.flags(c, "list the tickets")
	c.Flags().BoolVar(&all, "all", false, "also the closed ones")
	out.ofList(c)
	return c
}
