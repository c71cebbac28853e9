package cli

import (
	"context"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/book"
	"lotpaper/internal/house"
	"lotpaper/internal/intake"
	"lotpaper/internal/lines"
	"lotpaper/internal/num"
	"lotpaper/internal/ui"
)

func (r *root) documentCommands() *cobra.Command {
	return r.group("document", "Issued documents: list, write", r.documentList, r.documentWrite)
}

func (r *root) documentList() *cobra.Command {
	return verb("list", "List the documents that were issued", "", cobra.NoArgs,
		r.reading(func(ctx context.Context, a *house.House, _ []string) error {
			docs, err := a.Desk.DocumentList(ctx)
			if err != nil {
				return err
			}
			return r.listDocuments(docs)
		}))
}

type documentReport struct {
	Number string    `json:"number"`
	Title  string    `json:"title"`
	On     book.Date `json:"on"`
	File   string    `json:"file"`
	SHA256 string    `json:"sha256"`
}

func (r *root) listDocuments(docs []book.Document) error {
	rows := []documentReport{}
	t := &ui.Table{Header: []string{"document", "date", "title", "file"}}
	for _, d := range docs {
		rows = append(rows, documentReport{d.Number, d.Title, d.On, d.File, d.SHA256})
		t.Add(d.Number, string(d.On), d.Title, d.File)
	}
	if r.Streams.JSON {
		return r.Streams.Document("document-list", struct {
			Documents []documentReport `json:"documents"`
		}{rows})
	}
	r.Streams.Table(t)
	return nil
}

func (r *root) documentWrite() *cobra.Command {
	var out output
	c := verb("write NUMBER", "Write an issued document again, byte for byte",
		`  lotpaper document write PROPOSAL-2026-0001
`, cobra.ExactArgs(1), r.reading(func(ctx context.Context, a *house.House, args []string) error {
			d, raw, err := a.Desk.DocumentFile(ctx, args[0])
			if err != nil {
				return err
			}
			if out.path == "" {
				out.path = d.File
			}
			return r.writeBytes(raw, out)
		}))
	out.flags(c, "")
	return c
}

func (r *root) writeBytes(raw []byte, out output) error {
	if err := r.Streams.WriteFile(out.path, out.force, true, func(w io.Writer) error {
		_, err := w.Write(raw)
		return err
	}); err != nil {
		return err
	}
	if out.path != "-" {
		r.Streams.Notef("wrote %s\n", out.path)
	}
	return nil
}

func (r *root) linePropose() *cobra.Command {
	var p planFlags
	var customer string
	var runs int
	c := verb("propose LINE", "Issue the priced and checked line as a proposal with care cards",
		`  lotpaper line propose Sea --customer "A Jeweller"
  lotpaper document write PROPOSAL-2026-0001

The stones, prices and verdicts are frozen in the documents.
`, cobra.ExactArgs(1), r.reading(func(ctx context.Context, a *house.House, args []string) error {
			req, err := p.request(r, args[0])
			if err != nil {
				return err
			}
			done, err := a.Lines.LinePropose(ctx, lines.LinePropose{LinePlan: req, Customer: customer, Runs: runs})
			if err != nil {
				return err
			}
			r.faults(done.Warnings)
			if err := r.listDocuments(done.Documents); err != nil {
				return err
			}
			r.dryNote()
			return nil
		}))
	p.flags(c)
	c.Flags().StringVar(&customer, "customer", "", "whom it is for")
	c.Flags().IntVar(&runs, "runs", 0, "runs of the simulation (default 10000)")
	return r.writes(c)
}

func (r *root) templateCommand() *cobra.Command {
	var out output
	var currency string
	c := verb("template KIND", "Write an empty workbook to fill in, with drop-downs and notes",
		"  lotpaper template parcel\n  lotpaper template readings -o bench.xlsx\n\nKinds: "+
			strings.Join(intake.TemplateKinds(), ", ")+".\n", cobra.ExactArgs(1), func(_ context.Context,
			args []string) error {
			cur, f := num.ParseCurrency(currency)
			if f != nil {
				return asUsage(f.AtField("currency"))
			}
			wb, f := intake.Template(args[0], cur)
			if f != nil {
				return asUsage(f)
			}
			if out.path == "" {
				out.path = args[0] + ".xlsx"
			}
			if err := r.writeWorkbook(&wb, out); err != nil {
				return err
			}
			if out.path != "-" {
				r.Streams.Printf("wrote %s\n", out.path)
			}
			return nil
		})
	c.Flags().StringVar(&currency, "currency", "EUR", "the book's currency, for the words of the template")
	out.flags(c, "")
	return c
}
