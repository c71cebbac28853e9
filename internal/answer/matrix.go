package answer

// Matrix says which lot may go into which setting.
type Matrix struct {
	Head
	Scope    string      `json:"scope"`
	Piece    string      `json:"piece"` // the situation that every cell shares
	Wear     string      `json:"wear"`
	Assumed  []string    `json:"assumed"`
	Settings []string    `json:"settings"` // columns
	Rows     []MatrixRow `json:"rows"`
}

// MatrixRow is one lot and its verdicts, one per setting.
type MatrixRow struct {
	Lot     string       `json:"lot"`
	Name    string       `json:"name"`
	Checked string       `json:"checked"` // "as verified", "worst of 3 candidates: ..."
	Cells   []MatrixCell `json:"cells"`
}

// MatrixCell is one verdict with the finding that decided it.
type MatrixCell struct {
	Level  string `json:"level"` // sound, care, caution, avoid
	Reason string `json:"reason"`
	Mend   string `json:"mend"`
}
