package cli

import (
	"context"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/bench"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/intake"
	"lotpaper/internal/num"
)

// imported prints what an import of rows did.
func (r *root) imported(schema string, done answer.Imported) error {
	r.faults(done.Warnings)
	return r.wroteBook(schema, &done)
}

// importCommand is an import of one file.
func (r *root) importCommand(noun, short, long string, run func(ctx context.Context, a *house.House, w desk.Write,
	in desk.Input) (answer.Imported, error)) *cobra.Command {
	var w desk.Write
	var encoding string
	c := verb("import FILE", short, long, cobra.ExactArgs(1), r.writing(&w, func(ctx context.Context, a *house.House,
		args []string) error {
		in, err := r.input(args[0], encoding)
		if err != nil {
			return err
		}
		defer in.Close()
		done, err := run(ctx, a, w, in.Input)
		if err != nil {
			return err
		}
		return r.imported(noun+"-import", done)
	}))
	c.Flags().StringVar(&encoding, "encoding", "", "encoding of a CSV that is not UTF-8: windows-1252")
	return r.writes(c)
}

func (r *root) readingCommands() *cobra.Command {
	return r.group("reading", "Bench readings: add, import, list, void", r.readingAdd, r.readingImport,
		r.readingList, r.readingVoid)
}

func (r *root) readingImport() *cobra.Command {
	return r.importCommand("readings", "Read bench readings from a file", "  lotpaper reading import readings.csv\n\n"+
		"See lotpaper template readings for the columns.\n", func(ctx context.Context, a *house.House, w desk.Write,
		in desk.Input) (answer.Imported, error) {
		return a.Bench.ReadingImport(ctx, bench.ReadingImport{Write: w, File: in})
	})
}

// addReadingFlags are one reading on the command line: a flag is the field of a
// reading, with - for _.
var addReadingFlags = []struct{ field, value, help string }{
	{"stone", "", "tag of the stone inside the lot"},
	{"drawn", "picked", "random or picked: only random stones speak for the rest"},
	{"test", "", strings.Join(intake.Tests, ", ")},
	{"low", "", "the reading, or its lower edge; >1.79 is over the limit"},
	{"high", "", "the upper edge"},
	{"plus_minus", "", "its standard uncertainty"},
	{"result", "", "what was seen"},
	{"strength", "", strings.Join(intake.Strengths, ", ")},
	{"color", "", "the colour seen"},
	{"air", "", "weight in air, ct"},
	{"water", "", "weight in water, ct"},
	{"water_c", "", "temperature of the water"},
	{"balance", "", "resolution of the balance, ct"},
	{"note", "", "a note"},
}

func (r *root) readingAdd() *cobra.Command {
	var req bench.ReadingAdd
	flags := map[string]*string{}
	c := verb("add LOT", "Write one bench reading",
		`  lotpaper reading add P1-3 --stone S07 --drawn random --test ri --low 1.619 --high 1.627
  lotpaper reading add P1-3 --stone S07 --test hydrostatic --air 4.02 --water 2.88
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			fields := map[string]string{"lot": args[0]}
			for field, text := range flags {
				fields[field] = *text
			}
			var faults fault.List
			if req.Reading, faults = intake.ReadingOf(fields); faults.Blocks() {
				return ofFlags(faults)
			}
			done, err := a.Bench.ReadingAdd(ctx, req)
			if err != nil {
				return ofFlags(err)
			}
			return r.wroteBook("reading-add", &done)
		}))
	for _, x := range addReadingFlags {
		flags[x.field] = c.Flags().String(strings.ReplaceAll(x.field, "_", "-"), x.value, x.help)
	}
	return r.writes(c)
}

func (r *root) readingList() *cobra.Command {
	var out output
	c := verb("list LOT", "List the readings of a lot's stones, and which of them count",
		`  lotpaper reading list P1-3

Of one kind of test on one stone the newest day counts. Readings of one day
stand together: the turns of a facet, repeats of a weighing. What a microscope
shows adds up.
`,
		cobra.ExactArgs(1), r.reading(func(ctx context.Context, a *house.House, args []string) error {
			l, err := a.Bench.ReadingList(ctx, bench.ReadingList{Lot: args[0]})
			if err != nil {
				return err
			}
			return r.list("reading-list", &l, out)
		}))
	out.ofList(c)
	return c
}

func (r *root) readingVoid() *cobra.Command {
	var req bench.ReadingVoid
	return r.writes(verb("void READING", "Declare that a reading counts no longer",
		`  lotpaper reading void R17 --reason "it was of stone S08"

The reading stays in the book and in lists, with the reason; nothing is judged
by it any more. A void is not taken back: write the reading anew.
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			req.Reading = args[0]
			done, err := a.Bench.ReadingVoid(ctx, req)
			if err != nil {
				return err
			}
			return r.wroteBook("reading-void", &done)
		})))
}

