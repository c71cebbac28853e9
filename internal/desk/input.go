package desk

import (
	"io"

	"lotpaper/internal/fault"
	"lotpaper/internal/sheet"
)

// Input is a file that was handed in: its bytes and the name that faults show.
type Input struct {
	Reader   io.ReaderAt
	Size     int64
	Name     string
	Encoding string // of CSV; empty: UTF-8
}

// Open recognises the file.
func (in *Input) Open() (*sheet.File, fault.List) {
	return sheet.Open(in.Reader, in.Size, in.Name, sheet.Options{Encoding: in.Encoding})
}
