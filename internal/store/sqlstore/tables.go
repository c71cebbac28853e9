package sqlstore

import (
	"strings"

	"lotpaper/internal/book"
)

// tables names the table of each kind of record.
var tables = map[book.Kind]string{
	book.KindConfig:   "settings",
	book.KindParty:    "parties",
	book.KindParcel:   "parcel_versions",
	book.KindLot:      "lot_versions",
	book.KindCharge:   "charges",
	book.KindReading:  "readings",
	book.KindReport:   "reports",
	book.KindRate:     "rates",
	book.KindPrice:    "prices",
	book.KindDesign:   "design_versions",
	book.KindLine:     "line_versions",
	book.KindHold:     "holds",
	book.KindOrder:    "order_events",
	book.KindMemo:     "memo_events",
	book.KindSale:     "sale_events",
	book.KindWork:     "setting_works",
	book.KindDocument: "documents",
	book.KindOffer:    "offers",
}

// journal tells whether records of a kind are facts that are never replaced.
func journal(kind book.Kind) bool {
	return kind == book.KindReading || kind == book.KindReport || kind == book.KindDocument
}

// fold is how keys and codes compare: without case.
func fold(key string) string { return strings.ToLower(key) }

// realPlace selects rows b at places where pieces can lie. The places themselves are checked by the schema.
const realPlace = `(b.place = 'safe' OR b.place LIKE 'cutter/%' OR b.place LIKE 'setter/%' OR b.place LIKE 'memo/%' OR b.place LIKE 'piece/%')`
