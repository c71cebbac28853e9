package lineplan

// Refusal is free pieces of a lot that a position asks for by kind, shape, size
// and all else, and that its setting refuses: they may not be set there.
type Refusal struct {
	Design   string
	Position string
	Lot      string
	Pieces   int64
	Level    int // 0 sound to 3 avoid
	Reason   string
}

// Refusals lists every refusal of the line, by design, position and lot.
func (in *Input) Refusals() []Refusal {
	var out []Refusal
	for _, d := range in.Designs {
		for _, p := range d.Positions {
			for _, s := range in.Stones {
				if fit, v := in.fit(s, d, p); fit.Stage == ByVerdict && s.Free > 0 {
					out = append(out, Refusal{d.Name, p.Name, s.Lot, s.Free, v.Level, v.Reason})
				}
			}
		}
	}
	return out
}
