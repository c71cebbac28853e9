// Package picture makes a picture ready to be kept: upright, without what the camera
// wrote into it (place, time, telephone), in two sizes, as JPEG. The same picture
// gives the same bytes.
package picture

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	_ "image/png" // PNG files are read too

	"lotpaper/internal/fault"
)

// The longest sides of the two sizes in pixels. The large one fills 136 mm of a page
// at 300 dots per inch; the small one the box of 30.5 mm beside a piece, and a label's.
const (
	LargeSide = 1600
	SmallSide = 480
)

// The most that is read.
const (
	MostBytes  = 32 << 20
	mostPixels = 50_000_000
	mostMemory = 200 << 20 // of the decoded picture, bytes
)

// quality is of the JPEG files that are kept, of 100.
const quality = 88

// Picture is a picture in two sizes.
type Picture struct {
	Large, Small  []byte // JPEG
	Width, Height int    // of the large one, in pixels
}

// TooLarge is the fault of a file of more than MostBytes.
func TooLarge(name string, size int64) *fault.Fault {
	return bad(name, "picture-bytes", fmt.Sprintf("has %d bytes: a picture's file may have %d", size, MostBytes),
		"save a smaller one")
}

func bad(name, code, what, mend string) *fault.Fault {
	return fault.New(fault.Invalid, code, name+" "+what, mend).At(fault.Where{File: name})
}

// Read makes a JPEG or PNG file ready. What is none, is cut off or too large is a
// fault that names the file.
func Read(name string, raw []byte) (Picture, error) {
	if len(raw) > MostBytes {
		return Picture{}, TooLarge(name, int64(len(raw)))
	}
	config, _, err := image.DecodeConfig(bytes.NewReader(raw))
	switch {
	case errors.Is(err, image.ErrFormat):
		return Picture{}, bad(name, "picture-none", "is no JPEG or PNG picture",
			"save the picture as JPEG or PNG; a name's ending does not make it one")
	case err != nil:
		return Picture{}, broken(name, err)
	case config.Width <= 0 || config.Height <= 0:
		return Picture{}, bad(name, "picture-pixels", "has no pixels", "save it anew")
	}
	if most := min(mostPixels, mostMemory/memory(config.ColorModel, raw)); config.Width > most/config.Height {
		return Picture{}, bad(name, "picture-pixels", fmt.Sprintf(
			"has %d x %d pixels: a picture of its kind may have %d million", config.Width, config.Height,
			most/1_000_000), "save a smaller one")
	}
	decoded, _, err := image.Decode(bytes.NewReader(raw))
	if err != nil {
		return Picture{}, broken(name, err)
	}
	large := turned(scaled(decoded, LargeSide), orientation(raw))
	out := Picture{Width: large.Rect.Dx(), Height: large.Rect.Dy()}
	if out.Large, err = encoded(large); err == nil {
		out.Small, err = encoded(scaled(large, SmallSide))
	}
	return out, err
}

// memory is how many bytes a pixel takes while a picture is decoded.
func memory(m color.Model, raw []byte) int {
	switch m {
	case color.GrayModel:
		return 1
	case color.Gray16Model:
		return 2
	case color.YCbCrModel, color.CMYKModel:
		if isProgressive(raw) {
			return 16 // every coefficient is kept until the last scan
		}
		return 4
	case color.RGBA64Model, color.NRGBA64Model:
		return 8
	}
	return 4
}

func broken(name string, err error) *fault.Fault {
	return bad(name, "picture-broken", "cannot be read to its end: "+err.Error(), "copy it again, or save it anew")
}

func encoded(m image.Image) ([]byte, error) {
	var b bytes.Buffer
	err := jpeg.Encode(&b, m, &jpeg.Options{Quality: quality})
	return b.Bytes(), err
}

// scaled is a picture on white whose longest side is at most side: every pixel is
// the mean of those that it covers. A smaller picture keeps its size.
func scaled(m image.Image, side int) *image.RGBA {
	from := m.Bounds()
	w, h := from.Dx(), from.Dy()
	if longest := max(w, h); longest > side {
		w, h = max(1, w*side/longest), max(1, h*side/longest)
	}
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	// A strip of rows at a time, so that a large picture is not in memory twice.
	for y := range h {
		top, bottom := from.Dy()*y/h, max(from.Dy()*y/h+1, from.Dy()*(y+1)/h)
		strip := image.NewRGBA(image.Rect(0, 0, from.Dx(), bottom-top))
		draw.Draw(strip, strip.Rect, image.White, image.Point{}, draw.Src)
		draw.Draw(strip, strip.Rect, m, image.Pt(from.Min.X, from.Min.Y+top), draw.Over)
		for x := range w {
			left, right := from.Dx()*x/w, max(from.Dx()*x/w+1, from.Dx()*(x+1)/w)
			var sum [3]int
			for v := range bottom - top {
				row := strip.Pix[v*strip.Stride:]
				for u := left; u < right; u++ {
					sum[0] += int(row[4*u])
					sum[1] += int(row[4*u+1])
					sum[2] += int(row[4*u+2])
				}
			}
			n := (right - left) * (bottom - top)
			at := out.PixOffset(x, y)
			for i := range sum {
				out.Pix[at+i] = uint8((sum[i] + n/2) / n)
			}
			out.Pix[at+3] = 0xff
		}
	}
	return out
}
