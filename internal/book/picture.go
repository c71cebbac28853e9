package book

import "strings"

// Picture is a picture of a lot, a finished piece or a design, upright and without
// what the camera wrote into it.
type Picture struct {
	Number      string `json:"number"`           // PIC7
	Lot         string `json:"lot,omitempty"`    // of which stones or which piece; or
	Design      string `json:"design,omitempty"` // LINE/DESIGN
	View        View   `json:"view"`
	On          Date   `json:"on"`
	File        string `json:"file"`   // its name, as it came
	Width       int    `json:"width"`  // of the large one, in pixels
	Height      int    `json:"height"` // the same
	SHA256      string `json:"sha256"` // of Large
	SmallSHA256 string `json:"small_sha256"`
	Removed     string `json:"removed,omitempty"` // why it was taken out; empty: it stands
	Large       []byte `json:"-"`                 // kept beside the record
	Small       []byte `json:"-"`
}

// View is what a picture shows.
type View string

// The views.
const (
	FaceView   View = "face"
	SideView   View = "side"
	LoupeView  View = "10x"
	ReportView View = "report"
	LogoView   View = "logo" // of the house itself, of no lot and no design
)

// Views lists every view.
var Views = []View{FaceView, SideView, LoupeView, ReportView, LogoView}

// Of is what the picture is of: a lot's code or LINE/DESIGN; empty: the house.
func (p Picture) Of() string { return p.Lot + p.Design }

// RecordKind says that pictures are kept as versions.
func (Picture) RecordKind() Kind { return KindPicture }

// RecordKey is the picture's number.
func (p Picture) RecordKey() string { return p.Number }

// Refs are the lot, the line and the files.
func (p Picture) Refs() []Ref {
	line, _, _ := strings.Cut(p.Design, "/")
	return named(ToLot(p.Lot), ToLine(line), ToFile(p.SHA256), ToFile(p.SmallSHA256))
}

// Files are its two sizes, while it stands.
func (p Picture) Files() []File {
	if p.Removed != "" {
		return nil
	}
	return kept(File{p.SHA256, p.Large}, File{p.SmallSHA256, p.Small})
}
