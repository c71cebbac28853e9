package answer

import (
	"slices"
	"strings"
)

// identityWords say what the state of a lot means for its name.
var identityWords = map[string]string{
	"":             "nobody tested it: it is called what its vendor called it",
	"stated":       "nobody tested it: it is called what its vendor called it",
	"supported":    "the tests agree with the name, but leave other materials possible too",
	"doubted":      "the tests speak against the name, without deciding",
	"mixed":        "some tested stones are not what the name says",
	"contradicted": "the tested stones are not what the name says",
}

// warnings are everything that must stay visible: the model's own, and what
// follows from the stones. Warnings about prices are live formulas instead.
func (p *Proposal) warnings() []Warning {
	out := slices.Clone(p.Warnings)
	for _, d := range p.Designs {
		for _, c := range d.Cautions {
			if c.Level == "avoid" && c.Part != "bench" { // what the bench must not do stands in the work order
				out = append(out, Warning{About: strings.Join(fields(d.Design, c.Position, c.Stone), ", "),
					Text: "avoid (" + c.Part + "): " + c.Reason, Mend: c.todo()})
			}
		}
	}
	type about struct{ text, mend string }
	lots := map[about]*named{}
	var order []about
	note := func(a about, s ProposalStone) {
		if lots[a] == nil {
			lots[a] = &named{lots: map[string][]string{}}
			order = append(order, a)
		}
		lots[a].add(s.Name, s.Lot)
	}
	for _, s := range p.Stones {
		if words, doubt := identityWords[s.Identity]; doubt {
			note(about{"identity not established: " + words, "test the lot, or sell it under the words of the sheet " +
				"Disclosure"}, s)
		}
		if s.Assumed != "" {
			note(about{"treatment not stated, usual treatment assumed: " + s.Assumed,
				"ask the vendor in writing, or a laboratory"}, s)
		}
		if kind, _, ok := strings.Cut(s.Owner, "/"); ok {
			note(about{"not own stock (" + kind + " " + strings.TrimPrefix(s.Owner, kind+"/") +
				"): its cost is zero until it is bought", "settle it before the piece is sold"}, s)
		}
		if s.Permit != "" {
			note(about{"permit: " + s.Permit, "have the paper at hand before it crosses a border"}, s)
		}
	}
	for _, a := range order {
		out = append(out, Warning{About: lots[a].String(), Text: a.text, Mend: a.mend})
	}
	return out
}

// named is lots by the name of their stones, in order of first mention.
type named struct {
	names []string
	lots  map[string][]string
}

func (n *named) add(name, lot string) {
	if _, known := n.lots[name]; !known {
		n.names = append(n.names, name)
	}
	if !slices.Contains(n.lots[name], lot) {
		n.lots[name] = append(n.lots[name], lot)
	}
}

// String prints "aquamarine A2, A3; iolite A10".
func (n *named) String() string {
	var out []string
	for _, name := range n.names {
		out = append(out, strings.TrimSpace(name+" "+strings.Join(n.lots[name], ", ")))
	}
	return strings.Join(out, "; ")
}
