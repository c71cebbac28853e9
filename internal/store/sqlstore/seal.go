package sqlstore

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"strconv"

	"lotpaper/internal/book"
	"lotpaper/internal/ledger"
)

// sealFormat names what is hashed and how a body is written. A change of either
// needs a new name; bodies sealed before keep theirs.
const sealFormat = "lotpaper/entry/1"

// seal is the hash of an entry: SHA-256 over the format's name, the hash of the
// entry before it (empty for the first) and the body, each of the first two
// followed by a line feed; in lower-case hex.
func seal(previous string, body []byte) string {
	h := sha256.New()
	h.Write([]byte(sealFormat + "\n" + previous + "\n"))
	h.Write(body)
	return hex.EncodeToString(h.Sum(nil))
}

// sealedRecord is a record as it stands in a body.
type sealedRecord struct {
	kind book.Kind
	key  string
	doc  []byte
	name name // to compare it by
}

// head is the part of a body before its rows.
type head struct {
	Sequence   int64       `json:"sequence"`
	Code       string      `json:"code"`
	Kind       ledger.Kind `json:"kind"`
	PostedOn   book.Date   `json:"posted_on"`
	RecordedAt string      `json:"recorded_at"`
	Reason     string      `json:"reason"`
	Who        string      `json:"who"`
	Reverses   string      `json:"reverses,omitempty"`
}

func headOf(e *ledger.Entry) head {
	return head{e.Sequence, e.Code, e.Kind, e.PostedOn, instant(e.RecordedAt), e.Reason, e.Who, e.Reverses}
}

// writeBody returns the canonical JSON of an entry: members in a fixed order,
// no white space, records as {"kind","key","doc"} in the order of the entry.
func writeBody(h head, postings []ledger.Posting, records []sealedRecord) ([]byte, error) {
	size := 256 + 120*len(postings)
	for _, r := range records {
		size += len(r.doc) + len(r.key) + 40
	}
	raw, err := marshal(h)
	if err != nil {
		return nil, err
	}
	b := append(make([]byte, 0, size), raw[:len(raw)-1]...)
	b = append(b, `,"postings":[`...)
	for i, p := range postings {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(b, `{"lot":`...)
		b = appendText(b, p.Lot)
		b = append(b, `,"place":`...)
		b = appendText(b, string(p.Place))
		b = append(b, `,"pieces":`...)
		b = strconv.AppendInt(b, p.Pieces, 10)
		b = append(b, `,"carats":"`...)
		b = append(b, p.Carats.String()...)
		b = append(b, `","cost":"`...)
		b = append(b, p.Cost.Words()...)
		b = append(b, `"}`...)
	}
	b = append(b, `],"records":[`...)
	for i, r := range records {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(b, `{"kind":`...)
		b = appendText(b, string(r.kind))
		b = append(b, `,"key":`...)
		b = appendText(b, r.key)
		b = append(b, `,"doc":`...)
		b = append(b, r.doc...)
		b = append(b, '}')
	}
	return append(b, `]}`...), nil
}

// marshal is json.Marshal that leaves <, > and & as they are.
func marshal(v any) ([]byte, error) {
	var buf bytes.Buffer
	enc := json.NewEncoder(&buf)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return nil, fmt.Errorf("write canonical JSON: %w", err)
	}
	return bytes.TrimSuffix(buf.Bytes(), []byte{'\n'}), nil
}

// appendText appends s as a JSON string. Nearly all codes and places are plain
// ASCII, which needs no encoder.
func appendText(b []byte, s string) []byte {
	for i := range len(s) {
		if c := s[i]; c < 0x20 || c > 0x7e || c == '"' || c == '\\' {
			raw, err := marshal(s)
			if err != nil { // a string always marshals
				panic(err)
			}
			return append(b, raw...)
		}
	}
	b = append(b, '"')
	b = append(b, s...)
	return append(b, '"')
}
