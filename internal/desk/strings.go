package desk

import "strings"

// Fields splits a list at its semicolons and leaves out what is empty.
func Fields(list string) []string {
	var out []string
	for f := range strings.SplitSeq(list, ";") {
		if f = strings.TrimSpace(f); f != "" {
			out = append(out, f)
		}
	}
	return out
}
