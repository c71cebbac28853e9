package cli

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"lotpaper/internal/fault"
	"lotpaper/internal/store"
)

func TestExitStatusOfEachKindOfFault(t *testing.T) {
	for kind, want := range map[fault.Kind]int{
		fault.Usage: 2, fault.Invalid: 3, fault.NotFound: 4, fault.Refused: 5, fault.Conflict: 5, fault.Locked: 5,
		fault.Differs: 6, "": 1,
	} {
		if got := exitOf(kind); got != want {
			t.Errorf("%q: exit %d, want %d", kind, got, want)
		}
	}
}

func TestExitStatus(t *testing.T) {
	p := newBook(t)
	bad := p.file("bad.csv", "lot,pieces\nA1,minus one\n")
	for _, c := range []struct {
		name  string
		args  []string
		code  int
		texts []string
	}{
		{"flag unknown", []string{"lot", "show", "--wat"}, 2, []string{"unknown flag: --wat",
			"see lotpaper lot show --help", "[usage]"}},
		{"verb unknown", []string{"lot", "fly"}, 2, []string{`unknown command "fly" for "lotpaper lot"`, "[usage]"}},
		{"noun unknown", []string{"lots"}, 2, []string{`unknown command "lots" for "lotpaper"`}},
		{"argument missing", []string{"backup"}, 2, []string{"accepts 1 arg(s), received 0"}},
		{"required flag missing", []string{"init"}, 2, []string{"--currency is missing", "where: --currency",
			"[flag-missing]"}},
		{"value of a flag", []string{"config", "set", "tax=20", "--date", "31.3."}, 2, []string{"where: --date"}},
		{"file with faults", []string{"parcel", "import", bad, "--vendor", "V", "--currency", "EUR"}, 3,
			[]string{"bad.csv", "mend:"}},
		{"not found", []string{"lot", "show", "Z9"}, 4, []string{"Z9"}},
		{"refused", []string{"init", "--currency", "EUR"}, 5, []string{"exists already", "where: --book",
			"[book-exists]"}},
	} {
		t.Run(c.name, func(t *testing.T) { wantFault(t, p.run(c.args...), c.code, c.texts...) })
	}
}

func TestExitStatus_ErrorOfTheMachine(t *testing.T) {
	p := newProgram(t)
	p.deps.Open = func(context.Context, string) (store.Store, error) { return nil, errDisk }
	r := p.run("stock", "list")
	wantFault(t, r, 1, "error: ", errDisk.Error())
	if strings.Contains(r.err, "mend:") {
		t.Errorf("an error of the machine must not be told as a fault that a user can mend:\n%s", r.err)
	}
}

func TestExitStatus_Interrupted(t *testing.T) {
	p := newBook(t)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	r := p.runContext(ctx, "stock", "list")
	if r.code != 130 || r.err != "interrupted\n" {
		t.Errorf("exit %d, stderr %q, want 130 and \"interrupted\"", r.code, r.err)
	}
}

// A field is shown as the command's flag, where it has one, and an action as
// the command that a person would type.
func TestForm(t *testing.T) {
	r := newRoot("lot", "show")
	cmd, _, err := r.command().Find(r.args)
	if err != nil {
		t.Fatal(err)
	}
	r.running = cmd
	form := r.form()
	for field, want := range map[string]string{"dry_run": "dry_run", "json": "--json", "no_color": "--no-color",
		"book": "--book", "pieces": "pieces"} {
		if got := form.Field(field); got != want {
			t.Errorf("field %s is shown as %s, want %s", field, got, want)
		}
	}
	for _, c := range []struct {
		action fault.Action
		want   string
	}{
		{fault.Action{Noun: "rates", Verb: "import"}, "lotpaper rates import"},
		{fault.Action{Noun: "identify"}, "lotpaper identify"},
		{fault.Action{Noun: "lot", Verb: "show", Args: []string{"A1"}}, "lotpaper lot show A1"},
		{fault.Action{Noun: "line", Verb: "price", Args: []string{"Deep Sea"}}, `lotpaper line price "Deep Sea"`},
		{fault.Action{Noun: "line", Verb: "price", Args: []string{"$100"}}, `lotpaper line price "$100"`},
	} {
		if got := form.Action(c.action); got != c.want {
			t.Errorf("action is shown as %s, want %s", got, c.want)
		}
	}
}

func TestFaults_AsJSONLines(t *testing.T) {
	p := newBook(t)
	r := p.run("parcel", "import", p.file("bad.csv", "lot,pieces\nA1,minus one\nA2,x\n"), "--vendor", "V",
		"--currency", "EUR", "--json")
	wantFault(t, r, 3)
	n := 0
	for lines := bufio.NewScanner(strings.NewReader(r.err)); lines.Scan(); n++ {
		var f fault.Fault
		if err := json.Unmarshal(lines.Bytes(), &f); err != nil || f.Code == "" || f.What == "" {
			t.Errorf("not one fault in JSON: %v: %s", err, lines.Text())
		}
	}
	if n < 2 {
		t.Errorf("%d faults, want all of the file", n)
	}
	r = p.run("config", "set", "tax=20", "--date", "31.3.", "--json")
	wantFault(t, r, 2, `"field":"date"`, `"kind":"usage"`)
}

// Twenty faults are told, the rest is counted.
func TestFaults_ManyAreCounted(t *testing.T) {
	rows := "lot,pieces\n"
	for i := range 30 {
		rows += fmt.Sprintf("A%d,x\n", i)
	}
	p := newBook(t)
	r := p.run("parcel", "import", p.file("bad.csv", rows), "--vendor", "V", "--currency", "EUR")
	wantFault(t, r, 3, "more; see all with --json")
	if n := strings.Count(r.err, "error: ") + strings.Count(r.err, "warning: "); n != 20 {
		t.Errorf("%d faults are told, want 20", n)
	}
}

func TestVersionAndHelp(t *testing.T) {
	p := newProgram(t)
	if out := p.must("--version"); !strings.HasPrefix(out, "lotpaper ") || strings.Count(out, "\n") != 1 {
		t.Errorf("--version answers %q", out)
	}
	for _, c := range []struct {
		args  []string
		texts []string
	}{
		{nil, []string{"lotpaper demo", "EXIT STATUS", "lot "}},
		{[]string{"lot"}, []string{"lotpaper lot [command]", "show", "split"}},
		{[]string{"lot", "show", "--help"}, []string{"lotpaper lot show", "EXIT STATUS", "--json"}},
		{[]string{"lot", "split", "--help"}, []string{"--dry-run", "--date", "--who", "--reason"}},
	} {
		out := p.must(c.args...)
		for _, text := range c.texts {
			if !strings.Contains(out, text) {
				t.Errorf("the help of %q lacks %q:\n%s", c.args, text, out)
			}
		}
	}
}

// Every noun of the program says what it is for, and every verb of it too.
func TestHelp_OfEveryCommand(t *testing.T) {
	for _, noun := range newRoot().command().Commands() {
		for _, c := range newRoot(noun.Name()).command().Commands() {
			if c.Name() != noun.Name() {
				continue
			}
			for _, v := range append(c.Commands(), c) {
				if v.Short == "" || strings.HasSuffix(v.Short, ".") {
					t.Errorf("%s: the short help is %q, want a line without a full stop", v.CommandPath(), v.Short)
				}
			}
		}
	}
}
