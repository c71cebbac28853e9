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

// cpuSeconds is the processor time that the process has used, where the system
// tells (Linux), otherwise 0. On a busy machine it says more than a clock.
func cpuSeconds() float64 {
	text, err := os.ReadFile("/proc/self/stat")
	if err != nil {
		return 0
	}
	_, rest, _ := strings.Cut(string(text), ") ")
	fields := strings.Fields(rest)
	if len(fields) < 13 {
		return 0
	}
	user, _ := strconv.ParseFloat(fields[11], 64)
	system, _ := strconv.ParseFloat(fields[12], 64)
	return (user + system) / 100 // ticks, see proc(5)
}
