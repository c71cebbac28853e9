package cli

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
)

func (r *root) documentCommands() *cobra.Command {
	return r.group("document", "Issued documents: list, write", r.documentList, r.documentWrite)
}

func (r *root) documentList() *cobra.Command {
	var out output
	c := verb("list", "List the documents that were issued", "", cobra.NoArgs,
		r.reading(func(ctx context.Context, a *house.House, _ []string) error {
			list, err := a.Desk.DocumentList(ctx, desk.DocumentList{})
			if err != nil {
				return err
			}
			return r.list("document-list", &list, out)
		}))
	out.ofList(c)
	return c
}

func (r *root) documentWrite() *cobra.Command {
	var out output
	c := verb("write NUMBER", "Write an issued document again, byte for byte",
		`  lotpaper document write PROPOSAL-2026-0001                  the workbook that was issued
  lotpaper document write CARE-2026-0001 -o cards.pdf         care cards to print, four to a sheet of A4

A .pdf is drawn from what was frozen when the document was issued; care cards have that form.
`, cobra.ExactArgs(1), r.reading(func(ctx context.Context, a *house.House, args []string) error {
			form, err := out.form()
			if err != nil {
				return err
			}
			d, err := a.Desk.DocumentFile(ctx, desk.DocumentFile{Number: args[0], Form: form})
			if err != nil {
				return err
			}
			if out.path == "" {
				out.path = d.File
			}
			return r.writeBytes(d.Bytes, out)
		}))
	out.flags(c, "")
	return c
}

// form is the form of a document that the file's ending asks for; without a file,
// and on stdout, it is the workbook.
func (o *output) form() (desk.Form, error) {
	switch strings.ToLower(filepath.Ext(o.path)) {
	case ".pdf":
		return desk.PDF, nil
	case ".xlsx":
		return desk.Workbook, nil
	}
	if o.path == "" || o.path == "-" {
		return desk.Workbook, nil
	}
	return "", fault.New(fault.Usage, "document-form", fmt.Sprintf("a document must be a .xlsx or .pdf file, but is %q",
		o.path), "give a name that ends in .xlsx or .pdf").AtField("output")
}

// workbookOnly refuses a PDF of a paper that has none, before it is issued.
func (o *output) workbookOnly() error {
	form, err := o.form()
	if err == nil && form == desk.PDF {
		err = fault.New(fault.Usage, "document-no-pdf", "this paper has no PDF form",
			"give a name that ends in .xlsx").AtField("output")
	}
	return err
}

func (r *root) writeBytes(raw []byte, out output) error {
	if err := r.Streams.WriteFile(out.path, out.force, true, func(w io.Writer) error {
		_, err := w.Write(raw)
		return err
	}); err != nil {
		return err
	}
	r.wrote(out.path)
	return nil
}

// issuing runs a command that issues a paper: issue writes the book and returns
// the paper. The file of -o is opened before and written after, as the workbook or
// the PDF that its ending asks for, so that a path that cannot be written is refused
// while the book is as it was. A dry run opens it too, and writes nothing.
func (r *root) issuing(out output, issue func() (answer.DocumentFile, error)) error {
	if out.path == "" {
		_, err := issue()
		return err
	}
	form, err := out.form()
	if err != nil {
		return err
	}
	f, err := r.Streams.OpenFile(out.path, out.force, true)
	if err != nil {
		return err
	}
	defer f.Discard()
	doc, err := issue()
	if err != nil || r.dryRun {
		return err
	}
	number, raw := doc.Number, doc.Bytes
	if form == desk.PDF {
		raw = doc.PDF
	}
	if err := f.Finish(func(w io.Writer) error {
		_, err := w.Write(raw)
		return err
	}); err != nil {
		return fmt.Errorf("the book has issued %s, but its file was not written (write it with document write): %w",
			number,
			err)
	}
	r.wrote(out.path)
	return nil
}
