//go:build unix

package main

import (
	"os"
	"runtime"
	"syscall"
)

// peakOf is the peak resident memory of an ended process in bytes.
func peakOf(s *os.ProcessState) int64 {
	usage, ok := s.SysUsage().(*syscall.Rusage)
	if !ok {
		return 0
	}
	if runtime.GOOS == "darwin" {
		return usage.Maxrss
	}
	return usage.Maxrss << 10
}
