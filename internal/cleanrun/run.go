// Package cleanrun answers how long an athlete turns without a catch: how many
// runs reach a given length, how often the rope catches per rep, what a gate of
// n clean reps asks in attempts, and whether catches come early or late in a
// run. It is pure and imports only the standard library and internal/stats.
package cleanrun

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
)

// A Run is one attempt at consecutive clean reps.
type Run struct {
	Reps   int  // clean reps before the catch or the stop, 0–[MaxReps]
	Caught bool // true: a catch ended it; false: it was stopped clean (censored)
}

// MaxReps bounds the length of one run: more than two days of jumping at any
// rate that anyone has held for a minute. Assumed, to refuse typing errors.
const MaxReps = 1_000_000

// Errors of this package. Callers add whose runs they are.
var (
	// ErrNoRuns reports that there is nothing to estimate from: no runs, or no
	// rep tried in any of them.
	ErrNoRuns = errors.New("no runs to learn from")
	// ErrReps reports a count below 0 or above [MaxReps].
	ErrReps = fmt.Errorf("reps must be 0 to %d", MaxReps)
	// ErrConfidence reports a confidence outside the open range 0 to 1.
	ErrConfidence = errors.New("confidence must lie between 0 and 1")
	// ErrChance reports a chance per rep outside 0 to 1.
	ErrChance = errors.New("a chance must lie between 0 and 1")
	// ErrLength reports a run to aim for outside 1 to [MaxReps].
	ErrLength = fmt.Errorf("the run to aim for must be 1 to %d reps", MaxReps)
	// ErrTries reports that more tries are to be made than are given, or none.
	ErrTries = errors.New("tries to make must be 1 to the tries given")
	// ErrNoChance reports a run so unlikely that no number of attempts can be
	// named for it.
	ErrNoChance = errors.New("the run is out of reach at this chance per rep")
)

// An end counts the runs that ended at one length.
type end struct{ reps, caught, stopped int }

// ends returns one row per distinct length, shortest first.
func ends(runs []Run) ([]end, error) {
	if len(runs) == 0 {
		return nil, ErrNoRuns
	}
	longest := 0
	for i, r := range runs {
		if r.Reps < 0 || r.Reps > MaxReps {
			return nil, fmt.Errorf("run %d: %w", i+1, ErrReps)
		}
		longest = max(longest, r.Reps)
	}
	// A table by length needs no sorting; it is worth its memory unless a few
	// runs are very long.
	if longest <= 1024+2*len(runs) {
		return endsByTable(runs, longest), nil
	}
	return endsBySorting(runs), nil
}

func endsByTable(runs []Run, longest int) []end {
	table := make([]end, longest+1)
	for _, r := range runs {
		if r.Caught {
			table[r.Reps].caught++
		} else {
			table[r.Reps].stopped++
		}
	}
	rows := table[:0]
	for reps, row := range table {
		if row.caught+row.stopped > 0 {
			row.reps = reps
			rows = append(rows, row)
		}
	}
	return rows
}

func endsBySorting(runs []Run) []end {
	sorted := slices.Clone(runs)
	slices.SortFunc(sorted, func(a, b Run) int { return cmp.Compare(a.Reps, b.Reps) })
	var rows []end
	for _, r := range sorted {
		if len(rows) == 0 || rows[len(rows)-1].reps != r.Reps {
			rows = append(rows, end{reps: r.Reps})
		}
		if r.Caught {
			rows[len(rows)-1].caught++
		} else {
			rows[len(rows)-1].stopped++
		}
	}
	return rows
}
