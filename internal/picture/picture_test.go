package picture

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"lotpaper/internal/fault"
)

// quarters is a picture with red, green, blue and white quarters, clockwise from
// the top left.
func quarters(w, h int) *image.RGBA {
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			m.Set(x, y, [][]color.Color{{red, green}, {white, blue}}[2*y/h][2*x/w])
		}
	}
	return m
}

var (
	red   = color.RGBA{255, 0, 0, 255}
	green = color.RGBA{0, 255, 0, 255}
	blue  = color.RGBA{0, 0, 255, 255}
	white = color.RGBA{255, 255, 255, 255}
)

// exif is an Exif segment with an orientation and the words of a camera.
func exif(order binary.AppendByteOrder, orientation uint16, words string) []byte {
	tiff := []byte("II*\x00")
	if order.String() == "BigEndian" {
		tiff = []byte("MM\x00*")
	}
	entry := func(tag, kind uint16, count, value uint32, short bool) {
		tiff = order.AppendUint16(tiff, tag)
		tiff = order.AppendUint16(tiff, kind)
		tiff = order.AppendUint32(tiff, count)
		if short {
			tiff = order.AppendUint16(tiff, uint16(value))
			tiff = order.AppendUint16(tiff, 0)
		} else {
			tiff = order.AppendUint32(tiff, value)
		}
	}
	tiff = order.AppendUint32(tiff, 8)
	tiff = order.AppendUint16(tiff, 2)
	entry(0x010f, 2, uint32(len(words)), 38, false)
	entry(0x0112, 3, 1, uint32(orientation), true)
	tiff = order.AppendUint32(tiff, 0)
	tiff = append(tiff, words...)
	body := append([]byte("Exif\x00\x00"), tiff...)
	return append(binary.BigEndian.AppendUint16([]byte{0xff, 0xe1}, uint16(len(body)+2)), body...)
}

// shot is a JPEG file as a camera writes it.
func shot(t testing.TB, m image.Image, segment []byte) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	return slices.Concat(b.Bytes()[:2], segment, b.Bytes()[2:])
}

