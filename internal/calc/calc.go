package calc

import (
	"slices"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/facts"
	"lotpaper/internal/num"
)

// calculation starts an answer; its lists are never null.
func calculation(formula, source string) *answer.Calculation {
	return &answer.Calculation{Inputs: answer.Figures{}, Result: answer.Figures{}, Formula: formula, Source: source,
		Notes: []string{}}
}

// fig is one value of a row.
func fig(name string, value any) answer.Figure { return answer.Figure{Name: name, Value: value} }

// none is returned beside an error.
var none answer.Calculation

// plain prints a measured or searched number with at most places decimals.
func plain(f float64, places int) string { return num.FromFloat(f, places, num.HalfUp).String() }

// optional prints a value that may be unknown.
func optional(s string, known bool) any {
	if !known {
		return nil
	}
	return s
}

// sources joins sources, each once; each may itself be a list of them.
func sources(list ...string) string {
	var out []string
	for _, s := range list {
		for _, one := range strings.Split(s, "; ") {
			if one != "" && !slices.Contains(out, one) {
				out = append(out, one)
			}
		}
	}
	return strings.Join(out, "; ")
}

// material is what the name in a field stands for.
func material(field, name string) (facts.Named, error) {
	n, f := facts.Resolve(name)
	if f != nil {
		return n, f.AtField(field)
	}
	return n, nil
}

// misleads notes a name that misleads.
func misleads(c *answer.Calculation, n facts.Named) {
	if words := n.Misleads(); words != "" {
		c.Note(words)
	}
}

// readAs says how a name was read, and which materials it stands for.
func readAs(c *answer.Calculation, asked string, n facts.Named) {
	c.Input("read_as", n.ReadAs)
	misleads(c, n)
	if len(n.Materials) > 1 {
		var members []string
		for _, m := range n.Materials {
			members = append(members, m.Name)
		}
		c.Note("\"" + asked + "\" stands for " + strings.Join(members, ", ") + ": all of them are counted")
	}
}