func (r *root) reportCommands() *cobra.Command {
	return r.group("report", "Laboratory reports: add, write", r.reportAdd, r.reportWrite)
}

func (r *root) reportAdd() *cobra.Command {
	var req bench.ReportAdd
	rep := &req.Report
	var weight, length, width, depth, on, file string
	c := verb("add LOT", "Set the facets of a stone by a laboratory's report",
		`  lotpaper report add P1-7 --lab "A Laboratory" --number 123456 --weight 2.14 --species topaz \
    --nature natural --treatment irradiated

The stone is matched by weight and size: a report of another stone is refused.
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			var err error
			rep.Lot = args[0]
			if rep.Weight, err = flagCarat("weight", weight); err != nil {
				return err
			}
			for _, d := range []struct {
				name, text string
				to         *num.Millimetre
			}{{"length", length, &rep.Length}, {"width", width, &rep.Width}, {"depth", depth, &rep.Depth}} {
				if *d.to, err = flagMillimetre(d.name, d.text); err != nil {
					return err
				}
			}
			if rep.On, err = flagDate("on", on); err != nil {
				return err
			}
			if rep.Nature != "" {
				var f *fault.Fault
				if rep.Nature, f = book.ParseNature(rep.Nature); f != nil {
					return asUsage(f.AtField("nature"))
				}
			}
			in, err := r.keptFile(file, &req.File)
			if err != nil {
				return err
			}
			if in != nil {
				defer in.Close()
			}
			done, err := a.Bench.ReportAdd(ctx, req)
			if err != nil {
				return err
			}
			r.faults(done.Warnings)
			return r.wroteBook("report-add", &done)
		}))
	f := c.Flags()
	f.StringVar(&rep.Lab, "lab", "", "the laboratory (required)")
	f.StringVar(&rep.Number, "number", "", "the report's number (required)")
	f.StringVar(&on, "on", "", "the report's date")
	f.StringVar(&weight, "weight", "", "as the report states it, ct")
	f.StringVar(&length, "length", "", "mm")
	f.StringVar(&width, "width", "", "mm")
	f.StringVar(&depth, "depth", "", "mm")
	f.StringVar(&rep.Species, "species", "", "as the report names it (default: as the lot is claimed)")
	f.StringVar(&rep.Variety, "variety", "", "as the report names it")
	f.StringVar(&rep.Nature, "nature", "", "natural, laboratory-grown, assembled or imitation")
	f.StringVar(&rep.Treatment, "treatment", "", "as the report names it; none when it says so")
	f.StringVar(&rep.Origin, "origin", "", "the laboratory's opinion of origin")
	f.StringVar(&file, "file", "", "the report's file; it is kept in the book")
	f.StringVar(&rep.Note, "note", "", "a note")
	return r.writes(c)
}

func (r *root) reportWrite() *cobra.Command {
	var req bench.ReportFile
	var out output
	c := verb("write LAB NUMBER", "Write the file of a report as it was kept",
		`  lotpaper report write "A Laboratory" 123456 -o report.pdf
`, cobra.ExactArgs(2), r.reading(func(ctx context.Context, a *house.House, args []string) error {
			req.Lab, req.Number = args[0], args[1]
			file, err := a.Bench.ReportFile(ctx, req)
			if err != nil {
				return err
			}
			if out.path == "" {
				out.path = filepath.Base(file.Report.File)
			}
			return r.writeBytes(file.Bytes, out)
		}))
	out.flags(c, "")
	return c
}

func flagMillimetre(name, value string) (num.Millimetre, error) {
	if value == "" {
		return 0, nil
	}
	m, f := num.ParseMillimetre(value)
	if f != nil {
		return 0, asUsage(f.AtField(name))
	}
	return m, nil
}
