package desk

import (
	"slices"
	"strings"
)

// Fields splits s at semicolons and drops what is empty.
func Fields(s string) []string {
	var out []string
	for _, f := range strings.Split(s, ";") {
		if f = strings.TrimSpace(f); f != "" {
			out = append(out, f)
		}
	}
	return out
}

// ContainsFold reports whether list holds s in upper or lower case.
func ContainsFold(list []string, s string) bool {
	return slices.ContainsFunc(list, func(v string) bool { return strings.EqualFold(v, s) })
}
