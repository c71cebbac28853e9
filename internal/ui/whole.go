package ui

import (
	"bytes"
	"encoding"
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"sync"
)

// whole marshals v as encoding/json does, except that nothing is left out: a
// field marked omitempty is null when it has no value (false, [] or {} for
// flags, lists and maps), and a list that is nil is []. So a program that reads
// the document finds every name in it, and unknown is null.
func whole(v any) ([]byte, error) {
	var b bytes.Buffer
	err := writeWhole(&b, reflect.ValueOf(v))
	return b.Bytes(), err
}

var (
	marshaler     = reflect.TypeFor[json.Marshaler]()
	textMarshaler = reflect.TypeFor[encoding.TextMarshaler]()
)

func writeWhole(b *bytes.Buffer, v reflect.Value) error {
	if !v.IsValid() {
		b.WriteString("null")
		return nil
	}
	switch k := v.Kind(); {
	case (k == reflect.Pointer || k == reflect.Interface) && v.IsNil():
		b.WriteString("null")
		return nil
	case v.Type().Implements(marshaler) || v.Type().Implements(textMarshaler):
		return writePlain(b, v)
	case k == reflect.Pointer || k == reflect.Interface:
		return writeWhole(b, v.Elem())
	case k == reflect.Struct:
		return writeStruct(b, v)
	case k == reflect.Map:
		return writeMap(b, v)
	case k == reflect.Slice && v.Type().Elem().Kind() == reflect.Uint8:
		return writePlain(b, v)
	case k == reflect.Slice || k == reflect.Array:
		b.WriteByte('[')
		for i := range v.Len() {
			if i > 0 {
				b.WriteByte(',')
			}
			if err := writeWhole(b, v.Index(i)); err != nil {
				return err
			}
		}
		b.WriteByte(']')
		return nil
	}
	return writePlain(b, v)
}

func writePlain(b *bytes.Buffer, v reflect.Value) error {
	raw, err := json.Marshal(v.Interface())
	b.Write(raw)
	return err
}

func writeStruct(b *bytes.Buffer, v reflect.Value) error {
	b.WriteByte('{')
	for i, f := range fieldsOf(v.Type()) {
		if i > 0 {
			b.WriteByte(',')
		}
		fmt.Fprintf(b, "%q:", f.name)
		value, err := v.FieldByIndexErr(f.index)
		if err != nil { // through an embedded pointer that is nil
			b.WriteString("null")
			continue
		}
		if f.omitempty && unset(value) {
			b.WriteString("null")
			continue
		}
		if err := writeWhole(b, value); err != nil {
			return err
		}
	}
	b.WriteByte('}')
	return nil
}

// unset tells whether a value that may be left out has none. Flags, lists and
// maps always have one.
func unset(v reflect.Value) bool {
	switch v.Kind() {
	case reflect.Bool, reflect.Slice, reflect.Map, reflect.Array, reflect.Struct:
		return false
	}
	return v.IsZero()
}

func writeMap(b *bytes.Buffer, v reflect.Value) error {
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
	b.WriteByte('{')
	for i, p := range pairs {
		if i > 0 {
			b.WriteByte(',')
		}
		raw, err := json.Marshal(p.name)
		if err != nil {
			return err
		}
		b.Write(raw)
		b.WriteByte(':')
		if err := writeWhole(b, p.value); err != nil {
			return err
		}
	}
	b.WriteByte('}')
	return nil
}

type wholeField struct {
	name      string
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
		embedded := f.Anonymous && name == "" && f.Type.Kind() == reflect.Struct && !f.Type.Implements(marshaler) && !f.Type.Implements(textMarshaler)
		if !f.IsExported() || embedded || f.Tag.Get("json") == "-" || hidden(t, f.Index) {
			continue
		}
		if name == "" {
			name = f.Name
		}
		field := wholeField{name, f.Index, slices.Contains(strings.Split(options, ","), "omitempty") || slices.Contains(strings.Split(options, ","), "omitzero")}
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

// hidden tells whether a promoted field lies in an embedded struct that has a
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
