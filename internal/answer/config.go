package answer

// ConfigRow is one setting as shown.
type ConfigRow struct {
	Key     string `json:"key"`
	Value   string `json:"value"`
	Default bool   `json:"default"`
	Words   string `json:"words"`
}

// ConfigChange is one setting that was changed.
type ConfigChange struct {
	Key    string `json:"key"`
	Before string `json:"before"`
	Value  string `json:"value"`
}

// ConfigSet is the settings that an entry changed, in the order of the list.
type ConfigSet struct {
	Entry   string         `json:"entry"`
	Changed []ConfigChange `json:"changed"`
}

// ConfigShow lists every setting.
type ConfigShow struct {
	Currency string      `json:"currency"`
	Zone     string      `json:"zone"`
	Settings []ConfigRow `json:"settings"`
}
