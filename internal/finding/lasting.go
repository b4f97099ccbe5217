package finding

import (
	"cmp"
	"errors"
	"math"
	"slices"
	"time"

	"ropewalk.example/internal/capacity"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/stats"
)

// A Lasting says how long an athlete keeps up which rate, and how the reserve
// comes back.
type Lasting struct {
	Tests   []capacity.Test // all-out, shortest first
	Known   bool            // the tests carry a line
	Fitted  capacity.Fitted
	Refused *capacity.Refused // why they carry none; nil without tests
	Bounded bool              // three tests or more: the bounds hold
	Rate    Bounds            // of the sustainable rate, rpm
	Reserve Bounds            // of the reserve, rotations

	Recovery Recovery
	Model    capacity.Model // what plans rest on: fitted or assumed; zero without a base rate
}

// Bounds are a 95 % interval.
type Bounds struct{ Low, High float64 }

// A Recovery is what the newest repeat-burst test says of the reserve's return.
type Recovery struct {
	On      time.Time // zero: no such test
	Bouts   []int32
	Known   bool
	Fitted  capacity.Recovery
	Refused string // code of package capacity, or NeedsAllOut
}

// NeedsAllOut is why a repeat-burst test says nothing yet: without all-out tests
// there is no sustainable rate to measure its counts against.
const NeedsAllOut = "needs_all_out"

// LastingOf fits the rate–duration line and the recovery of one athlete.
func LastingOf(results []gym.Result, levels level.Levels, day time.Time) Lasting {
	l := Lasting{Tests: slices.SortedFunc(slices.Values(levels.AllOut), func(a, b capacity.Test) int { return cmp.Compare(a.Seconds, b.Seconds) })}
	l.fit()
	switch base := levels.Planning(); {
	case l.Known:
		l.Model = l.Fitted.Model
	case base.Known():
		l.Model = capacity.Assume(base.RPM, levels.Burst.RPM)
	}
	l.recover(results, day)
	if l.Recovery.Known {
		l.Model = l.Model.WithRecovery(l.Recovery.Fitted)
	}
	return l
}

func (l *Lasting) fit() {
	if len(l.Tests) == 0 {
		return
	}
	fitted, err := capacity.Fit(l.Tests)
	if err != nil {
		if refused, ok := errors.AsType[*capacity.Refused](err); ok {
			l.Refused = refused
		}
		return
	}
	l.Known, l.Fitted = true, fitted
	if fitted.Tests < 3 || math.IsNaN(fitted.SESustainableRPM) {
		return
	}
	t := stats.StudentT(0.975, float64(fitted.Tests-2))
	l.Bounded = true
	l.Rate = Bounds{fitted.SustainableRPM - t*fitted.SESustainableRPM, fitted.SustainableRPM + t*fitted.SESustainableRPM}
	l.Reserve = Bounds{fitted.Reserve - t*fitted.SEReserve, fitted.Reserve + t*fitted.SEReserve}
}

// recover fits the time constant to the newest repeat-burst test of the last
// twelve weeks.
func (l *Lasting) recover(results []gym.Result, day time.Time) {
	var newest *gym.Result
	for i := range results {
		r := &results[i]
		if r.Protocol != rate.RepeatBurst || r.Seconds == nil || r.RestSeconds == nil || !within(r.Day, day, runDays) {
			continue
		}
		if newest == nil || r.TakenAt.After(newest.TakenAt) {
			newest = r
		}
	}
	if newest == nil {
		return
	}
	l.Recovery.On, l.Recovery.Bouts = newest.Day, newest.Bouts
	if !l.Known {
		l.Recovery.Refused = NeedsAllOut
		return
	}
	test := capacity.RepeatBurst{BoutSeconds: *newest.Seconds, RestSeconds: *newest.RestSeconds}
	for _, n := range newest.Bouts {
		test.Rotations = append(test.Rotations, float64(n))
	}
	fitted, err := capacity.FitRecovery(l.Fitted.Model, test)
	if err != nil {
		if refused, ok := errors.AsType[*capacity.Refused](err); ok {
			l.Recovery.Refused = refused.Reason
		}
		return
	}
	l.Recovery.Known, l.Recovery.Fitted = true, fitted
}
