package finding_test

import (
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/rate"
)

// today is the day that all tests of this package ask about.
var today = time.Date(2026, 11, 4, 0, 0, 0, 0, time.UTC)

// daysAgo returns the calendar day so many days before today.
func daysAgo(n int) time.Time { return today.AddDate(0, 0, -n) }

// result is a result of a protocol on a day, in the bounce step on a beaded rope.
func result(protocol string, ago int) gym.Result {
	day := daysAgo(ago)
	return gym.Result{ResultID: uuid.New(), Protocol: protocol, Day: day, TakenAt: day.Add(17 * time.Hour), Step: "bounce", RopeKind: "beaded", CountedBy: "coach", Timing: "hand"}
}

// timed is a timed count.
func timed(protocol string, ago, rotations int, seconds float64, catches int) gym.Result {
	r := result(protocol, ago)
	r.Rotations, r.Seconds, r.Catches = &rotations, &seconds, catches
	if catches == 0 {
		lost := 0.0
		r.LostSeconds = &lost
	}
	return r
}

// run is a run of reps, stopped clean or caught.
func run(protocol string, ago, reps int, clean bool) gym.Result {
	r := result(protocol, ago)
	r.Rotations, r.StoppedClean = &reps, clean
	return r
}

// repeatBurst is a repeat-burst test of 10 s bouts.
func repeatBurst(ago int, rest float64, bouts ...int32) gym.Result {
	seconds := 10.0
	r := result(rate.RepeatBurst, ago)
	r.Seconds, r.RestSeconds, r.Bouts = &seconds, &rest, bouts
	return r
}

func ptr[T any](v T) *T { return &v }
