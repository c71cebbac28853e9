package fault

import "strings"

// Near returns the known names closest to name (edit distance at most 2, or
// one a prefix of the other), nearest first, at most three. It serves the
// "did you mean" of unknown words; never use it for amounts.
func Near(name string, known []string) []string {
	name = strings.ToLower(strings.TrimSpace(name))
	if name == "" {
		return nil
	}
	var byDistance [3][]string
	seen := map[string]bool{}
	for _, k := range known {
		low := strings.ToLower(k)
		d := distance(name, low, 2)
		if d > 2 && len(name) >= 4 && strings.HasPrefix(low, name) {
			d = 2
		}
		limit := 2
		if len(name) < 5 { // two edits turn a short word into anything
			limit = 1
		}
		if d <= limit && !seen[low] {
			seen[low] = true
			byDistance[d] = append(byDistance[d], k)
		}
	}
	var out []string
	for _, group := range byDistance {
		out = append(out, group...)
	}
	if len(out) > 3 {
		out = out[:3]
	}
	return out
}

// DidYouMean renders the near names as a sentence, empty when there is none.
func DidYouMean(name string, known []string) string {
	near := Near(name, known)
	if len(near) == 0 {
		return ""
	}
	return "did you mean " + strings.Join(near, " or ") + "?"
}

// distance is the Damerau-Levenshtein distance (adjacent swaps count one),
// or limit+1 when it is more than limit.
func distance(a, b string, limit int) int {
	ra, rb := []rune(a), []rune(b)
	if len(ra)-len(rb) > limit || len(rb)-len(ra) > limit {
		return limit + 1
	}
	var before []int
	prev := make([]int, len(rb)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := 1; i <= len(ra); i++ {
		cur := make([]int, len(rb)+1)
		cur[0] = i
		for j := 1; j <= len(rb); j++ {
			cost := 1
			if ra[i-1] == rb[j-1] {
				cost = 0
			}
			cur[j] = min(prev[j]+1, cur[j-1]+1, prev[j-1]+cost)
			if i > 1 && j > 1 && ra[i-1] == rb[j-2] && ra[i-2] == rb[j-1] {
				cur[j] = min(cur[j], before[j-2]+1)
			}
		}
		before, prev = prev, cur
	}
	return min(prev[len(rb)], limit+1)
}
