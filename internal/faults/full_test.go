//go:build faults

package faults

// How hard make faults tries.
const (
	kills     = 25 // of each kind, under load
	lostTurns = 40 // lost answers to commits
	idlers    = 10_000
)