func corner(t *testing.T, raw []byte, fx, fy float64) color.RGBA {
	t.Helper()
	m, err := jpeg.Decode(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	near := func(v uint32) uint8 {
		if v > 0x8000 {
			return 255
		}
		return 0
	}
	r, g, b, _ := m.At(int(fx*float64(m.Bounds().Dx())), int(fy*float64(m.Bounds().Dy()))).RGBA()
	return color.RGBA{near(r), near(g), near(b), 255}
}

// Every way of holding a camera comes out upright, in both byte orders (Exif 2.32,
// table of tag 0x0112: where row 0 and column 0 are).
func TestRead_Orientation(t *testing.T) {
	corners := [][2]float64{{.25, .25}, {.75, .25}, {.75, .75}, {.25, .75}} // clockwise from the top left
	upright := []color.RGBA{red, green, blue, white}
	// of the stored picture: which corner of the upright one lies at each of its own
	stored := map[int][4]int{1: {0, 1, 2, 3}, 2: {1, 0, 3, 2}, 3: {2, 3, 0, 1}, 4: {3, 2, 1, 0}, 5: {0, 3, 2, 1},
		6: {1, 2, 3, 0}, 7: {2, 1, 0, 3}, 8: {3, 0, 1, 2}}
	for o, at := range stored {
		for _, order := range []binary.AppendByteOrder{binary.LittleEndian, binary.BigEndian} {
			w, h := 64, 32
			if o >= 5 {
				w, h = h, w
			}
			m := image.NewRGBA(image.Rect(0, 0, w, h))
			for i, c := range corners {
				x, y := 0, 0
				if c[0] > .5 {
					x = w / 2
				}
				if c[1] > .5 {
					y = h / 2
				}
				for v := range h / 2 {
					for u := range w / 2 {
						m.Set(x+u, y+v, upright[at[i]])
					}
				}
			}
			got, err := Read("a.jpg", shot(t, m, exif(order, uint16(o), "x")))
			if err != nil || got.Width != 64 || got.Height != 32 {
				t.Fatalf("orientation %d: %d x %d, %v", o, got.Width, got.Height, err)
			}
			for i, c := range corners {
				if seen := corner(t, got.Large, c[0], c[1]); seen != upright[i] {
					t.Errorf("orientation %d, %s: corner %d is %v", o, order, i, seen)
				}
			}
		}
	}
}

// What the camera wrote is gone: a second reader (the test's own search of every
// byte, and of every segment) finds neither its words nor any application segment.
func TestRead_Metadata(t *testing.T) {
	const secret = "N 38 41 12.5 W 9 8 4.1 SECRET-CAMERA"
	raw := shot(t, quarters(2000, 1000), exif(binary.LittleEndian, 1, secret))
	if !bytes.Contains(raw, []byte(secret)) {
		t.Fatal("nothing was planted")
	}
	got, err := Read("a.jpg", raw)
	if err != nil {
		t.Fatal(err)
	}
	for _, b := range [][]byte{got.Large, got.Small} {
		if bytes.Contains(b, []byte(secret[:8])) || exifOf(b) != nil {
			t.Error("what the camera wrote is still there")
		}
		for marker := range segments(b) {
			if marker >= 0xe0 && marker <= 0xef || marker == 0xfe {
				t.Errorf("a segment of an application or a comment is left: %x", marker)
			}
		}
	}
}

func TestRead_Sizes(t *testing.T) {
	got, err := Read("a.jpg", shot(t, quarters(4000, 3000), nil))
	if err != nil || got.Width != 1600 || got.Height != 1200 {
		t.Fatalf("%d x %d, %v", got.Width, got.Height, err)
	}
	small, err := jpeg.DecodeConfig(bytes.NewReader(got.Small))
	if err != nil || small.Width != 480 || small.Height != 360 {
		t.Errorf("small %d x %d, %v", small.Width, small.Height, err)
	}
	again, err := Read("b.jpg", shot(t, quarters(4000, 3000), exif(binary.BigEndian, 1, "another camera")))
	if err != nil || !bytes.Equal(got.Large, again.Large) || !bytes.Equal(got.Small, again.Small) {
		t.Errorf("the same picture gives other bytes, %v", err)
	}
	thin, err := Read("thin.jpg", shot(t, quarters(3000, 1), nil))
	if err != nil || thin.Width != 1600 || thin.Height != 1 {
		t.Errorf("a thin one: %d x %d, %v", thin.Width, thin.Height, err)
	}
	tiny, err := Read("tiny.jpg", shot(t, quarters(30, 20), nil))
	if err != nil || tiny.Width != 30 || tiny.Height != 20 {
		t.Errorf("a tiny one: %d x %d, %v", tiny.Width, tiny.Height, err)
	}
}

// A PNG of 16 bits with transparency comes out on white.
func TestRead_PNG(t *testing.T) {
	m := image.NewNRGBA64(image.Rect(0, 0, 100, 50))
	for y := range 50 {
		for x := range 50 {
			m.SetNRGBA64(x, y, color.NRGBA64{R: 0xffff, A: 0xffff})
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	got, err := Read("a.png", b.Bytes())
	if err != nil || corner(t, got.Large, .25, .5) != red || corner(t, got.Large, .75, .5) != white {
		t.Errorf("%v", err)
	}
}

func pngOf(t testing.TB, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// stretched is a PNG file that says it has other sides than it has.
func stretched(t *testing.T, w, h uint32) []byte {
	raw := pngOf(t, image.NewRGBA(image.Rect(0, 0, 4, 4)))
	binary.BigEndian.PutUint32(raw[16:], w)
	binary.BigEndian.PutUint32(raw[20:], h)
	binary.BigEndian.PutUint32(raw[29:], crc32.ChecksumIEEE(raw[12:29]))
	return raw
}

func TestRead_Bad(t *testing.T) {
	var z bytes.Buffer
	w := zip.NewWriter(&z)
	if _, err := w.Create("face.jpg"); err != nil || w.Close() != nil {
		t.Fatal(err)
	}
	whole := shot(t, quarters(200, 100), nil)
	for name, c := range map[string]struct {
		raw  []byte
		code string
	}{
		"zip.jpg":    {z.Bytes(), "picture-none"},
		"empty.jpg":  {nil, "picture-none"},
		"draw.svg":   {[]byte(`<svg xmlns="x"><script>alert(1)</script></svg>`), "picture-none"},
		"report.pdf": {[]byte("%PDF-1.7"), "picture-none"},
		"cut.jpg":    {whole[:len(whole)/2], "picture-broken"},
		"head.jpg":   {whole[:20], "picture-broken"},
		"huge.png":   {stretched(t, 10_000, 10_000), "picture-pixels"},
		"wide.png":   {stretched(t, 1<<31-1, 1<<31-1), "picture-broken"},
		"short.png":  {stretched(t, 3000, 3000), "picture-broken"},
		"many.jpg":   {make([]byte, MostBytes+1), "picture-bytes"},
	} {
		_, err := Read(name, c.raw)
		l, ok := fault.From(err)
		if !ok || l[0].Code != c.code || l[0].Where.File != name || !strings.Contains(l[0].What, name) {
			t.Errorf("%s: %v, want %s", name, err, c.code)
		}
	}
}

// Whatever the bytes are, Read returns a picture or a fault, and never panics.
func FuzzRead(f *testing.F) {
	whole := shot(f, quarters(20, 10), exif(binary.LittleEndian, 6, "x"))
	f.Add(whole)
	f.Add(pngOf(f, quarters(8, 4)))
	rng := rand.New(rand.NewPCG(1, 2))
	for range 40 {
		spoilt := slices.Clone(whole)
		for range 4 {
			spoilt[rng.IntN(len(spoilt))] = byte(rng.IntN(256))
		}
		f.Add(spoilt)
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		if _, err := Read("x", raw); err != nil {
			if _, ok := fault.From(err); !ok {
				t.Errorf("%v", err)
			}
		}
	})
}
