package intake

import (
	"lotpaper/internal/book"
	"lotpaper/internal/fault"
)

// CaseOf reads one stone from named text fields, as the flags of a command or a
// page's form hold them: the columns of a file of cases. Faults point at the
// fields.
func CaseOf(fields map[string]string) (Case, fault.List) {
	row, faults := CaseColumns.Form(fields)
	c := cells{row, &faults}
	k := Case{Name: c.text("case"), Color: c.text("color"), Note: c.text("note")}
	k.Readings = caseReadings(c, k.Name)
	return k, faults
}

// ReadingOf reads one bench reading from named text fields: the columns of a
// file of readings. Faults point at the fields.
func ReadingOf(fields map[string]string) (book.Reading, fault.List) {
	row, faults := ReadingColumns.Form(fields)
	r := reading(cells{row, &faults}, "")
	for i, f := range faults {
		if f.Where.Field == "test" {
			faults[i] = f.Do("template", "readings")
		}
	}
	return r, faults
}
