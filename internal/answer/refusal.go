package answer

// Refusal is one kind of stone that must not go where a position of a line
// asks for it, or that needs care there.
type Refusal struct {
	Design   string `json:"design"`
	Where    string `json:"where"` // "daily ring, prong"
	Position string `json:"position"`
	Lots     string `json:"lots"`
	Stone    string `json:"stone"`
	Pieces   int64  `json:"pieces"`
	Part     string `json:"part"` // setting, bench, display
	Level    string `json:"level"`
	Reason   string `json:"reason"`
	Advice   string `json:"advice"` // what is done about it where it is set all the same
	Mend     string `json:"mend"`   // what was judged again and makes it better
}

// why is the reason, what is done about it, and what mends it when something
// does.
func (r *Refusal) why() string {
	words := r.Reason + "."
	if r.Advice != "" {
		words += " In practice: " + r.Advice + "."
	}
	if r.Mend != "" {
		words += " Mend: " + r.Mend + "."
	}
	return words
}
