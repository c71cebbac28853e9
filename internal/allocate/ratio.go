package allocate

import "math"

// entering runs the long-step ratio test: columns passed on the way change
// their bound, as long as the leaving column stays outside its own.
func (s *simplex) entering(sign, slope float64) int32 {
	s.ratio = s.ratio[:0]
	for _, j := range s.hit {
		a := sign * s.alphaR[j]
		if math.Abs(a) < pivotTol || s.low[j] >= s.high[j] {
			continue
		}
		atHigh := s.x[j] >= s.high[j]
		if a > 0 && atHigh || a < 0 && !atHigh {
			continue
		}
		s.ratio = append(s.ratio, candidate{j, max(0, s.dj[j]/a), math.Abs(a)})
	}
	if len(s.ratio) == 0 {
		return -1
	}
	// A heap gives the candidates in order; most steps need only a few.
	for n := len(s.ratio)/2 - 1; n >= 0; n-- {
		sift(s.ratio, n)
	}
	s.passed = s.passed[:0]
	for left := s.ratio; slope > feasTol; {
		if len(left) == 0 {
			return -1 // even all flips leave it outside: no plan meets the bounds
		}
		k := left[0]
		s.passed = append(s.passed, k)
		slope -= k.size * (s.high[k.col] - s.low[k.col])
		left[0] = left[len(left)-1]
		left = left[:len(left)-1]
		sift(left, 0)
	}
	// Among ratios as good as equal a larger pivot is safer.
	last := s.passed[len(s.passed)-1]
	at := len(s.passed) - 1
	for n := at - 1; n >= 0 && s.passed[n].ratio > last.ratio-1e-9*(1+last.ratio); n-- {
		if s.passed[n].size > s.passed[at].size {
			at = n
		}
	}
	flipped := false
	for _, k := range s.passed[:at] {
		old := s.x[k.col]
		if s.x[k.col] = s.low[k.col]; old < s.high[k.col] {
			s.x[k.col] = s.high[k.col]
		}
		list, values := s.column(k.col)
		for n, r := range list {
			s.flip[r] += float64(values[n] * (s.x[k.col] - old))
			flipped = true
		}
	}
	if flipped {
		s.f.forward(s.flip)
		for r, v := range s.flip {
			if v != 0 {
				s.x[s.head[r]] -= v
			}
		}
		clear(s.flip)
	}
	return s.passed[at].col
}

// sift moves the n-th candidate of a heap down to its place: the least ratio
// is at the top, of equal ones the largest pivot.
func sift(h []candidate, n int) {
	before := func(a, b *candidate) bool {
		if a.ratio != b.ratio {
			return a.ratio < b.ratio
		}
		if a.size != b.size {
			return a.size > b.size
		}
		return a.col < b.col
	}
	for {
		c := 2*n + 1
		if c >= len(h) {
			return
		}
		if c+1 < len(h) && before(&h[c+1], &h[c]) {
			c++
		}
		if !before(&h[c], &h[n]) {
			return
		}
		h[n], h[c] = h[c], h[n]
		n = c
	}
}
