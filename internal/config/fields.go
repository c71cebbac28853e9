package config

import "strings"

// fields splits a list at its semicolons and leaves out what is empty.
func fields(list string) []string {
	var out []string
	for f := range strings.SplitSeq(list, ";") {
		if f = strings.TrimSpace(f); f != "" {
			out = append(out, f)
		}
	}
	return out
}
