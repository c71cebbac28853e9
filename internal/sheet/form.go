package sheet

import (
	"maps"
	"slices"

	"lotpaper/internal/fault"
)

// Form is a row whose cells are named text fields, as a page's form or the
// flags of a command hold them. A field has the name of a column or one of its
// aliases, and faults point at the field; a field without a column is a fault.
func (cs Columns) Form(fields map[string]string) (Row, fault.List) {
	t := &table{cols: cs, index: map[string]int{}, fields: make([]string, len(cs))}
	row := Row{table: t, text: make([]string, len(cs)), bad: make([]bool, len(cs))}
	for i, c := range cs {
		t.index[c.Name], t.fields[i] = i, c.Name
	}
	var faults fault.List
	for _, name := range slices.Sorted(maps.Keys(fields)) {
		i := cs.find(name)
		if i < 0 {
			faults.Add(fault.New(fault.Usage, "field-unknown", "there is no field "+name,
				fault.DidYouMean(name, cs.Names())).AtField(name))
			continue
		}
		if fields[name] == "" {
			continue
		}
		t.fields[i] = name
		text, bad := t.value(TextColumn, rawCell{text: fields[name]})
		if bad != nil {
			faults.Add(bad.AtField(name))
			row.bad[i] = true
		}
		row.text[i] = text
	}
	return row, faults
}
