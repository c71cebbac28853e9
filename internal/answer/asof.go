package answer

import (
	"fmt"

	"lotpaper/internal/book"
)

// AsOf is the state of the book that an answer was read from, where that is not
// the newest.
type AsOf struct {
	On book.Date `json:"on"` // the day, or the entry's
	At *string   `json:"at"` // the entry's code; null: by the entries dated until the day
}

// Words are the heading of such an answer; empty when it is of now.
func (a *AsOf) Words() string {
	if a == nil {
		return ""
	}
	by := fmt.Sprintf("as of %s by the entries dated until then", a.On)
	if a.At != nil {
		by = fmt.Sprintf("as of %s, dated %s, by the entries until then", *a.At, a.On)
	}
	return by + "; names, sizes and claims as of today"
}

// asOf says beside the answer which past moment it is of.
func (s *Screen) asOf(a *AsOf) {
	if a != nil {
		s.remark("%s", a.Words())
	}
}
