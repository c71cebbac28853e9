package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// schema is the part of JSON Schema (draft 2020-12) that the program's own
// schemas use. A keyword that is not here makes the schema unreadable, so that
// none is written and then not looked at.
type schema struct {
	ID                   string             `json:"$id,omitempty"`
	Draft                string             `json:"$schema,omitempty"`
	Description          string             `json:"description,omitempty"`
	Ref                  string             `json:"$ref,omitempty"`
	Defs                 map[string]*schema `json:"$defs,omitempty"`
	Type                 any                `json:"type,omitempty"` // a word or a list of words
	Const                any                `json:"const,omitempty"`
	Enum                 []any              `json:"enum,omitempty"`
	Pattern              string             `json:"pattern,omitempty"`
	Required             []string           `json:"required,omitempty"`
	Properties           map[string]*schema `json:"properties,omitempty"`
	AdditionalProperties any                `json:"additionalProperties,omitempty"` // false, or a schema
	Items                *schema            `json:"items,omitempty"`
}

func readSchema(path string) (*schema, error) {
	raw, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	s := &schema{}
	d := json.NewDecoder(bytes.NewReader(raw))
	d.DisallowUnknownFields()
	if err := d.Decode(s); err != nil {
		return nil, fmt.Errorf("%s: %w", filepath.Base(path), err)
	}
	return s, s.check(s, "")
}

// check reads what a schema leaves open to any value.
func (s *schema) check(top *schema, at string) error {
	if extra, ok := s.AdditionalProperties.(map[string]any); ok {
		raw, err := json.Marshal(extra)
		if err != nil {
			return err
		}
		sub := &schema{}
		if err := json.Unmarshal(raw, sub); err != nil {
			return fmt.Errorf("%s: %w", at, err)
		}
		s.AdditionalProperties = sub
		if err := sub.check(top, at+".*"); err != nil {
			return err
		}
	}
	for _, name := range s.Required {
		if s.Properties[name] == nil {
			return fmt.Errorf("%s: %q is required but not described", at, name)
		}
	}
	if s.Ref != "" && top.Defs[strings.TrimPrefix(s.Ref, "#/$defs/")] == nil {
		return fmt.Errorf("%s: %s leads nowhere", at, s.Ref)
	}
	for name, p := range s.Properties {
		if err := p.check(top, at+"."+name); err != nil {
			return err
		}
	}
	for name, p := range s.Defs {
		if err := p.check(top, at+".$defs."+name); err != nil {
			return err
		}
	}
	if s.Items != nil {
		return s.Items.check(top, at+"[]")
	}
	return nil
}

// validate returns what is wrong with v, each with its place.
func (s *schema) validate(top *schema, v any, at string) (wrong []string) {
	bad := func(format string, args ...any) {
		wrong = append(wrong, at+": "+fmt.Sprintf(format, args...))
	}
	if s.Ref != "" {
		return top.Defs[strings.TrimPrefix(s.Ref, "#/$defs/")].validate(top, v, at)
	}
	if types := words(s.Type); len(types) > 0 && !slices.ContainsFunc(types,
		func(t string) bool { return isType(v, t) }) {
		bad("is %s, not %s", show(v), strings.Join(types, " or "))
		return wrong
	}
	if s.Const != nil && s.Const != v {
		bad("is %s, not %s", show(v), show(s.Const))
	}
	if len(s.Enum) > 0 && !slices.Contains(s.Enum, v) {
		bad("is %s, which is none of %s", show(v), show(s.Enum))
	}
	if text, ok := v.(string); ok && s.Pattern != "" && !regexp.MustCompile(s.Pattern).MatchString(text) {
		bad("is %s, which does not match %s", show(v), s.Pattern)
	}
	switch v := v.(type) {
	case map[string]any:
		for _, name := range s.Required {
			if _, ok := v[name]; !ok {
				bad("%q is missing", name)
			}
		}
		for _, name := range slices.Sorted(maps.Keys(v)) {
			switch p := s.Properties[name]; {
			case p != nil:
				wrong = append(wrong, p.validate(top, v[name], at+"."+name)...)
			case s.AdditionalProperties == false:
				bad("%q is not described", name)
			default:
				if extra, ok := s.AdditionalProperties.(*schema); ok {
					wrong = append(wrong, extra.validate(top, v[name], at+"."+name)...)
				}
			}
		}
	case []any:
		for i, item := range v {
			if s.Items != nil {
				wrong = append(wrong, s.Items.validate(top, item, fmt.Sprintf("%s[%d]", at, i))...)
			}
		}
	}
	return wrong
}

func words(t any) []string {
	switch t := t.(type) {
	case string:
		return []string{t}
	case []any:
		var out []string
		for _, w := range t {
			out = append(out, fmt.Sprint(w))
		}
		return out
	}
	return nil
}

func isType(v any, t string) bool {
	switch v := v.(type) {
	case nil:
		return t == "null"
	case bool:
		return t == "boolean"
	case string:
		return t == "string"
	case []any:
		return t == "array"
	case map[string]any:
		return t == "object"
	case float64:
		return t == "number" || t == "integer" && v == float64(int64(v))
	}
	return false
}

func show(v any) string {
	raw, err := json.Marshal(v)
	if err != nil || len(raw) > 80 {
		return fmt.Sprintf("a %T", v)
	}
	return string(raw)
}

