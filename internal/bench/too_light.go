package bench

import (
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/durability"
	"lotpaper/internal/facts"
	"lotpaper/internal/identify"
)

// tooLight reports why a stone whose only reading beside its colour and look
// is the specific gravity stays open: it names the common rival that the smallest
// stone would separate from the claim. Nil when a stone of this weight would
// do, or when more was read.
func (b *Identifier) tooLight(lot book.Lot, t *TestedStone) *answer.TooLight {
	claim := map[*facts.Material]bool{}
	if named, f := facts.Resolve(lot.Name()); f == nil {
		for _, m := range named.Materials {
			claim[m] = true
		}
	}
	var of *facts.Material
	out := &answer.TooLight{Carats: t.Carats}
	for _, c := range t.Account.Candidates {
		if !claim[c.Material] {
			continue
		}
		of = c.Material
		for _, test := range c.Tests {
			switch {
			case test.Test == "specific gravity":
				out.Gravity = test.Reading
			case test.Test != identify.TestLook.String() && !strings.HasPrefix(test.Test, "colour"):
				return nil
			}
		}
	}
	if of == nil || out.Gravity == "" {
		return nil
	}
	for _, c := range t.Account.Candidates {
		if claim[c.Material] || !rivals(of, c.Material) || len(c.Varieties) == 0 {
			continue
		}
		need, ok := identify.SmallestWeight(of, c.Material, b.settings.Balance, 1, b.settings.K)
		if ok && need > t.Carats && (out.Rival == "" || need < out.Needs) {
			out.Claim, out.Rival, out.Needs = of.Name, c.Material.Name, need
		}
	}
	if out.Rival == "" {
		return nil
	}
	return out
}

// rivals reports whether m is a common, doubly refracting material of the
// claim's nature: one that a dealer would think of first.
func rivals(claim, m *facts.Material) bool {
	return m.Frequency == "common" && m.Nature == claim.Nature && m.Optic != facts.Isotropic &&
		m.Optic != facts.Aggregate
}

// assumed is the usual treatment, taken where nobody stated one.
func assumed(lot book.Lot) string {
	named, f := facts.Resolve(lot.Name())
	if f != nil || lot.Facets.Treatment.Value != "" {
		return ""
	}
	return strings.Join(durability.DisclosureOf(durability.Stone{Material: named.Materials[0], Variety: named.Variety,
		Nature: lot.Facets.Nature.Value}).Treatment, "; ")
}
