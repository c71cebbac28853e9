// Package cli is the command line: it turns flags into a request, asks a room,
// and prints the answer as text, JSON or a file. It holds no logic of the trade.
package cli

import (
	"context"
	"errors"
	"fmt"
	"os"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/num"
	"lotpaper/internal/progress"
	"lotpaper/internal/store"
	"lotpaper/internal/ui"
)

// Deps is what the program is wired with.
type Deps struct {
	Streams *ui.Streams
	Open    func(ctx context.Context, path string) (store.Store, error)
	// Create makes a book that runs on the clock now: the demo has its own.
	Create func(ctx context.Context, path string, meta store.Meta, now func() time.Time) (store.Store, error)
	Now    func() time.Time
}

// root carries the flags that all commands share.
type root struct {
	Deps
	args    []string // of the command line
	book    string
	date    string
	who     string
	reason  string
	dryRun  bool
	noColor bool
	running *cobra.Command
	doing   func(string) // says what the running command is doing
	ended   func()       // the command is done
	started bool         // flags and arguments were right: what fails now is no usage fault
}

const exitStatus = `
EXIT STATUS
  0 done   1 failure   2 usage   3 input has faults, nothing was written
  4 not found   5 refused by a rule, a conflict or a lock
  6 a check found differences   130 interrupted
`

// Main runs one command and returns the exit status.
func Main(ctx context.Context, args []string, d Deps) int {
	r := &root{Deps: d, args: args, doing: func(string) {}, ended: func() {}}
	if d.Streams.ErrTTY {
		ctx = progress.To(ctx, func(doing string) { r.doing(doing) })
	}
	cmd := r.command()
	cmd.SetArgs(args)
	cmd.SetIn(d.Streams.In)
	cmd.SetOut(d.Streams.Out)
	cmd.SetErr(d.Streams.Err)
	err := cmd.ExecuteContext(ctx)
	r.ended()
	if err == nil {
		return 0
	}
	if ctx.Err() != nil {
		fmt.Fprintln(d.Streams.Err, "interrupted")
		return 130
	}
	if _, isFault := fault.From(err); !isFault && !r.started {
		err = fault.New(fault.Usage, "usage", err.Error(), "see the command's --help")
	}
	return r.fail(err)
}

// fail prints err and returns its exit status.
func (r *root) fail(err error) int {
	var coded exitError
	if errors.As(err, &coded) {
		return int(coded)
	}
	faults, ok := fault.From(err)
	if !ok {
		fmt.Fprintf(r.Streams.Err, "error: %v\n", err)
		return 1
	}
	faults = flagsAsUsage(faults)
	r.faults(faults)
	return exitOf(fault.KindOf(faults))
}

// flagsAsUsage makes every fault of a value that stands on the command line,
// not in a file, a fault of usage.
func flagsAsUsage(l fault.List) fault.List {
	out := make(fault.List, len(l))
	for i, f := range l {
		if f.Kind == fault.Invalid && f.Where.Field != "" && f.Where.File == "" {
			f = f.At(f.Where)
			f.Kind = fault.Usage
		}
		out[i] = f
	}
	return out
}

// faults prints faults on stderr: as JSON lines with --json, else grouped so
// that one fault met in many rows is told once.
func (r *root) faults(l fault.List) {
	if r.Streams.JSON {
		for _, f := range l {
			fmt.Fprintln(r.Streams.Err, f.JSON())
		}
		return
	}
	const shown = 20
	for i, f := range l {
		if i == shown {
			fmt.Fprintf(r.Streams.Err, "... and %d more; see all with --json\n", len(l)-shown)
			break
		}
		fmt.Fprint(r.Streams.Err, f.Text(r.form()))
	}
}

// form shows the fields of requests as flags, and actions as commands.
func (r *root) form() fault.Form {
	return fault.Form{
		Field: func(name string) string {
			flag := strings.ReplaceAll(name, "_", "-")
			if r.running == nil || r.running.Flag(flag) == nil {
				return name
			}
			return "--" + flag
		},
		Action: func(a fault.Action) string {
			words := []string{"lotpaper", a.Noun, a.Verb}
			if a.Verb == "" {
				words = words[:2]
			}
			for _, w := range a.Args {
				if strings.ContainsAny(w, " \"'$&|;<>()*?") {
					w = strconv.Quote(w)
				}
				words = append(words, w)
			}
			return strings.Join(words, " ")
		},
	}
}

