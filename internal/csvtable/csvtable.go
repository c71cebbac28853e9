// Package csvtable reads the project's own tables: facts, rules and the outside
// numbers of tests. Files of users are read by internal/sheet.
package csvtable

import (
	"encoding/csv"
	"fmt"
	"io/fs"
	"strings"
)

// FirstLine is the line of a table's first row, below the header.
const FirstLine = 2

// Read returns the rows of a table with a header line: the cells, without blanks
// around them, by the name of their column. A table without rows, with a column
// listed twice or with a row of another length is an error that names the file.
func Read(files fs.FS, name string) ([]map[string]string, error) {
	f, err := files.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if len(lines) < FirstLine {
		return nil, fmt.Errorf("%s: no rows", name)
	}
	rows := make([]map[string]string, 0, len(lines)-1)
	for _, line := range lines[1:] {
		row := make(map[string]string, len(line))
		for i, column := range lines[0] {
			row[column] = strings.TrimSpace(line[i])
		}
		if len(row) != len(line) {
			return nil, fmt.Errorf("%s: a column is listed twice: %s", name, strings.Join(lines[0], ", "))
		}
		rows = append(rows, row)
	}
	return rows, nil
}
