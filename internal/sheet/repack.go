package sheet

import (
	"archive/zip"
	"bytes"
	"cmp"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

// placement is where one picture goes, in English Metric Units.
type placement struct {
	absolute   bool
	x, y, w, h int64
}

const emuPerMM = 36_000 // ECMA-376: 914,400 to the inch

func emu(mm float64) int64 { return int64(mm*emuPerMM + 0.5) }

// pictures adds the pictures of a sheet. The library places by pixels of the
// screen; the exact places are put in when the package is repacked.
func (x *writer) pictures(s *Sheet) error {
	if len(s.Pictures) == 0 {
		return nil
	}
	x.drawing++
	for i, p := range s.Pictures {
		cell := p.Cell
		if cell == "" {
			cell = "A1"
		}
		err := x.file.AddPictureFromBytes(s.Name, cell, &excelize.Picture{Extension: ".png", File: p.PNG,
			Format: &excelize.GraphicOptions{Positioning: "oneCell", Name: "Picture " + strconv.Itoa(i+1),
				AltText: p.Name, PrintObject: ptr(true), Locked: ptr(true), LockAspectRatio: true}})
		if err != nil {
			return fmt.Errorf("picture %q: %w", p.Name, err)
		}
		x.placed[x.drawing] = append(x.placed[x.drawing], placement{p.Cell == "", emu(p.X), emu(p.Y), emu(p.Width),
			emu(p.Height)})
	}
	return nil
}

// repack writes the parts in a fixed order, so that the same workbook has the
// same bytes: the library writes its sheets in the order of a map. Parts are
// copied as they are packed; only drawings are changed.
func (x *writer) repack(w io.Writer, packed []byte) error {
	in, err := zip.NewReader(bytes.NewReader(packed), int64(len(packed)))
	if err != nil {
		return fmt.Errorf("sheet: repack: %w", err)
	}
	files := in.File
	slices.SortStableFunc(files, func(a, b *zip.File) int {
		return cmp.Or(cmp.Compare(rank(a.Name), rank(b.Name)), cmp.Compare(a.Name, b.Name))
	})
	out := zip.NewWriter(w)
	for _, f := range files {
		n := drawingNumber(f.Name)
		if places := x.placed[n]; n > 0 && len(places) > 0 {
			if err := x.placeDrawing(out, f, places); err != nil {
				return err
			}
			continue
		}
		if f.Name == contentTypes {
			if err := sortContentTypes(out, f); err != nil {
				return err
			}
			continue
		}
		if err := out.Copy(f); err != nil {
			return fmt.Errorf("sheet: repack %s: %w", f.Name, err)
		}
	}
	return out.Close()
}

const contentTypes = "[Content_Types].xml"

var defaultType = regexp.MustCompile(`<Default [^>]*>(</Default>)?`)

// sortContentTypes writes the file extensions of pictures in a fixed order: the
// library writes them in the order of a map.
func sortContentTypes(out *zip.Writer, f *zip.File) error {
	r, err := f.Open()
	if err != nil {
		return fmt.Errorf("sheet: repack %s: %w", f.Name, err)
	}
	defer r.Close()
	body, err := io.ReadAll(r)
	if err != nil {
		return fmt.Errorf("sheet: repack %s: %w", f.Name, err)
	}
	types := defaultType.FindAllString(string(body), -1)
	slices.Sort(types)
	i := 0
	body = defaultType.ReplaceAllFunc(body, func([]byte) []byte { i++; return []byte(types[i-1]) })
	w, err := out.Create(f.Name)
	if err != nil {
		return fmt.Errorf("sheet: repack %s: %w", f.Name, err)
	}
	_, err = w.Write(body)
	return err
}

func rank(name string) int {
	switch name {
	case contentTypes:
		return 0
	case "_rels/.rels":
		return 1
	}
	return 2
}

func drawingNumber(name string) int {
	s, ok := strings.CutPrefix(name, "xl/drawings/drawing")
	if !ok {
		return 0
	}
	n, err := strconv.Atoi(strings.TrimSuffix(s, ".xml"))
	if err != nil {
		return 0
	}
	return n
}

var (
	anchorPattern = regexp.MustCompile(`(?s)<(?:xdr:)?oneCellAnchor.*?</(?:xdr:)?oneCellAnchor>`)
	fromPattern   = regexp.MustCompile(`(?s)<((?:xdr:)?)from>.*?</(?:xdr:)?from>`)
	extPattern    = regexp.MustCompile(`<((?:xdr:|a:)?)ext cx="\d+" cy="\d+">`)
)

// placeDrawing gives each picture of a drawing its exact size, and an absolute
// anchor when it hangs on no cell.
func (x *writer) placeDrawing(out *zip.Writer, f *zip.File, places []placement) error {
	r, err := f.Open()
	if err != nil {
		return fmt.Errorf("sheet: repack %s: %w", f.Name, err)
	}
	defer r.Close()
	body, err := io.ReadAll(r)
	if err != nil {
		return fmt.Errorf("sheet: repack %s: %w", f.Name, err)
	}
	if got := len(anchorPattern.FindAll(body, -1)); got != len(places) {
		return fmt.Errorf("sheet: %s has %d pictures, want %d", f.Name, got, len(places))
	}
	i := 0
	body = anchorPattern.ReplaceAllFunc(body, func(a []byte) []byte {
		p := places[i]
		i++
		a = extPattern.ReplaceAll(a, fmt.Appendf(nil, `<${1}ext cx="%d" cy="%d">`, p.w, p.h))
		if p.absolute {
			a = fromPattern.ReplaceAll(a, fmt.Appendf(nil, `<${1}pos x="%d" y="%d"></${1}pos>`, p.x, p.y))
			a = bytes.ReplaceAll(a, []byte("oneCellAnchor"), []byte("absoluteAnchor"))
		}
		return a
	})
	w, err := out.Create(f.Name)
	if err != nil {
		return err
	}
	_, err = w.Write(body)
	return err
}
