package main

import (
	"bytes"
	"context"
	"regexp"
	"strings"
	"testing"
	"time"

	"lotpaper/internal/cli"
	"lotpaper/internal/ui"
)

// help returns the help of a command.
func help(t *testing.T, words ...string) (text string, code int) {
	t.Helper()
	var out, errs bytes.Buffer
	code = cli.Main(context.Background(), append(words, "--help"),
		cli.Deps{Streams: &ui.Streams{In: strings.NewReader(""), Out: &out, Err: &errs}, Now: time.Now})
	return out.String() + errs.String(), code
}

var subcommand = regexp.MustCompile(`(?m)^  ([a-z]+) +\S`)

// everyHelp calls f with each command of the program and its help.
func everyHelp(t *testing.T, path []string, f func(path []string, text string)) {
	text, code := help(t, path...)
	if code != 0 {
		t.Fatalf("lotpaper %s --help: exit status %d", strings.Join(path, " "), code)
	}
	f(path, text)
	_, list, found := strings.Cut(text, "Available Commands:\n")
	if !found {
		return
	}
	list, _, _ = strings.Cut(list, "\n\n")
	for _, m := range subcommand.FindAllStringSubmatch(list, -1) {
		if m[1] != "help" {
			everyHelp(t, append(append([]string{}, path...), m[1]), f)
		}
	}
}

// TestHelp_Examples: every example in a help text names a command and flags
// that exist.
func TestHelp_Examples(t *testing.T) {
	seen := 0
	everyHelp(t, nil, func(path []string, text string) {
		for _, line := range strings.Split(text, "\n") {
			example, found := strings.CutPrefix(line, "  lotpaper ")
			if !found || strings.Contains(example, "[flags]") || strings.Contains(example, "[command]") ||
				strings.HasSuffix(text, line) {
				continue
			}
			example, _, _ = strings.Cut(example, "   ") // words beside the example
			seen++
			if out, code := help(t, split(example)...); code != 0 || !strings.Contains(out, "Usage:") {
				t.Errorf("the help of lotpaper %s shows %q: exit status %d, %s", strings.Join(path, " "),
					example, code, out)
			}
		}
	})
	if seen < 60 {
		t.Errorf("only %d examples were found", seen)
	}
}

// split divides a command line at blanks outside double quotes.
func split(line string) (words []string) {
	var word strings.Builder
	quoted := false
	for _, r := range line + " " {
		switch {
		case r == '"':
			quoted = !quoted
		case r == ' ' && !quoted:
			if word.Len() > 0 {
				words = append(words, word.String())
			}
			word.Reset()
		default:
			word.WriteRune(r)
		}
	}
	return words
}

// writing are the verbs that write to the book.
var writing = map[string]bool{"init": true, "set": true, "add": true, "import": true, "sort": true, "split": true,
	"merge": true, "adjust": true, "reverse": true, "out": true, "back": true,
	"sell": true, "buy": true, "return": true, "draft": true, "send": true, "receive": true, "propose": true,
	"ask": true, "bid": true}

// TestHelp_Writes: what writes to the book can be tried first, on any date, by
// anybody, with a reason.
func TestHelp_Writes(t *testing.T) {
	seen := 0
	everyHelp(t, nil, func(path []string, text string) {
		if len(path) == 0 || !writing[path[len(path)-1]] {
			return
		}
		seen++
		for _, flag := range []string{"--dry-run", "--date", "--who", "--reason"} {
			if !strings.Contains(text, "      "+flag+" ") {
				t.Errorf("lotpaper %s writes without %s", strings.Join(path, " "), flag)
			}
		}
	})
	if seen < 28 {
		t.Errorf("only %d writing commands were found", seen)
	}
}
