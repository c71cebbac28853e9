package main

import (
	"bufio"
	"os"
	"strconv"
	"strings"
)

// peakMB is the most memory the process had resident since resetPeak, where
// the system tells (Linux), otherwise 0.
func peakMB() float64 {
	f, err := os.Open("/proc/self/status")
	if err != nil {
		return 0
	}
	defer f.Close()
	for lines := bufio.NewScanner(f); lines.Scan(); {
		if rest, ok := strings.CutPrefix(lines.Text(), "VmHWM:"); ok {
			kb, _ := strconv.ParseFloat(strings.Fields(rest)[0], 64)
			return kb / 1024
		}
	}
	return 0
}

// resetPeak starts a new peak (writing 5 to clear_refs, see proc(5)).
func resetPeak() { _ = os.WriteFile("/proc/self/clear_refs", []byte("5"), 0) }
