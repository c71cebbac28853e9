package answer

// ConfigRow is one setting as shown.
type ConfigRow struct {
	Key     string `json:"key"`
	Value   string `json:"value"`
	Default bool   `json:"default"`
	Words   string `json:"words"`
}

// ConfigShow lists every setting.
type ConfigShow struct {
	Currency string      `json:"currency"`
	Zone     string      `json:"zone"`
	Settings []ConfigRow `json:"settings"`
}
