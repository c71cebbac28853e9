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
	Mend     string `json:"mend"`
}
