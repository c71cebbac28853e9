package identify

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"lotpaper/internal/facts"
	"lotpaper/internal/testkit/vectors"
)

// Published cases of what a loupe showed: each sign makes what the stone was
// published as likelier than the other readings alone do, unless the row says why
// it cannot, and none is established wrongly.
func TestSigns_PublishedLoupeCases(t *testing.T) {
	table := signed(t)
	split := func(s string) []string {
		return slices.DeleteFunc(strings.Split(s, ";"), func(s string) bool { return s == "" })
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%-4s %-11s %-50s %s\n", "case", "verdict", "leading", "published as")
	cases := vectors.Read(t, "identify/loupe_cases.csv")
	if len(cases) < 15 {
		t.Errorf("%d cases", len(cases))
	}
	for _, m := range cases {
		var is []*facts.Material
		for _, x := range table.Materials {
			if named(x, m["expected"]) {
				is = append(is, x)
			}
		}
		o := caseOf(t, m)
		o.Thermal, o.Look.Transparency = m["thermal"], m["transparency"]
		before := Stone(table, &o, &Settings{})
		o.Features, o.Look.Signs = split(m["features"]), split(m["looks"])
		if faults := o.Validate(); len(faults) > 0 {
			t.Errorf("%s: %v", m["case"], faults)
		}
		if faults := table.UnknownSigns(&o); len(faults) > 0 {
			t.Errorf("%s: %v", m["case"], faults)
		}
		v := Stone(table, &o, &Settings{})
		was, share := before.Share(is), v.Share(is)
		if len(is) > 0 && m["no_sign"] == "" && was < 0.9 && share < 1.2*was {
			t.Errorf("%s: %s has a share of %.3f, %.3f with %s%s", m["case"], m["expected"], was, share, m["features"],
				m["looks"])
		}
		if v.Kind == Established && !slices.ContainsFunc(v.Named.Members, func(x *facts.Material) bool {
			return named(x, m["expected"])
		}) {
			t.Errorf("%s: established as %s, published as %s", m["case"], v.Named.Name, m["published_species"])
		}
		fmt.Fprintf(&b, "%-4s %-11s %-50s %s\n", m["case"], v.Kind, v.Leading(1, 0)[0].Name, m["published_species"])
	}
	golden(t, "loupe_cases.txt", b.String())
}
