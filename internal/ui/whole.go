package ui

import (
	"bytes"
	"encoding"
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode/utf8"
)

// wholeIndented marshals v as encoding/json does, except that nothing is left
// out: a field marked omitempty is null when it has no value (false, [] or {}
// for flags, lists and maps), and a list that is nil is []. So a program that
// reads the document finds every name in it, and unknown is null. It is laid out
// as json.Indent lays it out: two spaces a level, each new line after prefix.
func wholeIndented(v any, prefix string) ([]byte, error) {
	return document{line: "\n" + prefix}.encode(v)
}

// document is JSON while it is written.
type document struct {
	b     []byte
	line  string // a new line and the prefix before its indent
	depth int
}

func (d document) encode(v any) ([]byte, error) {
	err := d.value(reflect.ValueOf(v))
	return d.b, err
}

var (
	marshaler     = reflect.TypeFor[json.Marshaler]()
	textMarshaler = reflect.TypeFor[encoding.TextMarshaler]()
	jsonNumber    = reflect.TypeFor[json.Number]()
)

// open begins a list or an object, item separates its items, close ends it.
func (d *document) open(bracket byte) {
	d.b = append(d.b, bracket)
	d.depth++
}

func (d *document) item(i int) {
	if i > 0 {
		d.b = append(d.b, ',')
	}
	d.newLine()
}

func (d *document) close(bracket byte, items int) {
	d.depth--
	if items > 0 {
		d.newLine()
	}
	d.b = append(d.b, bracket)
}

func (d *document) newLine() {
	d.b = append(d.b, d.line...)
	for range d.depth {
		d.b = append(d.b, ' ', ' ')
	}
}

// name is a name in quotes, and its colon.
func (d *document) name(quoted string) {
	d.b = append(append(d.b, quoted...), ':', ' ')
}

func (d *document) value(v reflect.Value) error {
	if !v.IsValid() {
		d.b = append(d.b, "null"...)
		return nil
	}
	k, t := v.Kind(), v.Type()
	switch {
	case (k == reflect.Pointer || k == reflect.Interface) && v.IsNil():
		d.b = append(d.b, "null"...)
		return nil
	case t.NumMethod() > 0 && (t.Implements(marshaler) || t.Implements(textMarshaler)):
		return d.plain(v)
	}
	switch k {
	case reflect.Pointer, reflect.Interface:
		return d.value(v.Elem())
	case reflect.Struct:
		return d.object(v)
	case reflect.Map:
		return d.mapping(v)
	case reflect.Slice, reflect.Array:
		if k == reflect.Slice && t.Elem().Kind() == reflect.Uint8 {
			return d.plain(v)
		}
		d.open('[')
		for i := range v.Len() {
			d.item(i)
			if err := d.value(v.Index(i)); err != nil {
				return err
			}
		}
		d.close(']', v.Len())
		return nil
	case reflect.String:
		if s := v.String(); t != jsonNumber && bare(s) {
			d.b = append(append(append(d.b, '"'), s...), '"')
			return nil
		}
	case reflect.Bool:
		d.b = strconv.AppendBool(d.b, v.Bool())
		return nil
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		d.b = strconv.AppendInt(d.b, v.Int(), 10)
		return nil
	}
	return d.plain(v)
}

// bare reports whether a text stands in JSON as it is.
func bare(s string) bool {
	for _, r := range s { // what is not UTF-8 comes as RuneError
		switch {
		case r < ' ', r == '"', r == '\\', r == '<', r == '>', r == '&', r == 0x7f, r == '\u2028', r == '\u2029',
			r == utf8.RuneError:
			return false
		}
	}
	return true
}

// plain is what encoding/json makes of a value.
func (d *document) plain(v reflect.Value) error {
	raw, err := json.Marshal(v.Interface())
	if err != nil {
		return err
	}
	if len(raw) > 0 && (raw[0] == '{' || raw[0] == '[') {
		var b bytes.Buffer
		if err := json.Indent(&b, raw, d.line[1:]+strings.Repeat("  ", d.depth), "  "); err != nil {
			return err
		}
		raw = b.Bytes()
	}
	d.b = append(d.b, raw...)
	return nil
}

