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
	if _, err := os.Lstat(path); err == nil && !over {
		return ErrExists
	}
	temp, err := os.CreateTemp(filepath.Dir(path), ".lotpaper-*.tmp") // mode 0600
	if errors.Is(err, fs.ErrNotExist) {
		return ErrNoFolder
	}
	if err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	defer os.Remove(temp.Name()) // no longer there once it has its name
	if err := fill(temp); err != nil {
		temp.Close()
		return err
	}
	if err := errors.Join(temp.Sync(), temp.Close()); err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	if over {
		err = os.Rename(temp.Name(), path)
	} else {
		err = rename(temp.Name(), path)
	}
	if err == ErrExists {
		return err
	}
	if err == nil {
		err = sync(filepath.Dir(path))
	}
	if err != nil {
		return fmt.Errorf("write %s: %w", path, err)
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
