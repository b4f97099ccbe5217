package review

import (
	"time"

	"ropewalk.example/internal/finding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/rate"
)

// Runs are how long the rope went round without a catch in the span.
type Runs struct {
	Clean   finding.Runs // clean runs of the newest one's step and rope
	Best    Best         // the longest stretch without a catch, tests included
	BestRow Best         // the most doubles in a row
}

// A Best is a record with its day; the zero Best is none yet.
type Best struct {
	Reps    int
	Day     time.Time
	Seconds float64 // of the test that it was, 0 for a run without a window
}

// runsOf reads the clean runs. Tests without a catch count for the record, but
// not for the curve: tests with catches do not say how long their runs were, and
// the clean ones alone would flatter.
func (g Ground) runsOf(results []gym.Result) Runs {
	r := Runs{Clean: finding.RunsOf(results, rate.CleanRun, g.AsOf)}
	for _, result := range results {
		if result.Rotations == nil {
			continue
		}
		reps := *result.Rotations
		switch {
		case result.Protocol == rate.CleanRun:
			r.Best.raise(reps, result.Day, 0)
		case result.Protocol == rate.Base && result.Catches == 0 && result.Seconds != nil:
			r.Best.raise(reps, result.Day, *result.Seconds)
		case result.Protocol == rate.DoublesRun:
			r.BestRow.raise(reps, result.Day, 0)
		}
	}
	return r
}

func (b *Best) raise(reps int, day time.Time, seconds float64) {
	if reps > b.Reps {
		*b = Best{Reps: reps, Day: day, Seconds: seconds}
	}
}
