package cli

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/fault"
	"lotpaper/internal/sheet"
)

// output is where a command writes its file.
type output struct {
	path  string
	force bool
}

func (o *output) flags(c *cobra.Command, fallback string) {
	c.Flags().StringVarP(&o.path, "output", "o", fallback, "file to write; - is stdout")
	c.Flags().BoolVar(&o.force, "force", false, "write over an existing file")
}

// ofList adds the flags of a command that lists.
func (o *output) ofList(c *cobra.Command) {
	c.Flags().StringVarP(&o.path, "output", "o", "", "write the list to this .csv or .xlsx file; - is a workbook on "+
		"stdout")
	c.Flags().BoolVar(&o.force, "force", false, "write over an existing file")
}

// isCSV reports whether a list goes into a CSV file, not a workbook: its name's
// ending says so.
func (o *output) isCSV() (bool, error) {
	switch ext := strings.ToLower(filepath.Ext(o.path)); {
	case ext == ".csv":
		return true, nil
	case ext == ".xlsx", o.path == "-":
		return false, nil
	}
	return false, fault.New(fault.Usage, "list-kind", fmt.Sprintf("a list must be a .csv or .xlsx file, but is %q",
		o.path), "give a name that ends in .csv or .xlsx").AtField("output")
}

// listed is an answer in rows.
type listed interface{ List() answer.Listing }

// list prints an answer in rows: into the file of -o, as a JSON document of the
// schema, or on screen.
func (r *root) list(schema string, a listed, out output) error {
	switch {
	case out.path != "":
		return r.writeList(out, func(w io.Writer, csv bool) error {
			if csv {
				return a.List().WriteCSV(w)
			}
			wb, err := a.List().Workbook()
			if err != nil {
				return err
			}
			return wb.Write(w)
		})
	case r.Streams.JSON:
		return r.Streams.Document(schema, a)
	}
	r.screen(a.List().Screen())
	return nil
}

// writeList writes a list to the file of a command, as CSV or as a workbook.
func (r *root) writeList(out output, write func(w io.Writer, csv bool) error) error {
	csv, err := out.isCSV()
	if err != nil {
		return err
	}
	if err := r.Streams.WriteFile(out.path, out.force, !csv, func(w io.Writer) error {
		return write(w, csv)
	}); err != nil {
		return err
	}
	r.wrote(out.path)
	return nil
}

// writeWorkbook writes a workbook to the file of a command.
func (r *root) writeWorkbook(wb *sheet.Workbook, out output) error {
	return r.Streams.WriteFile(out.path, out.force, true, wb.Write)
}

// wrote tells of a file that was written.
func (r *root) wrote(path string) {
	if path != "-" {
		r.Streams.Notef("wrote %s\n", path)
	}
}
