package answer

import (
	"fmt"
	"strconv"
	"strings"
)

// Single stones of one paper are lots of their own. Where they were judged
// alike, a list names them once, as a run.

// RunOf names a run of single stones: "A5.1 to A5.12".
func RunOf(first, last string) string {
	if first == last {
		return first
	}
	return first + " to " + last
}

// NextStone reports whether code b is of the stone after that of code a in one
// paper: "A5.3" after "A5.2".
func NextStone(a, b string) bool {
	paper, n, ok := strings.Cut(a, ".")
	i, err := strconv.Atoi(n)
	return ok && err == nil && b == fmt.Sprintf("%s.%d", paper, i+1)
}
