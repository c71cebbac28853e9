package documents

import (
	"slices"
	"strings"
)

// identityWords say what the state of a lot means for its name.
var identityWords = map[string]string{
	"":             "nobody tested it: it is called what its vendor called it",
	"stated":       "nobody tested it: it is called what its vendor called it",
	"supported":    "the tests agree with the name, but leave other materials possible too",
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
				out = append(out, Warning{About: strings.Join(fields(d.Design, c.Position, c.Stone), ", "), Text: "avoid (" + c.Part + "): " + c.Reason, Mend: c.Mend})
			}
		}
	}
	type about struct{ text, mend string }
	lots := map[about][]string{}
	var order []about
	note := func(a about, lot string) {
		if _, known := lots[a]; !known {
			order = append(order, a)
		}
		if !slices.Contains(lots[a], lot) {
			lots[a] = append(lots[a], lot)
		}
	}
	for _, s := range p.Stones {
		lot := strings.TrimSpace(s.Lot + " " + s.Name)
		if words, doubt := identityWords[s.Identity]; doubt {
			note(about{"identity not established: " + words, "test the lot, or sell it under the words of the sheet Disclosure"}, lot)
		}
		if s.Assumed != "" {
			note(about{"treatment not stated, usual treatment assumed: " + s.Assumed, "ask the vendor in writing, or a laboratory"}, lot)
		}
		if kind, _, ok := strings.Cut(s.Owner, "/"); ok {
			note(about{"not own stock (" + kind + " " + strings.TrimPrefix(s.Owner, kind+"/") + "): its cost is zero until it is bought", "settle it before the piece is sold"}, lot)
		}
		if s.Permit != "" {
			note(about{"permit: " + s.Permit, "have the paper at hand before it crosses a border"}, lot)
		}
	}
	for _, a := range order {
		out = append(out, Warning{About: strings.Join(lots[a], ", "), Text: a.text, Mend: a.mend})
	}
	return out
}