// exitError is an exit status whose words are already printed.
type exitError int

func (e exitError) Error() string { return fmt.Sprintf("exit status %d", int(e)) }

func exitOf(k fault.Kind) int {
	switch k {
	case fault.Usage:
		return 2
	case fault.Invalid:
		return 3
	case fault.NotFound:
		return 4
	case fault.Refused, fault.Conflict, fault.Locked:
		return 5
	case fault.Differs:
		return 6
	}
	return 1
}

// command builds the whole tree.
func (r *root) command() *cobra.Command {
	c := &cobra.Command{
		Use:   "lotpaper",
		Short: "Plan jewelry lines from parcels of coloured stones",
		Long: `lotpaper keeps a coloured-stone dealer's book: what each parcel holds and what
the stones really are, how sure that is, which stone may go into which setting,
which stones fill the designs of a line, what the pieces cost and earn, and the
most to pay for a parcel.

  lotpaper demo                       see the whole job on invented data
  lotpaper init --currency EUR        open a book in this folder
  lotpaper parcel import parcel.csv --vendor "A Vendor" --currency USD --rate 0.92
` + exitStatus,
		SilenceErrors:     true,
		SilenceUsage:      true,
		Args:              cobra.NoArgs,
		RunE:              func(c *cobra.Command, _ []string) error { return c.Help() },
		Version:           version(),
		CompletionOptions: cobra.CompletionOptions{HiddenDefaultCmd: true},
		PersistentPreRunE: func(c *cobra.Command, _ []string) error {
			r.started, r.running = true, c
			_, what, _ := strings.Cut(c.CommandPath(), " ")
			r.doing, r.ended = r.Streams.Working(what)
			if r.noColor {
				r.Streams.Color = false
			}
			return nil
		},
	}
	c.SetVersionTemplate("lotpaper {{.Version}}\n")
	c.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		return fault.New(fault.Usage, "usage", err.Error(), "see "+c.CommandPath()+" --help")
	})
	f := c.PersistentFlags()
	f.StringVar(&r.book, "book", "", "the book's file (else $LOTPAPER_BOOK, else lotpaper.db in this folder)")
	f.BoolVar(&r.Streams.JSON, "json", false, "answer as one JSON document; faults as JSON lines on stderr")
	f.BoolVar(&r.noColor, "no-color", false, "no colour")
	f.BoolVarP(&r.Streams.Quiet, "quiet", "q", false, "no remarks beside the answer")
	c.AddCommand(r.commands()...)
	return c
}

func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok || info.Main.Version == "" {
		return "(devel)"
	}
	return info.Main.Version
}

