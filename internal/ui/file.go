package ui

import (
	"io"
	"os"
	"path/filepath"

	"lotpaper/internal/fault"
	"lotpaper/internal/wholefile"
)

// WriteFile writes what write produces to path, whole or not at all, for the
// owner alone. An existing file is refused unless force. "-" is stdout, refused
// for binary on a terminal.
func (s *Streams) WriteFile(path string, force, binary bool, write func(io.Writer) error) error {
	if path == "-" {
		if binary && s.OutTTY {
			return fault.New(fault.Usage, "output-terminal", "a workbook or picture is not written to a terminal",
				"give a file name, or pipe the output").AtField("output")
		}
		return write(s.Out)
	}
	switch err := wholefile.Write(path, force, func(f *os.File) error { return write(f) }); err {
	case wholefile.ErrExists:
		return fault.New(fault.Refused, "output-exists", "the file "+path+" exists already",
			"choose another name, or write over it with --force").AtField("output")
	case wholefile.ErrNoFolder:
		return fault.New(fault.NotFound, "output-folder", "the folder "+filepath.Dir(path)+" does not exist",
			"make it first, or choose another").AtField("output")
	default:
		return err
	}
}
