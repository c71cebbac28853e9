package facts

import (
	"slices"
	"strings"
	"testing"

	"lotpaper/internal/fault"
	"lotpaper/internal/testkit/vectors"
)

// TestPublishedNames resolves the names that laboratory notes, museum books
// and trade charts give their stones (testdata/vectors/facts/names.csv: the
// names of published identification cases, of the species tables and of the
// care charts) to the material that is meant.
func TestPublishedNames(t *testing.T) {
	rows := vectors.Read(t, "facts/names.csv")
	if len(rows) < 150 {
		t.Fatalf("only %d names", len(rows))
	}
	for _, r := range rows {
		n, f := Resolve(r["asked"])
		if f != nil {
			t.Errorf("%s: %s %s", r["asked"], f.What, f.Mend)
			continue
		}
		if group, ok := strings.CutPrefix(r["materials"], "group "); ok {
			if len(n.Materials) < 2 || slices.ContainsFunc(n.Materials,
				func(m *Material) bool { return m.Group != group }) {
				t.Errorf("%s is read as %s, want the group %s", r["asked"], n.ReadAs, group)
			}
			continue
		}
		var got []string
		for _, m := range n.Materials {
			got = append(got, m.Name)
		}
		variety := ""
		if n.Variety != nil {
			variety = n.Variety.Name
		}
		if strings.Join(got, "; ") != r["materials"] || variety != r["variety"] {
			t.Errorf("%s is read as %s %q, want %s %q", r["asked"], got, variety, r["materials"], r["variety"])
		}
		if n.Asked != r["asked"] || n.ReadAs == "" {
			t.Errorf("%s: the answer does not say how it was read: %+v", r["asked"], n)
		}
	}
}

// TestEveryNameResolves: each name in the tables leads somewhere, whatever its
// case and spacing, and means one thing only.
func TestEveryNameResolves(t *testing.T) {
	for _, name := range names().known {
		a, f := Resolve("  " + strings.ToUpper(name) + " ")
		if f != nil || len(a.Materials) == 0 {
			t.Errorf("%s does not resolve: %v", name, f)
		}
	}
	seen := map[string]int{}
	for _, r := range readRows("aliases.csv") {
		alias := fold(r.text("alias"))
		if before := seen[alias]; before > 0 {
			t.Errorf("aliases.csv:%d: %s is there twice (row %d)", r.line, alias, before)
		}
		seen[alias] = r.line
		if MaterialNamed(r.text("alias")) != nil {
			t.Errorf("aliases.csv:%d: %s is the name of a material", r.line, alias)
		}
		n, f := Resolve(alias)
		if f != nil {
			t.Errorf("aliases.csv:%d: %v", r.line, f)
			continue
		}
		switch r.text("kind") {
		case "variety":
			if n.Variety == nil {
				t.Errorf("aliases.csv:%d: %s leads to no variety", r.line, alias)
			}
		case "material":
			if n.Variety != nil || len(n.Materials) != 1 {
				t.Errorf("aliases.csv:%d: %s leads to %s", r.line, alias, n.ReadAs)
			}
		}
	}
	shorts := map[string]string{}
	for _, m := range Materials() {
		if other := shorts[m.Short]; other != "" {
			t.Errorf("%s and %s share the short name %s", m.Name, other, m.Short)
		}
		shorts[m.Short] = m.Name
		if n, f := Resolve(m.Name); f != nil || len(n.Materials) != 1 || n.Materials[0] != m {
			t.Errorf("%s does not resolve to itself", m.Name)
		}
	}
	for _, v := range Varieties() {
		if n, f := Resolve(v.Name); f != nil || n.Variety != v {
			t.Errorf("variety %s does not resolve to itself", v.Name)
		}
	}
}

func TestGroupsAndRules(t *testing.T) {
	for _, c := range []struct {
		asked string
		want  []string // materials that must be among those meant
		only  int      // how many in all; 0: not asked
	}{
		{"garnet", []string{"pyrope", "almandine", "spessartine", "grossular (hessonite, tsavorite)",
			"andradite (demantoid)"}, 0},
		{"feldspar", []string{"orthoclase", "labradorite", "microcline (amazonite)"}, 0},
		{"tourmaline", []string{"tourmaline (elbaite and general)", "dravite / uvite"}, 2},
		{"zircon", []string{"zircon (high type)", "zircon (low type, metamict)"}, 3},
		{"jade", []string{"jadeite", "nephrite"}, 0},
		{"pearl", []string{"pearl (nacreous)"}, 0},
		{"coral", []string{"coral (calcareous)"}, 0},
		{"glass", []string{"glass, soda-lime", "glass, lead"}, 0},
		{"plastic", []string{"plastic, acrylic"}, 0},
		{"moonstone", []string{"moonstone (orthoclase-albite)", "labradorite"}, 0},
		{"quartz group", []string{"quartz", "chalcedony (incl. agate, jasper)"}, 2},
		{"corundum", []string{"corundum"}, 1},
		{"quartz", []string{"quartz"}, 1},
		{"beryl", []string{"beryl"}, 1},
		{"spinel", []string{"spinel (natural)"}, 1},
		{"colour-change garnet", []string{"pyrope-spessartine"}, 0},
		{"Sapphires", []string{"corundum"}, 1},
		{"lab-grown ruby", []string{"corundum"}, 1},
		{"natural   Peridot", []string{"peridot (olivine, forsterite-rich)"}, 1},
		{"topaz (unheard of)", []string{"topaz"}, 1},
		{"Zircon (blue)", []string{"zircon (high type)"}, 1},
		{"feldspar group", []string{"orthoclase", "labradorite"}, 0},
		{"Diamond/CZ", []string{"diamond", "cubic zirconia"}, 2},
	} {
		n, f := Resolve(c.asked)
		if f != nil {
			t.Errorf("%s: %v", c.asked, f)
			continue
		}
		for _, w := range c.want {
			if !slices.Contains(n.Materials, MaterialNamed(w)) {
				t.Errorf("%s is read as %s, without %s", c.asked, n.ReadAs, w)
			}
		}
		if c.only > 0 && len(n.Materials) != c.only {
			t.Errorf("%s is read as %s: %d materials, want %d", c.asked, n.ReadAs, len(n.Materials), c.only)
		}
	}
}