// group is a noun with its verbs. An unknown verb is a usage fault. Verbs are
// only made when an argument names their noun: a start of the program does not
// wait for the flags of eighty commands.
func (r *root) group(use, short string, verbs ...func() *cobra.Command) *cobra.Command {
	c := &cobra.Command{
		Use: use, Short: short, Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	if slices.Contains(r.args, use) {
		for _, v := range verbs {
			c.AddCommand(v())
		}
	}
	return c
}

// verb is one command: what it is called with and what it runs.
func verb(use, short, long string, args cobra.PositionalArgs, run func(ctx context.Context,
	args []string) error) *cobra.Command {
	if long != "" {
		long = short + "\n\n" + long
	} else {
		long = short + "\n"
	}
	return &cobra.Command{
		Use: use, Short: short, Long: long + exitStatus, Args: args,
		RunE: func(c *cobra.Command, args []string) error {
			if l := missingFlags(c); l.Blocks() {
				return l
			}
			return run(c.Context(), args)
		},
	}
}

// missingFlags are the faults of flags that the help calls required and that
// were not given.
func missingFlags(c *cobra.Command) (l fault.List) {
	c.Flags().VisitAll(func(f *pflag.Flag) {
		if what, required := strings.CutSuffix(f.Usage, " (required)"); required && f.Value.String() == f.DefValue {
			l.Add(fault.New(fault.Usage, "flag-missing", "--"+f.Name+" is missing", "give --"+f.Name+": "+what).
				AtField(f.Name))
		}
	})
	return l
}

// writes adds the flags of a command that writes to the book.
func (r *root) writes(c *cobra.Command) *cobra.Command {
	f := c.Flags()
	f.StringVar(&r.date, "date", "", "business date, YYYY-MM-DD (default: today in the book's zone)")
	f.StringVar(&r.who, "who", "", "who does it (default: $LOTPAPER_WHO, else the system's user)")
	f.StringVar(&r.reason, "reason", "", "why, in a few words")
	f.BoolVar(&r.dryRun, "dry-run", false, "do everything but write: same answer, same faults")
	return c
}

// write turns the shared flags into the head of a writing request.
func (r *root) write() (desk.Write, error) {
	w := desk.Write{Who: r.who, Reason: r.reason, DryRun: r.dryRun}
	if r.date != "" {
		d, f := book.ParseDate(r.date)
		if f != nil {
			return w, asUsage(f.AtField("date"))
		}
		w.On = d
	}
	for _, name := range []string{"LOTPAPER_WHO", "USER", "USERNAME"} {
		if w.Who == "" {
			w.Who = os.Getenv(name)
		}
	}
	if w.Who == "" {
		w.Who = "unknown"
	}
	return w, nil
}

// asUsage makes a fault of a flag's value a fault of usage.
func asUsage(f *fault.Fault) error {
	g := *f
	g.Kind = fault.Usage
	return &g
}

// bookPath is the book's file: flag, environment, default.
func (r *root) bookPath() string {
	if r.book != "" {
		return r.book
	}
	if p := os.Getenv("LOTPAPER_BOOK"); p != "" {
		return p
	}
	return "lotpaper.db"
}

// with opens the book, runs f and closes it.
func (r *root) with(ctx context.Context, f func(a *house.House) error) error {
	path := r.bookPath()
	s, err := r.Open(ctx, path)
	if err != nil {
		return desk.Unopened(err, path)
	}
	defer s.Close()
	return f(house.Open(s, r.Now))
}

// reading runs f on the open book.
func (r *root) reading(f func(ctx context.Context, a *house.House, args []string) error) func(context.Context,
	[]string) error {
	return func(ctx context.Context, args []string) error {
		return r.with(ctx, func(a *house.House) error { return f(ctx, a, args) })
	}
}

// writing fills in the head of a write from the flags and runs f on the open
// book.
func (r *root) writing(w *desk.Write, f func(ctx context.Context, a *house.House, args []string) error) func(
	context.Context, []string) error {
	return r.reading(func(ctx context.Context, a *house.House, args []string) error {
		var err error
		if *w, err = r.write(); err != nil {
			return err
		}
		return f(ctx, a, args)
	})
}

// shown is an answer that a screen shows.
type shown interface{ Screen() answer.Screen }

// show prints an answer: as a JSON document of the schema, or on screen.
func (r *root) show(schema string, a shown) error {
	if r.Streams.JSON {
		return r.Streams.Document(schema, a)
	}
	r.screen(a.Screen())
	return nil
}

// screen prints an answer as a person reads it.
func (r *root) screen(s answer.Screen) {
	for _, p := range s {
		switch {
		case p.Table != nil:
			r.Streams.Table((*ui.Table)(p.Table))
		case p.Remark:
			r.Streams.Notef("%s", words(p))
		default:
			r.Streams.Printf("%s", words(p))
		}
	}
}

// words are the text of a part; what is left out stands in JSON, what is
// explained on request behind --explain.
func words(p answer.Part) string {
	switch {
	case p.Cut:
		return p.Text + "; see all with --json\n"
	case p.More:
		return p.Text + ": --explain\n"
	}
	return p.Text
}

// wroteBook prints what a command wrote.
func (r *root) wroteBook(schema string, a shown) error {
	if err := r.show(schema, a); err != nil {
		return err
	}
	if !r.Streams.JSON {
		r.dryNote()
	}
	return nil
}

// dryNote says that nothing was written.
func (r *root) dryNote() {
	if r.dryRun {
		r.Streams.Notef("dry run: nothing was written\n")
	}
}

// flagCarat, flagMoney and their like parse a flag's value as its type.
func flagCarat(name, value string) (num.Carat, error) {
	if value == "" {
		return 0, nil
	}
	c, f := num.ParseCarat(value)
	if f != nil {
		return 0, asUsage(f.AtField(name))
	}
	return c, nil
}

func flagDate(name, value string) (book.Date, error) {
	if value == "" {
		return "", nil
	}
	d, f := book.ParseDate(value)
	if f != nil {
		return "", asUsage(f.AtField(name))
	}
	return d, nil
}

func flagDec(name, value string) (num.Dec, error) {
	d, f := num.ParseDec(value)
	if f != nil {
		return d, asUsage(f.AtField(name))
	}
	return d, nil
}