// jsonschema NAME: stdout of the last command is one JSON document that calls
// itself lotpaper/NAME/1 and keeps schema/json/NAME.json.
func schemaCommand(ts *testscript.TestScript, neg bool, args []string) {
	want(ts, neg, args, 1, "jsonschema NAME")
	s, err := readSchema(filepath.Join(ts.Getenv("SCHEMAS"), args[0]+".json"))
	ts.Check(err)
	var v any
	if err := json.Unmarshal([]byte(ts.ReadFile("stdout")), &v); err != nil {
		ts.Fatalf("stdout is no JSON document: %v", err)
	}
	if doc, ok := v.(map[string]any); !ok || doc["schema"] != "lotpaper/"+args[0]+"/1" {
		ts.Fatalf("the document does not call itself lotpaper/%s/1", args[0])
	}
	if wrong := s.validate(s, v, "$"); len(wrong) > 0 {
		ts.Fatalf("not a lotpaper/%s/1:\n%s", args[0], strings.Join(wrong, "\n"))
	}
}

// faults N: stderr of the last command, which ran with --json, is N faults as
// JSON lines; warnings do not count.
func faultsCommand(ts *testscript.TestScript, neg bool, args []string) {
	want(ts, neg, args, 1, "faults N")
	s, err := readSchema(filepath.Join(ts.Getenv("SCHEMAS"), "fault.json"))
	ts.Check(err)
	n := 0
	for _, line := range strings.Split(strings.TrimSpace(ts.ReadFile("stderr")), "\n") {
		var v map[string]any
		if err := json.Unmarshal([]byte(line), &v); err != nil {
			ts.Fatalf("stderr holds a line that is no JSON: %q", line)
		}
		if wrong := s.validate(s, v, "$"); len(wrong) > 0 {
			ts.Fatalf("not a fault:\n%s", strings.Join(wrong, "\n"))
		}
		if v["warning"] == false {
			n++
		}
	}
	if fmt.Sprint(n) != args[0] {
		ts.Fatalf("%d faults, want %s", n, args[0])
	}
}

// TestSchemas: every schema reads, names itself, is met by a script, and every
// document that the command line prints has one.
func TestSchemas(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(root, "schema", "json", "*.json"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no schemas: %v", err)
	}
	scripts, err := filepath.Glob(filepath.Join(root, "testdata", "script", "*.txtar"))
	if err != nil {
		t.Fatal(err)
	}
	used := map[string]bool{"fault": true}
	for _, name := range scripts {
		raw, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range regexp.MustCompile(`(?m)^jsonschema (\S+)`).FindAllStringSubmatch(string(raw), -1) {
			used[m[1]] = true
		}
	}
	have := map[string]bool{}
	for _, file := range files {
		name := strings.TrimSuffix(filepath.Base(file), ".json")
		have[name] = true
		s, err := readSchema(file)
		if err != nil {
			t.Error(err)
			continue
		}
		if !used[name] {
			t.Errorf("no script holds a document against %s", name)
		}
		if name == "fault" {
			continue
		}
		if p := s.Properties["schema"]; p == nil || p.Const != "lotpaper/"+name+"/1" ||
			!slices.Contains(s.Required, "schema") {
			t.Errorf("%s does not require its own name", name)
		}
	}
	sources, err := filepath.Glob(filepath.Join(root, "internal", "cli", "*.go"))
	if err != nil || len(sources) == 0 {
		t.Fatalf("no sources: %v", err)
	}
	for _, source := range sources {
		raw, err := os.ReadFile(source)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range regexp.MustCompile(`(?:Document|imported|show|list|wroteBook|listStock)\((?:ctx, a, )?"([a-z-]+)"[,)]`).
			FindAllStringSubmatch(string(raw), -1) {
			if !have[m[1]] {
				t.Errorf("%s prints lotpaper/%s/1, which has no schema", filepath.Base(source), m[1])
			}
		}
	}
}

// TestSchema_Validate: the validator finds each kind of wrong.
func TestSchema_Validate(t *testing.T) {
	var s schema
	if err := json.Unmarshal([]byte(`{"type":"object","required":["n","rows"],"additionalProperties":false,
		"properties":{"n":{"type":"integer"},"word":{"enum":["a","b"]},"rows":{"type":"array","items":{"$ref":"#/$defs/row"}}},
		"$defs":{"row":{"type":"object","required":["ct"],"properties":{"ct":{"type":["string","null"],"pattern":"^[0-9]+\\.[0-9]{3}$"}}}}}`), &s); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ doc, wrong string }{
		{`{"n":1,"rows":[{"ct":"1.234"},{"ct":null}],"word":"b"}`, ""},
		{`{"n":1.5,"rows":[]}`, "$.n: is 1.5, not integer"},
		{`{"rows":[]}`, `$: "n" is missing`},
		{`{"n":1,"rows":[],"x":0}`, `$: "x" is not described`},
		{`{"n":1,"rows":[],"word":"c"}`, `$.word: is "c", which is none of ["a","b"]`},
		{`{"n":1,"rows":[{"ct":1.234}]}`, "$.rows[0].ct: is 1.234, not string or null"},
		{`{"n":1,"rows":[{"ct":"1.2"}]}`, `$.rows[0].ct: is "1.2", which does not match ^[0-9]+\.[0-9]{3}$`},
		{`{"n":1,"rows":null}`, "$.rows: is null, not array"},
	} {
		var v any
		if err := json.Unmarshal([]byte(c.doc), &v); err != nil {
			t.Fatal(err)
		}
		if got := strings.Join(s.validate(&s, v, "$"), "; "); got != c.wrong {
			t.Errorf("%s: %q, want %q", c.doc, got, c.wrong)
		}
	}
}
