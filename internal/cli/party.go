package cli

import (
	"context"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/num"
)

func (r *root) partyCommands() *cobra.Command {
	return r.group("party", "Vendors, cutters, setters, laboratories, customers: set, list, show, rename, merge, "+
		"statement, account",
		r.partySet, r.partyList, r.partyShow, r.partyRename, r.partyMerge, r.partyStatement, r.partyAccount)
}

func (r *root) partySet() *cobra.Command {
	var v book.Party
	var roles []string
	var terms, currency, balance string
	c := verb("set NAME", "Set particulars of a party; the others stay",
		`  lotpaper party set "A Customer" --role customer --terms 30 --tier trade --language en
  lotpaper party set "A Cutter" --role cutter,goldsmith --balance 0.01
  lotpaper party set "A Vendor" --tax-number 123456789 --email office@example.com --currency USD
  lotpaper party set "A Vendor" --address "1 High Street, Porto"

An empty value takes a particular away. Roles are those that you give: vendor,
cutter, setter, goldsmith, laboratory, customer, lender, broker. The balance is
what one step of the party's scale is, in carats: what comes back from a coarser
scale is compared less closely.
`, cobra.ExactArgs(1), func(ctx context.Context, args []string) error {
			req := desk.PartySet{Name: args[0]}
			var l fault.List
			take := func(field string, f *fault.Fault) {
				if f != nil {
					l.Add(f.AtField(field))
				}
			}
			for _, f := range answer.PartyFields {
				if r.running.Flags().Changed(strings.ReplaceAll(f.Name, "_", "-")) {
					req.Fields = append(req.Fields, f.Name)
				}
			}
			for _, word := range roles {
				if word == "" {
					continue
				}
				role, f := book.ParseRole(word)
				take("role", f)
				v.Act(role)
			}
			if terms != "" {
				days, f := wholeDays(terms)
				take("terms", f)
				v.Terms = &days
			}
			var f *fault.Fault
			if currency != "" {
				v.Currency, f = num.ParseCurrency(currency)
				take("currency", f)
			}
			if balance != "" {
				v.Balance, f = num.ParseCarat(balance)
				take("balance", f)
				if f == nil && v.Balance == 0 {
					take("balance", fault.New(fault.Usage, "party-balance",
						"the resolution of a balance must be above 0",
						"give what one step of its display is, e.g. 0.01"))
				}
			}
			if l.Blocks() {
				return l
			}
			req.Values = v
			return r.with(ctx, func(a *house.House) error {
				var err error
				if req.Write, err = r.write(); err != nil {
					return err
				}
				done, err := a.Desk.PartySet(ctx, req)
				if err != nil {
					return err
				}
				return r.wroteBook("party-set", &done)
			})
		})
	f := c.Flags()
	f.StringSliceVar(&roles, "role", nil, "what it does; several with commas, or the flag again")
	f.StringVar(&v.Address, "address", "", "as it stands on papers, a line for each line")
	f.StringVar(&v.TaxNumber, "tax-number", "", "for invoices")
	f.StringVar(&v.Email, "email", "", "NAME@HOST")
	f.StringVar(&terms, "terms", "", "days from the invoice until it is due; 0 is at once")
	f.StringVar(&currency, "currency", "", "of its invoices")
	f.StringVar(&v.Tier, "tier", "", "the prices that it is asked: trade, retail or memo")
	f.StringVar(&v.Language, "language", "", "of its papers: en, de, pt ...")
	f.StringVar(&balance, "balance", "", "resolution of its balance in carats, e.g. 0.01")
	f.StringVar(&v.Note, "note", "", "a note")
	return r.writes(c)
}

// wholeDays reads a number of days: "30", "30 days".
func wholeDays(s string) (int64, *fault.Fault) {
	d, f := num.ParseDec(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(s), "days")))
	if f == nil && d.Places() == 0 {
		return int64(d.Float()), nil
	}
	return 0, fault.New(fault.Usage, "days-bad", "a number of days must be whole, but is \""+s+"\"", "write it like 30")
}

func (r *root) partyList() *cobra.Command {
	var out output
	c := verb("list", "List the parties and what they have of the stock", "", cobra.NoArgs,
		r.reading(func(ctx context.Context, a *house.House, _ []string) error {
			list, err := a.Desk.PartyList(ctx, desk.PartyList{})
			if err != nil {
				return err
			}
			return r.list("party-list", &list, out)
		}))
	out.ofList(c)
	return c
}

func (r *root) partyShow() *cobra.Command {
	return verb("show NAME", "Show a party: its particulars, its papers, what it has of the stock", "",
		cobra.ExactArgs(1), r.reading(func(ctx context.Context, a *house.House, args []string) error {
			show, err := a.Desk.PartyShow(ctx, desk.PartyShow{Name: args[0]})
			if err != nil {
				return err
			}
			return r.show("party-show", &show)
		}))
}

func (r *root) partyRename() *cobra.Command {
	var req desk.PartyRename
	return r.writes(verb("rename OLD NEW", "Call a party by a new name",
		`  lotpaper party rename "Silva Lda" "Silva & Filhos"

What is written keeps the old name, which stands for the new one from then on:
in lists, records and new papers. A name that another party has is refused: that
is a merge.
`, cobra.ExactArgs(2), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			req.From, req.Into = args[0], args[1]
			done, err := a.Desk.PartyRename(ctx, req)
			if err != nil {
				return err
			}
			return r.wroteBook("party-merged", &done)
		})))
}

func (r *root) partyMerge() *cobra.Command {
	var req desk.PartyMerge
	return r.writes(verb("merge FROM INTO", "Make one party of two names",
		`  lotpaper party merge "Silva" "Silva Lda"

The second name stays and counts for both; its particulars stay, and take from
the first what they do not say. ledger reverse takes a merge back.
`, cobra.ExactArgs(2), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			req.From, req.Into = args[0], args[1]
			done, err := a.Desk.PartyMerge(ctx, req)
			if err != nil {
				return err
			}
			return r.wroteBook("party-merged", &done)
		})))
}
