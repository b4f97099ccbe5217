//go:build !faults

package faults

// How hard make test tries.
const (
	kills     = 2 // of each kind, under load
	lostTurns = 3 // lost answers to commits
	idlers    = 200
)
