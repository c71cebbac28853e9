// Package wholefile writes a file whole or not at all, readable by its owner
// alone.
package wholefile

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"syscall"
)

// ErrExists says that the file is there already, ErrNoFolder that its folder is
// not.
var (
	ErrExists   = errors.New("the file exists already")
	ErrNoFolder = errors.New("the folder does not exist")
)

// Write lets fill write an empty temporary file in the folder of path, syncs it,
// gives it its name and syncs the folder, so that neither the file nor its name
// is lost when the machine stops. A file that is there already is replaced if over is
// true, else kept, and the error is ErrExists. Only the owner may read and
// write the new file, whatever the mode of the one it replaces: it holds prices
// and costs.
func Write(path string, over bool, fill func(*os.File) error) error {
	return write(path, over, fill, syncFolder)
}

func write(path string, over bool, fill func(*os.File) error, sync func(folder string) error) error {
	f, err := Open(path, over)
	if err != nil {
		return err
	}
	defer f.Discard()
	f.sync = sync
	return f.Finish(fill)
}

// File is an empty temporary file beside a path that will get its name.
type File struct {
	path string
	over bool
	temp *os.File
	sync func(folder string) error
}

// Open makes the temporary file for path, so that what would prevent the
// writing is known before there is anything to write. Discard must follow.
func Open(path string, over bool) (*File, error) {
	if _, err := os.Lstat(path); err == nil && !over {
		return nil, ErrExists
	}
	temp, err := os.CreateTemp(filepath.Dir(path), ".lotpaper-*.tmp") // mode 0600
	if errors.Is(err, fs.ErrNotExist) {
		return nil, ErrNoFolder
	}
	if err != nil {
		return nil, fmt.Errorf("write %s: %w", path, err)
	}
	return &File{path, over, temp, syncFolder}, nil
}

// Discard removes the temporary file unless it has got its name.
func (f *File) Discard() {
	f.temp.Close()
	os.Remove(f.temp.Name())
}

// Finish lets fill write the file and gives it its name, as Write does.
func (f *File) Finish(fill func(*os.File) error) error {
	if err := fill(f.temp); err != nil {
		return err
	}
	err := errors.Join(f.temp.Sync(), f.temp.Close())
	switch {
	case err != nil:
	case f.over:
		err = os.Rename(f.temp.Name(), f.path)
	default:
		err = rename(f.temp.Name(), f.path)
	}
	if err == ErrExists {
		return err
	}
	if err == nil {
		err = f.sync(filepath.Dir(f.path))
	}
	if err != nil {
		return fmt.Errorf("write %s: %w", f.path, err)
	}
	return nil
}

// syncFolder writes a folder's names to the disk. Windows keeps them without
// that; a folder that may not be read, and a file system that syncs no folders,
// are left to the system.
func syncFolder(path string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	folder, err := os.Open(path)
	if errors.Is(err, fs.ErrPermission) {
		return nil
	}
	if err != nil {
		return err
	}
	err = folder.Sync()
	if errors.Is(err, syscall.EINVAL) || errors.Is(err, errors.ErrUnsupported) {
		err = nil
	}
	return errors.Join(err, folder.Close())
}

// rename renames without writing over a file that came to be meanwhile: a hard
// link fails when the name is taken. File systems without links get a plain
// rename.
func rename(from, to string) error {
	err := os.Link(from, to)
	switch {
	case err == nil:
		return nil
	case errors.Is(err, fs.ErrExist):
		return ErrExists
	}
	return os.Rename(from, to)
}
