package cli

import (
	"context"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/stockroom"
)

// stockMoveFlags are the flags of a transfer before they are read.
type stockMoveFlags struct {
	from, to, due, note string
	received, close     string // the transfer
	missing, party      string
	then                asOf
	all                 bool
	out                 output
}

func (r *root) stockMove() *cobra.Command {
	var f stockMoveFlags
	var m stockroom.Movement
	c := verb("move [LOT[:PIECES:CARATS] ...]", "Send lots from one office to another, and receive them there",
		`  lotpaper config set offices="LISBON; PORTO"
  lotpaper stock move P1-3 P1-5:2:3.410 --to safe/PORTO -o transfer.xlsx
  lotpaper stock move --received T1 P1-3:4:6.250 P1-5:1:1.700
  lotpaper stock move --close T1 --missing loss --reason "not in the parcel, see the courier's report"
  lotpaper stock move                            what is under way
  lotpaper stock move --on 2026-03-31            what was under way then

What did not arrive stays on the transfer until it is closed: missing stones are
then an expense of the day (loss), or claimed at their cost from the carrier or the
insurer that --party names (claim). Stones that move between offices stay held for whom they are held.
`, cobra.ArbitraryArgs, func(ctx context.Context, args []string) error {
			if err := f.check(args); err != nil {
				return err
			}
			if f.lists(args) {
				return r.reading(func(ctx context.Context, a *house.House, _ []string) error {
					then, err := f.then.read()
					if err != nil {
						return err
					}
					list, err := a.Stockroom.TransferList(ctx, stockroom.TransferList{AsOf: then, All: f.all})
					if err != nil {
						return err
					}
					return r.list("transfer-list", &list, f.out)
				})(ctx, args)
			}
			return r.writing(&m.Write, func(ctx context.Context, a *house.House, args []string) error {
				if err := f.out.workbookOnly(); err != nil {
					return err
				}
				var done answer.TransferMoved
				if err := r.issuing(f.out, func() (paper answer.DocumentFile, err error) {
					if done, err = f.run(ctx, a, m, args); done.Document != nil {
						paper = *done.Document
					}
					return paper, err
				}); err != nil {
					return err
				}
				return r.moved("transfer", &done)
			})(ctx, args)
		})
	l := c.Flags()
	l.StringVar(&f.to, "to", "", "the office that they go to: safe/OFFICE")
	l.StringVar(&f.from, "from", "", "the office that they leave (default: where they lie)")
	l.StringVar(&f.due, "due", "", "when they should arrive")
	l.StringVar(&f.note, "note", "", "a note: the carrier, the seal")
	l.StringVar(&f.received, "received", "", "the transfer that the lots arrived by, e.g. T1")
	l.StringVar(&f.close, "close", "", "the transfer to close, with what is missing")
	l.StringVar(&f.missing, "missing", "", "what is missing is a loss, or a claim")
	l.StringVar(&f.party, "party", "", "who owes a claim: the carrier, or the insurer")
	l.BoolVar(&f.all, "all", false, "list the closed ones too")
	f.then.flags(c, "list the transfers")
	f.out.ofList(c)
	return r.moves(c, &m)
}

// lists reports whether the transfers are only listed.
func (f *stockMoveFlags) lists(args []string) bool { return len(args) == 0 && f.close == "" }

// check refuses flags that do not go together.
func (f *stockMoveFlags) check(args []string) error {
	sends := f.received == "" && f.close == "" && len(args) > 0
	switch {
	case f.received != "" && f.close != "":
		return fault.New(fault.Usage, "transfer-both", "a transfer is received or closed, not both at once",
			"receive what arrived first, then close it").AtField("close")
	case f.received != "" && len(args) == 0:
		return fault.New(fault.Usage, "transfer-lots", "what arrived is named lot by lot, counted and weighed",
			"write LOT:PIECES:CARATS for each").AtField("received")
	case f.close != "" && len(args) > 0:
		return fault.New(fault.Usage, "transfer-lots", "a transfer is closed whole", "receive the lots first").
			AtField("close")
	case f.close != "" && f.missing != "loss" && f.missing != "claim":
		return fault.New(fault.Usage, "transfer-missing", "what is missing is a loss or a claim, but is \""+f.missing+
			"\"", "write loss or claim").AtField("missing")
	case f.close == "" && (f.missing != "" || f.party != ""):
		return fault.New(fault.Usage, "transfer-missing", "what is missing is said when a transfer is closed",
			"name the transfer to close").AtField("close")
	case !f.lists(args) && f.then != asOf{}:
		return fault.New(fault.Usage, "transfer-as-of", "only a list can be of a past moment",
			"leave out the day and the entry").AtField("on")
	case sends && f.to == "":
		return fault.New(fault.Usage, "flag-missing", "--to is missing", "give the office that the lots go to").
			AtField("to")
	case !sends && (f.to != "" || f.from != ""):
		return fault.New(fault.Usage, "transfer-to", "only what is sent has a way to go", "leave it out").AtField("to")
	}
	return nil
}

func (f *stockMoveFlags) run(ctx context.Context, a *house.House, m stockroom.Movement,
	args []string) (answer.TransferMoved, error) {
	var none answer.TransferMoved
	lots, err := moving(args)
	if err != nil {
		return none, err
	}
	switch {
	case f.close != "":
		return a.Stockroom.StockClose(ctx, stockroom.StockClose{Movement: m, Number: f.close,
			Claim: f.missing == "claim", Party: f.party})
	case f.received != "":
		return a.Stockroom.StockReceive(ctx, stockroom.StockReceive{Movement: m, Number: f.received, Lots: lots})
	}
	due, err := flagDate("due", f.due)
	if err != nil {
		return none, err
	}
	return a.Stockroom.StockMove(ctx, stockroom.StockMove{Movement: m, From: book.Place(f.from),
		To: book.Place(f.to), Due: due, Lots: lots, Note: f.note})
}
