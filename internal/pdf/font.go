package pdf

import (
	"embed"
	"fmt"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"lotpaper/internal/page"
)

// The type of every paper: Source Serif 4, under the SIL Open Font License 1.1
// (fonts/OFL.txt), as it was published.
//
//go:embed fonts/*.ttf fonts/OFL.txt
var fonts embed.FS

// faces are the files of the three faces, and the style by which the PDF library
// knows each.
var faces = [...]struct{ file, style string }{
	page.Regular: {"fonts/SourceSerif4-Regular.ttf", ""}, page.Italic: {"fonts/SourceSerif4-Italic.ttf", "I"},
	page.SemiBold: {"fonts/SourceSerif4-SemiBold.ttf", "B"},
}

// face is one face, read when the first paper is set in it.
type face struct {
	raw  []byte
	font *sfnt.Font
	em   fixed.Int26_6 // the size at which a width is in the font's own units
}

var loaded = sync.OnceValues(func() ([len(faces)]face, error) {
	var out [len(faces)]face
	for i, f := range faces {
		raw, err := fonts.ReadFile(f.file)
		if err != nil {
			return out, err
		}
		parsed, err := sfnt.Parse(raw)
		if err != nil {
			return out, fmt.Errorf("read %s: %w", f.file, err)
		}
		out[i] = face{raw, parsed, fixed.I(int(parsed.UnitsPerEm()))}
	}
	return out, nil
})

// advance returns the widths of the letters, in the thousandths that a PDF
// states them in.
func advance() (page.Advance, error) {
	all, err := loaded()
	if err != nil {
		return nil, err
	}
	var buffer sfnt.Buffer
	known := map[rune]int{}
	return func(of page.Face, r rune) (int, bool) {
		key := r<<2 | rune(of)
		if width, ok := known[key]; ok {
			return width, width > 0
		}
		f, width := &all[of], 0
		if glyph, err := f.font.GlyphIndex(&buffer, r); err == nil && glyph != 0 && r <= lastLetter {
			if w, err := f.font.GlyphAdvance(&buffer, glyph, f.em, font.HintingNone); err == nil {
				width = w.Round() * 1000 / f.em.Round()
			}
		}
		known[key] = width
		return width, width > 0
	}, nil
}

// lastLetter is the last character that the PDF library can draw: at the next
// one it panics.
const lastLetter = 0xFFFF
