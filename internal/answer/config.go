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
	Head     `json:"-"`
	Currency string      `json:"currency"`
	Zone     string      `json:"zone"`
	Settings []ConfigRow `json:"settings"`
}

var configColumns = []column[ConfigRow]{
	{"setting", "Setting", 26, func(r *ConfigRow) sheet.Cell { return sheet.Text(r.Key) }},
	{"value", "Value", 26, func(r *ConfigRow) sheet.Cell { return sheet.Text(r.Value) }},
	{"default", "Default", 9, func(r *ConfigRow) sheet.Cell {
		if r.Default {
			return sheet.Text("yes")
		}
		return sheet.Empty()
	}},
	{"what it does", "What it does", 70, func(r *ConfigRow) sheet.Cell { return sheet.Text(r.Words) }},
}

// List is the settings, what is fixed for ever first.
func (c *ConfigShow) List() Listing {
	rows := []ConfigRow{
		{Key: "currency", Value: c.Currency, Words: "of all cost in this book (fixed)"},
		{Key: "zone", Value: c.Zone, Words: "decides today's business date (fixed)"},
	}
	return &list[ConfigRow]{head: c.Head, columns: configColumns, rows: append(rows, c.Settings...)}
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

// Screen is the changes.
func (c *ConfigSet) Screen() Screen {
	return Screen{{Table: tableOf([]column[ConfigChange]{
		screen("entry", func(*ConfigChange) sheet.Cell { return sheet.Text(c.Entry) }),
		screen("setting", func(r *ConfigChange) sheet.Cell { return sheet.Text(r.Key) }),
		screen("before", func(r *ConfigChange) sheet.Cell { return sheet.Text(r.Before) }),
		screen("now", func(r *ConfigChange) sheet.Cell { return sheet.Text(r.Value) }),
	}, c.Changed)}}
}
