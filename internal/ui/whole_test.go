package ui

import (
	"bytes"
	"encoding/json"
	"testing"
	"time"
)

type wholeInner struct {
	Word string `json:"word,omitempty"`
	Both string `json:"both"`
}

type wholeOuter struct {
	wholeInner
	Both    int               `json:"both"`
	List    []string          `json:"list,omitempty"`
	Nil     []int             `json:"nil"`
	Map     map[string]any    `json:"map,omitempty"`
	Flag    bool              `json:"flag,omitempty"`
	Count   int               `json:"count,omitempty"`
	Pointer *wholeInner       `json:"pointer,omitempty"`
	Named   wholeInner        `json:"named"`
	When    time.Time         `json:"when"`
	Raw     json.RawMessage   `json:"raw"`
	Keys    map[string]string `json:"keys"`
	Hidden  string            `json:"-"`
	secret  string
}

func TestWhole(t *testing.T) {
	at := time.Date(2026, 3, 31, 12, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		in   wholeOuter
		want string
	}{
		{wholeOuter{When: at, Raw: json.RawMessage("7"), secret: "x"},
			`{"word":null,"both":0,"list":[],"nil":[],"map":{},"flag":false,"count":null,"pointer":null,"named":{"word":null,"both":""},"when":"2026-03-31T12:00:00Z","raw":7,"keys":{}}`},
		{wholeOuter{wholeInner: wholeInner{Word: "w\"<", Both: "inner"}, Both: 3, List: []string{"a"}, Nil: []int{1, 2},
			Map: map[string]any{"b": 1, "a": nil}, Flag: true, Count: 4,
			Pointer: &wholeInner{Word: "p"}, Hidden: "h", When: at, Raw: json.RawMessage("null"),
			Keys: map[string]string{"z": "1", "y": "2"}},
			`{"word":"w\"\u003c","both":3,"list":["a"],"nil":[1,2],"map":{"a":null,"b":1},"flag":true,"count":4,"pointer":{"word":"p","both":""},"named":{"word":null,"both":""},"when":"2026-03-31T12:00:00Z","raw":null,"keys":{"y":"2","z":"1"}}`},
	} {
		got, err := whole(c.in)
		if err != nil || !json.Valid(got) || string(got) != c.want {
			t.Errorf("got  %s (%v)\nwant %s", got, err, c.want)
		}
	}
}

// A value without omitempty and without nil lists is what encoding/json makes of it.
func TestWhole_AsEncodingJSON(t *testing.T) {
	type row struct {
		A int               `json:"a"`
		B []float64         `json:"b"`
		C map[int]string    `json:"c"`
		D *string           `json:"d"`
		E any               `json:"e"`
		F [2]bool           `json:"f"`
		G struct{ X int8 }  `json:"g"`
		H []byte            `json:"h"`
		I map[string]*int64 `json:"i"`
		J string
	}
	text, n := "é\n", int64(-5)
	v := []row{{1, []float64{0.1, 1e30}, map[int]string{2: "b", 1: "a"}, &text, map[string]any{"k": []any{1, "x", nil}},
		[2]bool{true}, struct{ X int8 }{3}, []byte("ab"), map[string]*int64{"n": &n, "o": nil}, "j"}}
	want, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := whole(v); err != nil || string(got) != string(want) {
		t.Errorf("got  %s (%v)\nwant %s", got, err, want)
	}
}

// The laid-out document is what json.Indent makes of the plain one, whatever
// stands in it: what prints itself, nothing, and text that JSON must escape.
func TestWholeIndented_AsIndent(t *testing.T) {
	texts := []string{"", "plain", "1.660 ± 0.0018", "q\" b\\ <a> & \u2028\u2029 \x00\x1f\x7f", "broken \xff utf-8",
		"\ufffd", "漢字 🜚"}
	for _, prefix := range []string{"", "    "} {
		for _, v := range []any{
			texts, struct{}{}, map[string]int{}, [][]int{{}, {1, -2}, nil}, wholeOuter{}, &wholeOuter{List: texts,
				Map: map[string]any{"a<b": []any{1.5, nil, true}}},
			json.RawMessage(`{"a":[1,{"b":[]}],"c":{}}`), []any{json.RawMessage(`[1,[]]`), json.Number("12"),
				[]byte("ab"), uint(7), 1e-9, -0.5}, time.Time{},
		} {
			plain, err := whole(v)
			if err != nil {
				t.Fatal(err)
			}
			var want bytes.Buffer
			if err := json.Indent(&want, plain, prefix, "  "); err != nil {
				t.Fatalf("%s: %v", plain, err)
			}
			if got, err := wholeIndented(v, prefix); err != nil || string(got) != want.String() {
				t.Errorf("got  %s (%v)\nwant %s", got, err, want.String())
			}
		}
	}
	want, _ := json.Marshal(texts)
	if got, _ := whole(texts); string(got) != string(want) {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

// A document of many texts costs the growth of its buffer and no more:
// 100,000 identified stones hold some 150 million of them.
func TestNewItem_Allocations(t *testing.T) {
	type line struct {
		Species string `json:"species"`
		Reason  string `json:"reason"`
	}
	lines := make([]line, 1000)
	for i := range lines {
		lines[i] = line{"quartz",
			"specific gravity 3.180 ± 0.020 lies 26.5 standard uncertainties outside 2.64 to 2.66"}
	}
	if n := testing.AllocsPerRun(10, func() { _, _ = NewItem(lines) }); n > 60 {
		t.Errorf("%v allocations for 2,000 texts", n)
	}
}

// whole is the document on one line.
func whole(v any) ([]byte, error) {
	laid, err := wholeIndented(v, "")
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	err = json.Compact(&b, laid)
	return b.Bytes(), err
}
