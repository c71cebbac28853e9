package intake

import (
	"strings"

	"lotpaper/internal/facts"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
)

// PairColumns are the columns of stone and setting pairs to be checked.
var PairColumns = sheet.Columns{
	{Name: "pair", Aliases: []string{"id", "name"}, Note: "A name for the pair. Empty: its row.", Example: "1"},
	{Name: "species", Aliases: []string{"stone type", "material", "gem"}, Note: "Species, group or trade name.",
		Example: "kyanite"},
	{Name: "variety", Note: "Variety, when it has one.", Example: ""},
	{Name: "color", Aliases: []string{"colour"}, Note: "Says which variety a species likely is. Empty: not stated.",
		Example: ""},
	{Name: "treatment", Note: "; between them; none when untreated. Empty: not stated, the worst usual one is assumed.",
		Example: "none"},
	{Name: "shape", Note: "Empty: without sharp points.", Example: "oval"},
	{Name: "length_mm", Aliases: []string{"length"}, Kind: sheet.NumberColumn, Note: "Length in mm.", Example: "8"},
	{Name: "width_mm", Aliases: []string{"width"}, Kind: sheet.NumberColumn, Note: "Width in mm.", Example: "6"},
	{Name: "setting", Required: true, Note: "How the stone is held.", Example: "bezel"},
	{Name: "piece", Required: true, Note: "What is worn.", Example: "ring"},
	{Name: "wear", Note: "daily (default), occasional or evening.", Example: "daily"},
	{Name: "lux", Kind: sheet.NumberColumn, Note: "Light where it is shown, lux. 0: kept in a closed box. Empty: a " +
		"lit showcase is assumed.", Example: "1500"},
	{Name: "hours_per_day", Kind: sheet.NumberColumn, Note: "Hours of that light a day.", Example: "10"},
	{Name: "bench", Note: "Steps with the stone in place, ; between them: torch, ultrasonic, steam, pickle, plating, " +
		"resize.", Example: "ultrasonic"},
}

// Pair is a stone and the place that it is meant for.
type Pair struct {
	Row           int
	Name          string
	Species       string // the facts' name, or a group's; empty when only a variety was named that is none of theirs
	Variety       string
	Claim         string // as written
	Named         facts.Named
	Color         string
	Treatment     string
	Shape         string
	Length, Width num.Millimetre
	Setting       *facts.Setting
	Piece, Wear   string
	Lux           num.Dec
	Dark          bool // a lux of 0 was written: kept in a closed box
	HoursPerDay   num.Dec
	Bench         []string
}

// ReadPairs reads pairs for `setting check --file`.
func ReadPairs(f *sheet.File) ([]Pair, fault.List) {
	var out []Pair
	seen := map[string]int{}
	faults := f.Read(sheet.Table{Sheet: sheetFor(f, PairColumns, "pairs"), Kind: "pairs", Columns: PairColumns},
		func(row sheet.Row, l *fault.List) {
			c := cells{row, l}
			p := Pair{Row: c.Number, Name: c.text("pair"), Color: c.text("color"),
				Treatment: treatment(strings.ToLower(c.text("treatment"))),
				Wear:      "daily",
				Length:    c.length("length_mm"), Width: c.length("width_mm"), Lux: c.positive("lux"),
				HoursPerDay: c.hours("hours_per_day"), Bench: c.words("bench", Steps)}
			p.Dark = c.filled("lux") && p.Lux.Sign() == 0
			if p.Name == "" {
				p.Name = num.Int(int64(c.Number)).String()
			} else {
				c.seen(seen, "pair", "pair", p.Name)
			}
			if !c.filled("species") && !c.filled("variety") && !c.IsBad("species") {
				c.faultf("species", "cell-missing", "name the species, group or trade name", "species is missing")
			}
			m := readMaterial(c, "species", "variety")
			p.Species, p.Variety, p.Claim, p.Named = m.species, m.variety, m.claim, m.named
			p.Shape = c.shape("shape")
			if c.need("setting", "name the setting: "+strings.Join(settingNames(), ", ")) {
				p.Setting = read(c, "setting", facts.SettingNamed)
			}
			if c.need("piece", "name the piece: "+strings.Join(pieceNames(), ", ")) {
				if x := read(c, "piece", facts.PieceNamed); x != nil {
					p.Piece = x.Name
				}
			}
			if w := read(c, "wear", facts.WearNamed); w != nil {
				p.Wear = w.Name
			}
			out = append(out, p)
		})
	if faults.Blocks() {
		return nil, faults
	}
	return out, faults
}
