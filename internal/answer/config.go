package answer

import "lotpaper/internal/sheet"

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

var configColumns = []column[ConfigRow]{
	screen("setting", func(r *ConfigRow) sheet.Cell { return sheet.Text(r.Key) }),
	screen("value", func(r *ConfigRow) sheet.Cell { return sheet.Text(r.Value) }),
	screen("default", func(r *ConfigRow) sheet.Cell {
		if r.Default {
			return sheet.Text("yes")
		}
		return sheet.Empty()
	}),
	screen("what it does", func(r *ConfigRow) sheet.Cell { return sheet.Text(r.Words) }),
}

// Table is the settings for the screen, what is fixed for ever first.
func (c *ConfigShow) Table() *Table {
	rows := []ConfigRow{
		{Key: "currency", Value: c.Currency, Words: "of all cost in this book (fixed)"},
		{Key: "zone", Value: c.Zone, Words: "decides today's business date (fixed)"},
	}
	return tableOf(configColumns, append(rows, c.Settings...))
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

// Table is the changes for the screen.
func (c *ConfigSet) Table() *Table {
	return tableOf([]column[ConfigChange]{
		screen("entry", func(*ConfigChange) sheet.Cell { return sheet.Text(c.Entry) }),
		screen("setting", func(r *ConfigChange) sheet.Cell { return sheet.Text(r.Key) }),
		screen("before", func(r *ConfigChange) sheet.Cell { return sheet.Text(r.Before) }),
		screen("now", func(r *ConfigChange) sheet.Cell { return sheet.Text(r.Value) }),
	}, c.Changed)
}