func (d *document) object(v reflect.Value) error {
	fields := fieldsOf(v.Type())
	d.open('{')
	for i := range fields {
		f := &fields[i]
		d.item(i)
		d.name(f.quoted)
		value, err := v.FieldByIndexErr(f.index)
		if err != nil || f.omitempty && unset(value) { // through an embedded pointer that is nil, or without a value
			d.b = append(d.b, "null"...)
			continue
		}
		if err := d.value(value); err != nil {
			return err
		}
	}
	d.close('}', len(fields))
	return nil
}

// unset reports whether a value that may be left out has none. Flags, lists and
// maps always have one.
func unset(v reflect.Value) bool {
	switch v.Kind() {
	case reflect.Bool, reflect.Slice, reflect.Map, reflect.Array, reflect.Struct:
		return false
	}
	return v.IsZero()
}

func (d *document) mapping(v reflect.Value) error {
	type pair struct {
		name  string
		value reflect.Value
	}
	var pairs []pair
	for it := v.MapRange(); it.Next(); {
		name := fmt.Sprint(it.Key().Interface())
		if t, ok := it.Key().Interface().(encoding.TextMarshaler); ok {
			raw, err := t.MarshalText()
			if err != nil {
				return err
			}
			name = string(raw)
		}
		pairs = append(pairs, pair{name, it.Value()})
	}
	slices.SortFunc(pairs, func(x, y pair) int { return strings.Compare(x.name, y.name) })
	d.open('{')
	for i, p := range pairs {
		d.item(i)
		raw, err := json.Marshal(p.name)
		if err != nil {
			return err
		}
		d.name(string(raw))
		if err := d.value(p.value); err != nil {
			return err
		}
	}
	d.close('}', len(pairs))
	return nil
}

type wholeField struct {
	name      string
	quoted    string // the name as it stands in the document
	index     []int
	omitempty bool
}

var wholeFields sync.Map // reflect.Type -> []wholeField

// fieldsOf lists the fields of a struct as encoding/json names them. Of two
// fields of one name the one that is less deeply embedded counts.
func fieldsOf(t reflect.Type) []wholeField {
	if known, ok := wholeFields.Load(t); ok {
		return known.([]wholeField)
	}
	var out []wholeField
	for _, f := range reflect.VisibleFields(t) {
		name, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		embedded := f.Anonymous && name == "" && f.Type.Kind() == reflect.Struct && !f.Type.Implements(marshaler) &&
			!f.Type.Implements(textMarshaler)
		if !f.IsExported() || embedded || f.Tag.Get("json") == "-" || hidden(t, f.Index) {
			continue
		}
		if name == "" {
			name = f.Name
		}
		field := wholeField{name, strconv.Quote(name), f.Index, slices.Contains(strings.Split(options, ","),
			"omitempty") || slices.Contains(strings.Split(options, ","), "omitzero")}
		if i := slices.IndexFunc(out, func(o wholeField) bool { return o.name == name }); i >= 0 {
			if len(f.Index) < len(out[i].index) {
				out[i] = field
			}
			continue
		}
		out = append(out, field)
	}
	wholeFields.Store(t, out)
	return out
}

// hidden reports whether a promoted field lies in an embedded struct that has a
// name of its own in JSON, prints itself or is left out: it is then printed
// there or not at all.
func hidden(t reflect.Type, index []int) bool {
	for i := range len(index) - 1 {
		f := t.FieldByIndex(index[:i+1])
		tag := f.Tag.Get("json")
		if tag != "" && tag[0] != ',' || f.Type.Implements(marshaler) || f.Type.Implements(textMarshaler) {
			return true
		}
	}
	return false
}
