package sheet

import (
	"math"
	"strconv"
	"strings"
	"time"
)

// plainNumber turns a stored number into the digits a person typed: at most 15
// significant digits, as spreadsheets show, and no exponent. What is no number
// comes back as it is.
func plainNumber(s string) string {
	s = strings.TrimSpace(s)
	digits := 0
	for i := 0; i < len(s); i++ {
		switch c := s[i]; {
		case c >= '0' && c <= '9':
			digits++
		case c == '.' && i > 0 && i < len(s)-1, c == '-' && i == 0 && len(s) > 1:
		default:
			return shortest(s)
		}
	}
	if digits > 15 {
		return shortest(s)
	}
	return s
}

func shortest(s string) string {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
		return s
	}
	return digits15(v)
}

// digits15 prints v with at most 15 significant digits and no exponent.
func digits15(v float64) string {
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', 14, 64), 64)
	if err != nil {
		r = v
	}
	if r == 0 { // no minus zero
		return "0"
	}
	return strconv.FormatFloat(r, 'f', -1, 64)
}

// percentText shows a stored fraction as its cell does: 0.125 is "12.5%".
func percentText(s string) string {
	v, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
	if err != nil {
		return s
	}
	return digits15(v*100) + "%"
}

const dateLayout = "2006-01-02"

// serialDate turns a spreadsheet's day number into YYYY-MM-DD; the time of day
// is dropped. The 1900 system counts a 29 February 1900 that never was, so
// its first 60 days differ by one; the 1904 system starts at 1904-01-01 = 0.
func serialDate(s string, date1904 bool) (string, bool) {
	v, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
	if err != nil || v < 0 || v > 2_958_465 { // 9999-12-31
		return "", false
	}
	day := int(math.Floor(v + 1e-9))
	start := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
	switch {
	case date1904:
		start = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
	case day == 0 || day == 60:
		return "", false
	case day < 60:
		day++
	}
	return start.AddDate(0, 0, day).Format(dateLayout), true
}

// dateSerial is the 1900-system day number of a date from 1900-03-01 on.
func dateSerial(date string) (int, bool) {
	t, err := time.Parse(dateLayout, date)
	if err != nil {
		return 0, false
	}
	// seconds: a Duration ends after 292 years
	n := int((t.Unix() - time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC).Unix()) / (24 * 60 * 60))
	return n, n > 60
}
