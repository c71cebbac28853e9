// Package fault holds the faults that a user can mend: what is wrong, where,
// and how to mend it. Errors of the machine or of the program are ordinary
// wrapped Go errors and never become faults.
package fault

import (
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// Kind classes a fault; the command line turns each kind into an exit code.
type Kind string

// The kinds of faults.
const (
	Invalid  Kind = "invalid"  // input has faults, nothing was written
	Usage    Kind = "usage"    // the command was called wrongly
	NotFound Kind = "notfound" // a named thing does not exist
	Refused  Kind = "refused"  // a rule of the book forbids it
	Conflict Kind = "conflict" // the book changed under the work
	Locked   Kind = "locked"   // another process holds the book
	Differs  Kind = "differs"  // a check found differences
)

// Where names the place of a fault in the user's own co-ordinates.
type Where struct {
	File   string `json:"file,omitempty"`
	Sheet  string `json:"sheet,omitempty"`
	Row    int    `json:"row,omitempty"`    // 1-based, as a spreadsheet shows it
	Column string `json:"column,omitempty"` // letters, "F"
	Header string `json:"header,omitempty"` // the column's header as written
	Field  string `json:"field,omitempty"`  // of the request: "cash_discount"
	Ref    string `json:"ref,omitempty"`    // a code of the book: "P12-3"
}

// String renders the place on one line; empty when nothing is known.
func (w Where) String() string {
	var parts []string
	if w.Field != "" {
		parts = append(parts, w.Field)
	}
	if w.File != "" {
		parts = append(parts, w.File)
	}
	if w.Sheet != "" {
		parts = append(parts, "sheet "+strconv.Quote(w.Sheet))
	}
	if w.Row > 0 {
		parts = append(parts, "row "+strconv.Itoa(w.Row))
	}
	switch {
	case w.Column != "" && w.Header != "":
		parts = append(parts, "column "+w.Column+" "+strconv.Quote(w.Header))
	case w.Column != "":
		parts = append(parts, "column "+w.Column)
	case w.Header != "":
		parts = append(parts, "column "+strconv.Quote(w.Header))
	}
	if w.Ref != "" {
		parts = append(parts, w.Ref)
	}
	return strings.Join(parts, ", ")
}

// Fault is one thing a user can mend. It is an error.
type Fault struct {
	Code    string `json:"code"` // stable, kebab case: "weight-negative"
	Kind    Kind   `json:"kind"`
	Warning bool   `json:"warning"` // a warning never blocks
	What    string `json:"what"`    // the rule and the value
	Where   Where  `json:"where"`
	Mend    string `json:"mend"` // an imperative
	// Action is what mends it, or shows how; nil: there is none.
	Action *Action `json:"action"`
}

// Action is something that a dealer does, by its noun and verb: the command line
// prints it as a command, a page as a link.
type Action struct {
	Noun string   `json:"noun"`
	Verb string   `json:"verb"`
	Args []string `json:"args"`
}

// New returns a fault of kind k.
func New(k Kind, code, what, mend string) *Fault {
	return &Fault{Code: code, Kind: k, What: what, Mend: mend}
}

// At returns a copy of f with the place w.
func (f *Fault) At(w Where) *Fault {
	g := *f
	g.Where = w
	return &g
}

// AtField returns a copy of f that also points at a field of the request.
// Fields are written with _ between words.
func (f *Fault) AtField(name string) *Fault {
	g := *f
	g.Where.Field = strings.ReplaceAll(name, "-", "_")
	return &g
}

// Do returns a copy of f that is mended by the action NOUN VERB.
func (f *Fault) Do(noun, verb string, args ...string) *Fault {
	g := *f
	g.Action = &Action{Noun: noun, Verb: verb, Args: append([]string{}, args...)}
	return &g
}

// AtRef returns a copy of f that also points at a code of the book.
func (f *Fault) AtRef(ref string) *Fault {
	g := *f
	g.Where.Ref = ref
	return &g
}

// AsWarning returns a copy of f that does not block.
func (f *Fault) AsWarning() *Fault {
	g := *f
	g.Warning = true
	return &g
}

// Error is the one-line form.
func (f *Fault) Error() string {
	if w := f.Where.String(); w != "" {
		return f.What + " (" + w + ")"
	}
	return f.What
}

// Form says how an edge of the program shows what a fault points at.
type Form struct {
	Field  func(name string) string // of the request, as the reader knows it
	Action func(a Action) string    // as the reader would start it
}

// Text renders the fault as a person reads it on a terminal.
func (f *Fault) Text(form Form) string {
	var b strings.Builder
	word := "error"
	if f.Warning {
		word = "warning"
	}
	fmt.Fprintf(&b, "%s: %s\n", word, f.What)
	where := f.Where
	if where.Field != "" && form.Field != nil {
		where.Field = form.Field(where.Field)
	}
	if w := where.String(); w != "" {
		fmt.Fprintf(&b, "  where: %s\n", w)
	}
	if f.Mend != "" {
		fmt.Fprintf(&b, "  mend:  %s", f.Mend)
		if f.Action != nil && form.Action != nil {
			if !strings.HasSuffix(f.Mend, "?") {
				b.WriteByte(':')
			}
			fmt.Fprintf(&b, " %s", form.Action(*f.Action))
		}
		if f.Code != "" {
			fmt.Fprintf(&b, "  [%s]", f.Code)
		}
		b.WriteByte('\n')
	}
	return b.String()
}

// JSON renders the fault as one line of JSON.
func (f *Fault) JSON() string {
	raw, err := json.Marshal(f)
	if err != nil { // a struct of strings and ints always marshals
		return f.What
	}
	return string(raw)
}

// List collects all faults of one piece of work.
type List []*Fault

// Add appends faults, skipping nil.
func (l *List) Add(faults ...*Fault) {
	for _, f := range faults {
		if f != nil {
			*l = append(*l, f)
		}
	}
}

// Blocks reports whether any fault of the list is an error.
func (l List) Blocks() bool {
	for _, f := range l {
		if !f.Warning {
			return true
		}
	}
	return false
}

// Err returns the list as an error when it blocks, else nil.
func (l List) Err() error {
	if l.Blocks() {
		return l
	}
	return nil
}

// Error is the one-line form: the first blocking fault and the count of the rest.
func (l List) Error() string {
	for _, f := range l {
		if !f.Warning {
			if n := len(l) - 1; n > 0 {
				return fmt.Sprintf("%s (and %d more)", f.Error(), n)
			}
			return f.Error()
		}
	}
	return "no faults"
}

// From returns the faults inside err: those of a List or a single Fault.
// ok is false when err is an ordinary error.
func From(err error) (l List, ok bool) {
	if errors.As(err, &l) {
		return l, true
	}
	var f *Fault
	if errors.As(err, &f) {
		return List{f}, true
	}
	return nil, false
}

// KindOf returns the kind that decides the exit code of err: the first
// blocking fault's; empty for ordinary errors and nil.
func KindOf(err error) Kind {
	l, ok := From(err)
	if !ok {
		return ""
	}
	for _, f := range l {
		if !f.Warning {
			return f.Kind
		}
	}
	return ""
}
