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
	f, err := s.OpenFile(path, force, binary)
	if err != nil {
		return err
	}
	defer f.Discard()
	return f.Finish(write)
}

// File is a file that a command will write: opened before the work, so that a
// bad path is refused while nothing is done.
type File struct {
	path string
	out  io.Writer // of "-"
	file *wholefile.File
}

// OpenFile opens the file that WriteFile writes. Discard must follow.
func (s *Streams) OpenFile(path string, force, binary bool) (*File, error) {
	if path == "-" {
		if binary && s.OutTTY {
			return nil, fault.New(fault.Usage, "output-terminal", "a workbook or picture is not written to a terminal",
				"give a file name, or pipe the output").AtField("output")
		}
		return &File{path: path, out: s.Out}, nil
	}
	f, err := wholefile.Open(path, force)
	return &File{path: path, file: f}, outputFault(path, err)
}

// Discard gives up the file unless it was finished.
func (f *File) Discard() {
	if f.file != nil {
		f.file.Discard()
	}
}

// Finish writes what write produces, and gives the file its name.
func (f *File) Finish(write func(io.Writer) error) error {
	if f.file == nil {
		return write(f.out)
	}
	return outputFault(f.path, f.file.Finish(func(to *os.File) error { return write(to) }))
}

// outputFault turns what a file could not be written for into a fault that says
// what to do.
func outputFault(path string, err error) error {
	switch err {
	case wholefile.ErrExists:
		return fault.New(fault.Refused, "output-exists", "the file "+path+" exists already",
			"choose another name, or write over it with --force").AtField("output")
	case wholefile.ErrNoFolder:
		return fault.New(fault.NotFound, "output-folder", "the folder "+filepath.Dir(path)+" does not exist",
			"make it first, or choose another").AtField("output")
	}
	return err
}
