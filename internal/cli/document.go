package cli

import (
	"context"
	"io"

	"github.com/spf13/cobra"

	"lotpaper/internal/desk"
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
		`  lotpaper document write PROPOSAL-2026-0001
`, cobra.ExactArgs(1), r.reading(func(ctx context.Context, a *house.House, args []string) error {
			d, err := a.Desk.DocumentFile(ctx, desk.DocumentFile{Number: args[0]})
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
