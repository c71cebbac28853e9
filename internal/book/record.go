package book

import (
	"crypto/sha256"
	"encoding/hex"
	"slices"
)

// Kind names a kind of record, in the store and in JSON.
type Kind string

// The kinds of records. Journal kinds are facts that never change (a reading
// was taken or declared void, a document was issued, stones came back); the others are versions:
// the newest of a key counts.
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
	KindVoid     Kind = "void"
	KindTicket   Kind = "ticket"
	KindBatch    Kind = "batch"
	KindCredit   Kind = "credit"
	KindPayment  Kind = "payment"
	KindClaim    Kind = "claim"
	KindPeriod   Kind = "period"
	KindTransfer Kind = "transfer"
	KindAlias    Kind = "alias"
	KindBid      Kind = "bid"
	KindPicture  Kind = "picture"
)

// Kinds lists every kind.
var Kinds = []Kind{
	KindConfig, KindParty, KindParcel, KindLot, KindCharge, KindReading, KindReport, KindRate,
	KindPrice, KindDesign, KindLine, KindHold, KindOrder, KindMemo, KindSale, KindWork, KindDocument, KindOffer,
	KindVoid, KindTicket, KindBatch, KindCredit, KindPayment, KindClaim, KindPeriod, KindTransfer, KindAlias, KindBid,
	KindPicture,
}

// blank makes an empty record of each kind.
var blank = map[Kind]func() Record{
	KindConfig:   func() Record { return new(Setting) },
	KindParty:    func() Record { return new(Party) },
	KindParcel:   func() Record { return new(Parcel) },
	KindLot:      func() Record { return new(Lot) },
	KindCharge:   func() Record { return new(Charge) },
	KindReading:  func() Record { return new(Reading) },
	KindReport:   func() Record { return new(Report) },
	KindRate:     func() Record { return new(Rate) },
	KindPrice:    func() Record { return new(Price) },
	KindDesign:   func() Record { return new(Design) },
	KindLine:     func() Record { return new(Line) },
	KindHold:     func() Record { return new(Hold) },
	KindOrder:    func() Record { return new(Order) },
	KindMemo:     func() Record { return new(Memo) },
	KindSale:     func() Record { return new(Sale) },
	KindWork:     func() Record { return new(Work) },
	KindDocument: func() Record { return new(Document) },
	KindOffer:    func() Record { return new(Offer) },
	KindVoid:     func() Record { return new(Void) },
	KindTicket:   func() Record { return new(Ticket) },
	KindBatch:    func() Record { return new(Batch) },
	KindCredit:   func() Record { return new(Credit) },
	KindPayment:  func() Record { return new(Payment) },
	KindClaim:    func() Record { return new(Claim) },
	KindPeriod:   func() Record { return new(Period) },
	KindTransfer: func() Record { return new(Transfer) },
	KindAlias:    func() Record { return new(Alias) },
	KindBid:      func() Record { return new(Bid) },
	KindPicture:  func() Record { return new(Picture) },
}

// Known reports whether k is a kind of record.
func (k Kind) Known() bool { return blank[k] != nil }

// Blank returns a pointer to an empty record of a known kind, to read a stored
// one into.
func (k Kind) Blank() Record { return blank[k]() }

// Record is a noun that the book keeps. Its canonical form is its JSON.
type Record interface {
	RecordKind() Kind
	RecordKey() string // unique within the kind, compared without case
	Refs() []Ref       // what it speaks of, for the store's index
}

// Stored is implemented by records whose stored form leaves out what is not
// known: a large book holds it twice, in the record and in the sealed entry.
// It reads back as the record itself.
type Stored interface {
	Record
	StoredForm() any
}

// Filed is implemented by records that keep files beside them.
type Filed interface {
	Record
	Files() []File // those that are there
}

// File is the bytes of a file, which the book keeps once by their hash.
type File struct {
	SHA256 string
	Bytes  []byte
}

// FileOf is a file of bytes.
func FileOf(b []byte) File {
	sum := sha256.Sum256(b)
	return File{hex.EncodeToString(sum[:]), b}
}

// kept are the files that have a hash.
func kept(files ...File) []File {
	return slices.DeleteFunc(files, func(f File) bool { return f.SHA256 == "" })
}
