package book

// Kind names a kind of record: its table and its place in JSON.
type Kind string

// The kinds of records. Journal kinds are facts that never change (a reading
// was taken, a document was issued); the others are versions: the newest of a
// key counts.
const (
	KindConfig   Kind = "setting"
	KindParty    Kind = "party"
	KindParcel   Kind = "parcel"
	KindLot      Kind = "lot"
	KindCharge   Kind = "charge"
	KindReading  Kind = "reading"
	KindReport   Kind = "report"
	KindRate     Kind = "rate"
	KindPrice    Kind = "price"
	KindDesign   Kind = "design"
	KindLine     Kind = "line"
	KindHold     Kind = "hold"
	KindOrder    Kind = "order"
	KindMemo     Kind = "memo"
	KindSale     Kind = "sale"
	KindWork     Kind = "work"
	KindDocument Kind = "document"
	KindOffer    Kind = "offer"
)

// Kinds lists every kind in the order of their tables.
var Kinds = []Kind{
	KindConfig, KindParty, KindParcel, KindLot, KindCharge, KindReading, KindReport, KindRate,
	KindPrice, KindDesign, KindLine, KindHold, KindOrder, KindMemo, KindSale, KindWork, KindDocument, KindOffer,
}

// Record is a noun that the book keeps. Its canonical form is its JSON.
type Record interface {
	RecordKind() Kind
	RecordKey() string // unique within the kind, compared without case
}

// Stored is implemented by records whose stored form leaves out what is not
// known: a large book holds it twice, in the record and in the sealed entry.
// It reads back as the record itself.
type Stored interface {
	Record
	StoredForm() any
}
