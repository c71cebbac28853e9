package cli

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"lotpaper/internal/answer"
)

// The JSON form is the very model that the text is printed from, its files are
// those in the folder, and the README shows parts of its text, word for word.
func TestDemo(t *testing.T) {
	p := newProgram(t)
	dir := filepath.Join(p.dir, "sea")
	var d answer.Demo
	readJSON(t, p.must("demo", dir, "--json"), &d)
	if d.Folder != dir || len(d.Check.Differences) > 0 || d.Check.Entries == 0 {
		t.Errorf("folder %s, check %+v", d.Folder, d.Check)
	}
	for _, f := range d.Files {
		if _, err := os.Stat(filepath.Join(dir, filepath.FromSlash(f.Name))); err != nil {
			t.Error(err)
		}
	}
	var out strings.Builder
	for _, part := range d.Screen() {
		out.WriteString(part.Text)
	}
	readmeShows(t, out.String())
	wantFault(t, p.run("demo", dir), 5, "exists already", "[demo-exists]")
	wantFault(t, p.run("demo", filepath.Join(p.dir, "nowhere", "sea")), 4, "does not exist", "[demo-parent]")
}

// readmeShows holds the parts of the README to what the demo prints.
func readmeShows(t *testing.T, out string) {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join("..", "..", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	_, part, _ := strings.Cut(string(raw), "## What the demo prints")
	parts := strings.Split(part, "```\n")
	if len(parts) < 2 {
		t.Fatal("the README does not show what the demo prints")
	}
	shown := 0
	for _, section := range strings.Split(parts[1], "\n\n") {
		for _, point := range strings.Split(section, "\n- ") {
			point = strings.TrimSpace(point)
			if strings.HasSuffix(point, "...") {
				continue // the names of sections that the README leaves out
			}
			if shown++; !strings.Contains(out, point) {
				t.Errorf("the demo does not print:\n%s", point)
			}
		}
	}
	if shown < 5 {
		t.Errorf("the README shows %d parts, want at least 5", shown)
	}
}
