package review

import (
	"time"

	"ropewalk.example/internal/cleanrun"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/rate"
)

// confidence is that of every interval here.
const confidence = 0.95

// Runs are an athlete's clean runs of the span, of one step on one kind of rope.
type Runs struct {
	Step, Rope string
	Runs       int
	Caught     int            // of these, ended by a catch
	Curve      cleanrun.Curve // nil without runs
	Best       Best           // the longest stretch without a catch, tests included
	BestRow    Best           // the most doubles in a row
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
func runsOf(results []gym.Result) Runs {
	type kind struct{ step, rope string }
	byKind := map[kind][]cleanrun.Run{}
	var r Runs
	var most kind
	for _, result := range results {
		if result.Rotations == nil {
			continue
		}
		reps := *result.Rotations
		switch {
		case result.Protocol == rate.CleanRun:
			k := kind{result.Step, result.RopeKind}
			byKind[k] = append(byKind[k], cleanrun.Run{Reps: reps, Caught: !result.StoppedClean})
			if len(byKind[k]) >= len(byKind[most]) {
				most = k
			}
			r.Best.raise(reps, result.Day, 0)
		case result.Protocol == rate.Base && result.Catches == 0 && result.Seconds != nil:
			r.Best.raise(reps, result.Day, *result.Seconds)
		case result.Protocol == rate.DoublesRun:
			r.BestRow.raise(reps, result.Day, 0)
		}
	}
	runs := byKind[most]
	curve, err := cleanrun.Survival(runs, confidence)
	if err != nil {
		return r
	}
	r.Step, r.Rope, r.Runs, r.Curve = most.step, most.rope, len(runs), curve
	for _, run := range runs {
		if run.Caught {
			r.Caught++
		}
	}
	return r
}

func (b *Best) raise(reps int, day time.Time, seconds float64) {
	if reps > b.Reps {
		*b = Best{Reps: reps, Day: day, Seconds: seconds}
	}
}
