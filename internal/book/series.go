package book

import (
	"strconv"
	"strings"
)

// Series returns the numbered series that a record's key belongs to and its
// number there: parcel P12 is number 12 of "parcel"; lot P12-3 number 3 of
// "lot/P12"; lot P12-3.2 number 2 of "lot/P12-3"; lot J7, a finished piece, number
// 7 of "piece"; document PROPOSAL-2026-0004 number 4 of "document/PROPOSAL-2026";
// batch M3/2 number 2 of "batch/M3", credit S3/1 number 1 of "credit/S3", and so are
// bids. Work tickets are numbered with the works. ok is false for keys without a number,
// such as a user's own lot code.
func Series(kind Kind, key string) (series string, n int64, ok bool) {
	var head, tail string
	switch kind {
	case KindParcel, KindCharge, KindReading, KindOrder, KindMemo, KindSale, KindWork, KindClaim, KindTransfer:
		if len(key) < 2 {
			return "", 0, false
		}
		head, tail = "", key[1:]
	case KindLot:
		if isPieceCode(key) {
			n, err := strconv.ParseInt(key[1:], 10, 64)
			return PieceSeries, n, err == nil && n > 0
		}
		if i := strings.LastIndexAny(key, "-."); i > 0 {
			head, tail = key[:i], key[i+1:]
		}
	case KindTicket:
		return Series(KindWork, key)
	case KindPayment:
		tail = strings.TrimPrefix(key, "PAY")
	case KindPicture:
		tail = strings.TrimPrefix(key, "PIC")
	case KindBatch, KindCredit, KindBid:
		if i := strings.LastIndexByte(key, '/'); i > 0 {
			head, tail = key[:i], key[i+1:]
		}
	case KindDocument:
		if i := strings.LastIndexByte(key, '-'); i > 0 {
			head, tail = key[:i], key[i+1:]
		}
	}
	n, err := strconv.ParseInt(tail, 10, 64)
	if err != nil || n <= 0 {
		return "", 0, false
	}
	if head == "" {
		return string(kind), n, true
	}
	return string(kind) + "/" + strings.ToUpper(head), n, true
}

// BatchSeries is the series of the batches of a paper.
func BatchSeries(paper string) string { return string(KindBatch) + "/" + strings.ToUpper(paper) }

// LotSeries is the series of the lots of a parcel or the children of a lot.
func LotSeries(parent string) string { return string(KindLot) + "/" + strings.ToUpper(parent) }

// CreditSeries is the series of the credits of a sale.
func CreditSeries(sale string) string { return string(KindCredit) + "/" + strings.ToUpper(sale) }