func TestUnknownName(t *testing.T) {
	for asked, hint := range map[string]string{"tanzanit": "tanzanite", "Aquamarin": "aquamarine", "rubby": "ruby",
		"": "", "flibbertigibbet": ""} {
		_, f := Resolve(asked)
		if f == nil {
			t.Fatalf("%q is known", asked)
		}
		if f.Kind != fault.Invalid || f.Code != "unknown-material" || f.Mend == "" || !strings.Contains(f.Mend, hint) {
			t.Errorf("%q: %+v, want the hint %q", asked, f, hint)
		}
	}
	if _, f := SettingNamed("prongg"); f == nil || f.Code != "unknown-setting" || !strings.Contains(f.Mend, "prong") {
		t.Errorf("prongg: %+v", f)
	}
	if s, f := SettingNamed("Gypsy"); f != nil || s.Name != "flush" {
		t.Errorf("gypsy: %+v %v", s, f)
	}
	if p, f := PieceNamed("studs"); f != nil || p.Name != "earrings" {
		t.Errorf("studs: %+v %v", p, f)
	}
	if w, f := WearNamed("everyday"); f != nil || w.Name != "daily" {
		t.Errorf("everyday: %+v %v", w, f)
	}
	if a, f := AlloyNamed("Sterling"); f != nil || a.Fineness != 925 {
		t.Errorf("sterling: %+v %v", a, f)
	}
	if _, f := AlloyNamed("unobtainium"); f == nil || !strings.Contains(f.Mend, "use one of") {
		t.Errorf("unobtainium: %+v", f)
	}
}

// TestMisleadingNames: a name that lends a stone the name of a dearer one is
// read, and the answer has the right name.
func TestMisleadingNames(t *testing.T) {
	for name, want := range map[string]string{"smoky topaz": "smoky quartz", "Balas Ruby": "red spinel",
		"green amethyst": "prasiolite (green quartz)", "water sapphire": "iolite", "new jade": "serpentine",
		"natural smoky topaz": "smoky quartz", "smoky quartz": "", "ruby": "", "jade": ""} {
		if n, f := Resolve(name); f != nil || n.RightName != want {
			t.Errorf("%s: the right name is %q (%v), want %q", name, n.RightName, f, want)
		}
	}
	misleading := 0
	for _, r := range readRows("aliases.csv") {
		if r.text("right_name") == "" {
			continue
		}
		misleading++
		if n, f := Resolve(r.must("alias")); f != nil || n.RightName != r.text("right_name") {
			t.Errorf("%s: the right name is %q (%v), want %q", r.must("alias"), n.RightName, f, r.text("right_name"))
		}
	}
	if misleading < 65 {
		t.Errorf("%d names are marked misleading, want at least 65", misleading)
	}
}

// TestVarietyHardness: a variety is no harder and no softer than its species
// can be.
func TestVarietyHardness(t *testing.T) {
	known := 0
	for _, v := range Varieties() {
		if !v.Hardness.Known {
			continue
		}
		known++
		if of := MaterialNamed(v.Species).Hardness; of.Distance(v.Hardness.Min) > 0 || of.Distance(v.Hardness.Max) > 0 {
			t.Errorf("%s: hardness %v is outside that of %s, %v", v.Name, v.Hardness, v.Species, of)
		}
	}
	if known < 4 {
		t.Errorf("only %d varieties have a hardness of their own", known)
	}
}

// TestVarietiesThatAreWeaker: where a variety stands less than its species, the
// row says so, and the verdict of the setting goes by it.
func TestVarietiesThatAreWeaker(t *testing.T) {
	weaker := map[string]bool{}
	for _, v := range Varieties() {
		m := MaterialNamed(v.Species)
		weaker[v.Name] = v.Hardness.Known && v.Hardness.Min < m.Hardness.Min ||
			less(toughnesses, v.Toughness, m.Toughness) || less(lights, v.Light, m.Light) ||
			less(heats, v.Heat, m.Heat) || less(baths, v.Ultrasonic, m.Ultrasonic) || less(baths, v.Steam, m.Steam) ||
			v.Solvent == "yes" && m.Solvent != "yes" || v.Porous == "yes" && m.Porous != "yes" ||
			v.Dries == "yes" && m.Dries != "yes"
	}
	count := 0
	for _, is := range weaker {
		if is {
			count++
		}
	}
	if count < 26 {
		t.Errorf("%d varieties are weaker than their species, want at least 26", count)
	}
	for _, name := range []string{"emerald", "hackmanite", "maxixe-type beryl", "brown topaz", "blue zircon",
		"chrysoprase", "coated topaz", "larimar", "yellow sapphire", "red beryl"} {
		if !weaker[name] {
			t.Errorf("%s is no weaker than its species", name)
		}
	}
	if m := MaterialNamed("tugtupite"); m.Light != "high" {
		t.Errorf("tugtupite stands light: %s", m.Light)
	}
}

// less reports whether a known grade stands below another known one in their
// order, which begins with the unknown one.
func less[G ~string](order []G, a, b G) bool {
	return a != "" && b != "" && slices.Index(order, a) < slices.Index(order, b)
}
