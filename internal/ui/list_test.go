package ui

import (
	"bytes"
	"testing"
)

// A list that is written item by item is the document that is written whole.
func TestList_AsDocument(t *testing.T) {
	type item struct {
		Name string   `json:"name"`
		Tags []string `json:"tags"`
		Note *string  `json:"note"`
	}
	for _, items := range [][]item{{}, {{Name: "<a>"}}, {{Name: "a", Tags: []string{"x", "y"}}, {Name: "b"}}} {
		var whole, piecemeal bytes.Buffer
		if err := (&Streams{Out: &whole}).Document("things", struct {
			Items []item `json:"items"`
		}{items}); err != nil {
			t.Fatal(err)
		}
		err := (&Streams{Out: &piecemeal}).List("things", "items", func(add func(Item) error) error {
			for _, i := range items {
				item, err := NewItem(i)
				if err != nil {
					return err
				}
				if err := add(item); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil || piecemeal.String() != whole.String() {
			t.Errorf("%v: %s, want %s", err, piecemeal.String(), whole.String())
		}
	}
}

func TestRows_AsTable(t *testing.T) {
	table := &Table{Header: []string{"a", "b"}, Rows: [][]string{{"1", "2"}, {"33", ""}}}
	for _, tty := range []bool{false, true} {
		var whole, piecemeal bytes.Buffer
		(&Streams{Out: &whole, OutTTY: tty}).Table(table)
		err := (&Streams{Out: &piecemeal, OutTTY: tty}).Rows(table.Header, func(add func(...string)) error {
			for _, r := range table.Rows {
				add(r...)
			}
			return nil
		})
		if err != nil || piecemeal.String() != whole.String() {
			t.Errorf("%v: %q, want %q", err, piecemeal.String(), whole.String())
		}
	}
}
