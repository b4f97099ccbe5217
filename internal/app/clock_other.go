//go:build !linux

package app

// clockKept reports whether something keeps the machine's clock right; known is
// false where the system does not say.
func clockKept() (kept, known bool) { return false, false }
