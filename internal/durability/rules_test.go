package durability

import (
	"fmt"
	"strings"
	"testing"
)

// numbered is a table of n rules that all hold for any stone without a known
// hardness; only the last is strict.
func numbered(n int) []rule {
	rules := make([]rule, n)
	for i := range rules {
		rules[i] = rule{id: fmt.Sprintf("rule-%d", i+1), hazard: hazards[0], part: PartSetting, level: Avoid - 1,
			when: []condition{{hardness, unknown}}}
	}
	rules[n-1].level = Avoid
	return rules
}

// The 257th rule counts like any other, up to the size of a rule book; one more
// is refused with the number, before anything is judged.
func TestCompile_ManyRules(t *testing.T) {
	for _, n := range []int{1, 256, 257, words * 64} {
		b, err := compile(numbered(n))
		if err != nil {
			t.Fatal(err)
		}
		var p profile
		p[hardness] = unknown
		fired := b.fired(&p, 0, attributes)
		count := 0
		fired.each(func(int) { count++ })
		if got := b.levels(fired).Setting; count != n || got != Avoid {
			t.Errorf("of %d rules %d fired, and the verdict is %s", n, count, got)
		}
	}
	if _, err := compile(numbered(words*64 + 1)); err == nil || !strings.Contains(err.Error(), fmt.Sprint(words*64)) {
		t.Errorf("%d rules: %v", words*64+1, err)
	}
}
