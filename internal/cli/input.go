package cli

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
)

// openInput is a file that was named on the command line, open for reading.
type openInput struct {
	desk.Input
	file *os.File
}

// Close closes the file.
func (in *openInput) Close() {
	if in.file != nil {
		in.file.Close()
	}
}

// input opens a file to read; "-" reads stdin whole.
func (r *root) input(path, encoding string) (*openInput, error) {
	if path == "-" {
		const limit = 512 << 20
		raw, err := io.ReadAll(io.LimitReader(r.Streams.In, limit))
		if err != nil {
			return nil, err
		}
		return &openInput{Input: desk.Input{Reader: bytes.NewReader(raw), Size: int64(len(raw)), Name: "stdin",
			Encoding: encoding}}, nil
	}
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fault.New(fault.NotFound, "file-missing", "there is no file "+path,
			"check the name and the folder").At(fault.Where{File: path})
	}
	if err != nil {
		return nil, err
	}
	info, err := f.Stat()
	if err != nil {
		f.Close()
		return nil, err
	}
	if info.IsDir() {
		f.Close()
		return nil, fault.New(fault.Usage, "file-folder", path+" is a folder", "name a CSV or XLSX file").
			At(fault.Where{File: path})
	}
	return &openInput{Input: desk.Input{Reader: f, Size: info.Size(), Name: filepath.Base(path), Encoding: encoding},
		file: f}, nil
}
