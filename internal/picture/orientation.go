package picture

import (
	"bytes"
	"encoding/binary"
	"image"
	"iter"
)

// orientation is how the camera was held, 1 to 8, as tag 0x0112 of a JPEG file's Exif
// data says (Exif 2.32, section 4.6.4; JEITA CP-3451); 1 when nothing right is said.
func orientation(jpeg []byte) int {
	exif := exifOf(jpeg)
	if len(exif) < 8 {
		return 1
	}
	var order binary.ByteOrder = binary.LittleEndian
	if exif[0] == 'M' {
		order = binary.BigEndian
	}
	at := int64(order.Uint32(exif[4:])) // the first directory
	if at+2 > int64(len(exif)) {
		return 1
	}
	const size = 12 // of an entry: tag, type, count, value
	for entry := range int64(order.Uint16(exif[at:])) {
		from := at + 2 + size*entry
		if from+size > int64(len(exif)) {
			return 1
		}
		if e := exif[from:]; order.Uint16(e) == 0x0112 {
			if o := int(order.Uint16(e[8:])); o >= 1 && o <= 8 {
				return o
			}
			return 1
		}
	}
	return 1
}

// exifOf is the TIFF structure of a JPEG file's first Exif segment; nil: none.
func exifOf(jpeg []byte) []byte {
	const head = "Exif\x00\x00"
	for marker, segment := range segments(jpeg) {
		if marker == 0xe1 && bytes.HasPrefix(segment, []byte(head)) {
			return segment[len(head):]
		}
	}
	return nil
}

// isProgressive reports whether a JPEG file is drawn in several scans.
func isProgressive(jpeg []byte) bool {
	for marker := range segments(jpeg) {
		if marker == 0xc2 {
			return true
		}
	}
	return false
}

// segments are the marker segments of a JPEG file before its first scan.
func segments(jpeg []byte) iter.Seq2[byte, []byte] {
	return func(yield func(marker byte, segment []byte) bool) {
		if len(jpeg) < 2 || jpeg[0] != 0xff || jpeg[1] != 0xd8 {
			return
		}
		for rest := jpeg[2:]; len(rest) >= 4 && rest[0] == 0xff && rest[1] != 0xda; {
			if rest[1] == 0xff { // fill
				rest = rest[1:]
				continue
			}
			n := int(binary.BigEndian.Uint16(rest[2:])) + 2
			if n < 4 || n > len(rest) || !yield(rest[1], rest[4:n]) {
				return
			}
			rest = rest[n:]
		}
	}
}

// turned is a picture upright: orientation says where its first row and column are.
func turned(m *image.RGBA, orientation int) *image.RGBA {
	if orientation == 1 {
		return m
	}
	w, h := m.Rect.Dx(), m.Rect.Dy()
	if orientation >= 5 { // the first row is a side
		w, h = h, w
	}
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			u, v := x, y
			switch orientation {
			case 2: // mirrored
				u = w - 1 - x
			case 3: // upside down
				u, v = w-1-x, h-1-y
			case 4:
				v = h - 1 - y
			case 5: // the first row is the left side, the first column the top
				u, v = y, x
			case 6: // the first row is the right side
				u, v = y, w-1-x
			case 7:
				u, v = h-1-y, w-1-x
			case 8: // the first row is the left side, from below
				u, v = h-1-y, x
			}
			copy(out.Pix[out.PixOffset(x, y):][:4], m.Pix[m.PixOffset(u, v):])
		}
	}
	return out
}
