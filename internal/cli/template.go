package cli

import (
	"context"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/intake"
	"lotpaper/internal/num"
)

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
