package level_test

import (
	"testing"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/rate"
)

func on(r gym.Result, step, rope string) gym.Result {
	r.Step, r.RopeKind = step, rope
	return r
}

// lost gives a result catches and, if seconds are positive, the time they took.
func lost(r gym.Result, catches int, seconds float64) gym.Result {
	r.Catches = catches
	if seconds > 0 {
		r.LostSeconds = &seconds
	}
	return r
}

func TestOnlyLikeIsCombinedWithLike(t *testing.T) {
	for _, test := range []struct {
		name                 string
		results              []gym.Result
		base, turning, burst float64 // rpm; 0: not known
		tests                int     // behind the base
		alike                bool    // burst and base
	}{
		{"nothing", nil, 0, 0, 0, 0, false},
		{"one test", []gym.Result{timed(rate.Base, 3, 110, 60)}, 110, 110, 0, 1, false},
		{"two on one rope", []gym.Result{timed(rate.Base, 3, 110, 60), timed(rate.Base, 10, 110, 60)}, 110, 110, 0, 2, false},
		{"the newest rope counts", []gym.Result{on(timed(rate.Base, 1, 100, 60), "bounce", "cord"), timed(rate.Base, 3, 140, 60)}, 100, 100, 0, 1, false},
		{"the newest step counts", []gym.Result{on(timed(rate.Base, 1, 100, 60), "alternate", "beaded"), timed(rate.Base, 3, 140, 60)}, 100, 100, 0, 1, false},
		{"burst on the same", []gym.Result{timed(rate.Base, 3, 110, 60), timed(rate.Burst, 3, 25, 10)}, 110, 110, 150, 1, true},
		{"burst on another step", []gym.Result{timed(rate.Base, 3, 110, 60), on(timed(rate.Burst, 3, 25, 10), "alternate", "beaded")}, 110, 110, 150, 1, false},
		{"catches that were timed", []gym.Result{lost(timed(rate.Base, 3, 100, 60), 2, 10)}, 100, 120, 0, 1, false},
		{"catches that nobody timed", []gym.Result{lost(timed(rate.Base, 3, 100, 60), 2, 0)}, 100, 0, 0, 1, false},
		{"over six weeks ago", []gym.Result{timed(rate.Base, 50, 110, 60)}, 0, 0, 0, 0, false},
		{"after the day asked for", []gym.Result{timed(rate.Base, -2, 140, 60), timed(rate.Base, 3, 110, 60)}, 110, 110, 0, 1, false},
	} {
		t.Run(test.name, func(t *testing.T) {
			got := level.Of(test.results, today)
			for what, pair := range map[string][2]float64{"base": {got.Base.RPM, test.base}, "turning": {got.Turning.RPM, test.turning}, "burst": {got.Burst.RPM, test.burst}} {
				if diff := pair[0] - pair[1]; diff > 0.5 || diff < -0.5 {
					t.Errorf("%s %.1f rpm, want %.0f", what, pair[0], pair[1])
				}
			}
			if got.Base.Tests != test.tests || got.BurstAlike != test.alike {
				t.Errorf("base from %d tests, alike %t; want %d, %t", got.Base.Tests, got.BurstAlike, test.tests, test.alike)
			}
		})
	}
}

// Plans rest on the rate while the rope turned, where it is known.
func TestPlanningRate(t *testing.T) {
	timedCatches := level.Of([]gym.Result{lost(timed(rate.Base, 3, 100, 60), 2, 10)}, today)
	if rpm := timedCatches.Planning().RPM; rpm < 119 || rpm > 121 {
		t.Errorf("with timed catches plans rest on %.1f rpm, want 120", rpm)
	}
	untimed := level.Of([]gym.Result{lost(timed(rate.Base, 3, 100, 60), 2, 0)}, today)
	if rpm := untimed.Planning().RPM; rpm < 99 || rpm > 101 {
		t.Errorf("with untimed catches plans rest on %.1f rpm, want 100", rpm)
	}
	if level.Of(nil, today).Planning().Known() {
		t.Error("nothing is a level to plan by")
	}
}
