package sqlstore

import (
	"strings"

	"lotpaper/internal/book"
)

// journal reports whether records of a kind are facts that are never replaced.
func journal(kind book.Kind) bool {
	switch kind {
	case book.KindReading, book.KindVoid, book.KindReport, book.KindDocument, book.KindBatch:
		return true
	}
	return false
}

// fold is how keys, codes and refs compare: without case.
func fold(key string) string { return strings.ToLower(key) }

// realPlace selects rows b at places where pieces can lie. The schema checks the places themselves.
const realPlace = `(b.place = 'safe' OR b.place LIKE 'safe/%' OR b.place LIKE 'paper/%' OR b.place LIKE 'cutter/%'
	OR b.place LIKE 'setter/%' OR b.place LIKE 'memo/%' OR b.place LIKE 'piece/%')`
