package ui

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"lotpaper/internal/fault"
)

// WriteFile writes what write produces to path, whole or not at all: to a
// temporary file in the same folder, synced, then renamed. An existing file is
// refused unless force. "-" is stdout, refused for binary on a terminal.
func (s *Streams) WriteFile(path string, force, binary bool, write func(io.Writer) error) error {
	if path == "-" {
		if binary && s.OutTTY {
			return fault.New(fault.Usage, "output-terminal", "a workbook or picture is not written to a terminal", "give a file name, or pipe the output").AtFlag("output")
		}
		return write(s.Out)
	}
	if _, err := os.Lstat(path); err == nil && !force {
		return fault.New(fault.Refused, "output-exists", "the file "+path+" exists already", "choose another name, or write over it with --force").AtFlag("output")
	}
	dir := filepath.Dir(path)
	temp, err := os.CreateTemp(dir, ".lotpaper-*.tmp")
	if errors.Is(err, fs.ErrNotExist) {
		return fault.New(fault.NotFound, "output-folder", "the folder "+dir+" does not exist", "make it first, or choose another").AtFlag("output")
	}
	if err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	done := false
	defer func() {
		if !done {
			temp.Close()
			os.Remove(temp.Name())
		}
	}()
	if err := write(temp); err != nil {
		return err
	}
	if err := temp.Chmod(0o644); err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	if err := temp.Sync(); err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	if err := temp.Close(); err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	if force {
		err = os.Rename(temp.Name(), path)
	} else {
		err = renameNew(temp.Name(), path)
	}
	if err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	done = true
	return nil
}

// renameNew renames without writing over a file that came to be meanwhile: a
// hard link fails when the name is taken; file systems without links fall back
// to a plain rename.
func renameNew(from, to string) error {
	err := os.Link(from, to)
	switch {
	case err == nil:
		return os.Remove(from)
	case errors.Is(err, fs.ErrExist):
		return fault.New(fault.Refused, "output-exists", "the file "+to+" exists already", "choose another name, or write over it with --force").AtFlag("output")
	}
	return os.Rename(from, to)
}
