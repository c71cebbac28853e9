package pdf

import (
	"bytes"
	"crypto/sha256"
	"encoding/gob"
	"fmt"

	"codeberg.org/go-pdf/fpdf"

	"lotpaper/internal/page"
)

// place puts a picture on the page. Equal pictures are in the file once; count is
// how many others are in it.
func place(doc *fpdf.Fpdf, x page.PlacedPicture, count *int) error {
	kind := fpdf.ImageOptions{ImageType: "jpg"}
	if bytes.HasPrefix(x.Picture.Data, []byte("\x89PNG")) {
		kind.ImageType = "png"
	}
	name := fmt.Sprintf("%x", sha256.Sum256(x.Picture.Data))
	if doc.GetImageInfo(name) == nil {
		info := doc.RegisterImageOptionsReader(name, kind, bytes.NewReader(x.Picture.Data))
		if doc.Err() {
			return doc.Error()
		}
		if err := inPlace(info, *count); err != nil {
			return err
		}
		*count++
	}
	doc.ImageOptions(name, x.X, x.Y, x.Width, x.Height, false, kind, 0, "")
	return doc.Error()
}

// inPlace gives a picture its place in the file. The library writes pictures by
// their widths in pixels, and those of one width in any order, so that the same
// paper would be another file each time; it cuts a part of a pixel off when it
// writes a width. The fields are those of its ImageInfoType.GobEncode.
func inPlace(info *fpdf.ImageInfoType, place int) error {
	const part = 1.0 / (1 << 20)
	var (
		data, mask, palette       []byte
		object, bits              int
		width, height, scale, dpi float64
		space, filter, parameters string
		transparent               []int
	)
	fields := []any{&data, &mask, &object, &width, &height, &space, &palette, &bits, &filter, &parameters, &transparent,
		&scale, &dpi}
	raw, err := info.GobEncode()
	if err != nil {
		return err
	}
	from := gob.NewDecoder(bytes.NewReader(raw))
	for _, f := range fields {
		if err := from.Decode(f); err != nil {
			return err
		}
	}
	width += part * float64(place)
	var b bytes.Buffer
	to := gob.NewEncoder(&b)
	for _, f := range fields {
		if err := to.Encode(f); err != nil {
			return err
		}
	}
	return info.GobDecode(b.Bytes())
}
