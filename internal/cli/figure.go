package cli

import (
	"fmt"
	"io"
	"strings"

	"lotpaper/internal/chart"
	"lotpaper/internal/fault"
)

// writeFigure draws a figure as SVG or PNG, by the file's name.
func (r *root) writeFigure(f chart.Figure, path string, force bool) error {
	var raw []byte
	var err error
	switch low := strings.ToLower(path); {
	case strings.HasSuffix(low, ".svg"):
		raw, err = chart.SVG(f)
	case strings.HasSuffix(low, ".png"):
		raw, err = chart.PNG(f, 150)
	default:
		return fault.New(fault.Usage, "chart-kind", fmt.Sprintf("a picture must be a .svg or .png file, but is %q",
			path), "name it so").AtField("chart")
	}
	if err != nil {
		return err
	}
	return r.Streams.WriteFile(path, force, true, func(w io.Writer) error {
		_, err := w.Write(raw)
		return err
	})
}
