package finding_test

import (
	"errors"
	"math"
	"testing"

	"github.com/google/uuid"

	"ropewalk.example/internal/finding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/progress"
	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/rhythm"
)

// series are base tests a week apart, the newest today.
func series(rotations ...int) []gym.Result {
	var results []gym.Result
	for i, n := range rotations {
		results = append(results, timed(rate.Base, 7*(len(rotations)-1-i), n, 60, 0))
	}
	return results
}

// steadyPairs are twelve pairs of tests that differ by about two rpm.
func steadyPairs() finding.Pairs {
	var p finding.Pairs
	for i := range 12 {
		p.First, p.Second = append(p.First, 120), append(p.Second, 120+float64(i%5)-2)
	}
	return p
}

func TestChange(t *testing.T) {
	tests := []struct {
		name    string
		results []gym.Result
		want    progress.Verdict
	}{
		{"one test", series(120), progress.TooFewTests},
		{"up by more than scatter", series(110, 111, 120, 121), progress.RealChange},
		{"down by more than scatter", series(121, 120, 111, 110), progress.RealChange},
		{"within it", series(120, 121, 121, 122), progress.WithinError},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			c := finding.ChangeOf(test.results, level.Of(test.results, today).Base, steadyPairs(), today)
			if c.Verdict != test.want {
				t.Errorf("%q, want %q (difference %.1f, needed %.1f)", c.Verdict, test.want, c.Difference, c.Needed)
			}
			if c.Assumed {
				t.Error("twelve pairs are taken for none")
			}
		})
	}
}

// Below ten pairs of tests the assumed 4 % stand in, and the finding says so.
func TestChangeAssumesScatterWithoutPairs(t *testing.T) {
	results := series(100, 100, 130, 130)
	c := finding.ChangeOf(results, level.Of(results, today).Base, finding.Pairs{}, today)
	if !c.Assumed || c.Verdict != progress.RealChange {
		t.Errorf("assumed %v, %q", c.Assumed, c.Verdict)
	}
}

func TestRateAim(t *testing.T) {
	rising := series(100, 103, 105, 108, 111, 113)
	c := finding.ChangeOf(rising, level.Of(rising, today).Base, steadyPairs(), today)
	aim := finding.RateAim(c, 125, today)
	if aim.Refused != nil || aim.Forecast.Likely < 14 || aim.Forecast.Likely > 60 {
		t.Errorf("125 rpm in %d days, %v", aim.Forecast.Likely, aim.Refused)
	}
	if few := finding.RateAim(finding.ChangeOf(series(100, 110), level.Level{Step: "bounce", RopeKind: "beaded"}, finding.Pairs{}, today), 125, today); !errors.Is(few.Refused, progress.ErrTooFewTests) {
		t.Errorf("two tests: %v", few.Refused)
	}
}

func TestGateAims(t *testing.T) {
	shipped, err := ladder.Shipped("en")
	if err != nil {
		t.Fatal(err)
	}
	aims := func(stage string, age int, results ...gym.Result) []finding.Aim {
		s, ok := shipped.Stage(stage)
		if !ok {
			t.Fatalf("no stage %s", stage)
		}
		return finding.GateAims(s.Gate, ladder.Athlete{Age: age}, results, level.Of(results, today).Base, today)
	}
	long := aims("long-clean-run", 13, run(rate.CleanRun, 3, 40, true))
	if len(long) != 1 || long[0].Bar != 100 || !errors.Is(long[0].Refused, progress.ErrTooFewTests) {
		t.Errorf("long run of a child: %+v", long)
	}
	pace := aims("changes-of-pace", 30, timed(rate.Base, 3, 150, 60, 0))
	if len(pace) != 1 || pace[0].Bar != 168 { // 150 and 12 % of it
		t.Errorf("changes of pace: %+v", pace)
	}
	if judged := aims("turn-in-time", 30); len(judged) != 0 {
		t.Errorf("a judgement has a forecast: %+v", judged)
	}
	if minute := aims("steady-minute", 30); len(minute) != 0 {
		t.Errorf("a number of catches has a forecast: %+v", minute)
	}
}

func TestDoubles(t *testing.T) {
	base, burst := timed(rate.Base, 3, 100, 60, 0), timed(rate.Burst, 3, 35, 10, 0)
	of := func(results ...gym.Result) finding.Doubles {
		return finding.DoublesOf(results, level.Of(results, today), rhythm.Sweep, today)
	}
	if d := of(base); d.Known {
		t.Errorf("a double is known without a burst: %+v", d)
	}
	guess := of(base, burst)
	if !guess.Known || guess.Inside || !guess.Advice.FirstGuess || guess.RopeRPM != 210 {
		t.Errorf("guess %+v", guess)
	}
	inside := timed(rate.InDouble, 2, 40, 10, 0)
	flight := result(rate.Flight, 2)
	flight.FlightSeconds = ptr(0.31)
	measured := of(base, burst, inside, flight)
	if !measured.Inside || measured.RopeRPM != 240 || measured.Readiness != rhythm.Several {
		t.Errorf("measured %+v", measured)
	}
	// 60/240 + 0.05 = 0.30 s needed: 0.01 s to spare.
	if !measured.Advice.Measured || math.Abs(measured.Advice.Margin-0.01) > 1e-9 {
		t.Errorf("margin %.3f s, want 0.010", measured.Advice.Margin)
	}
	if last := measured.Needs[len(measured.Needs)-1]; last.RopeRPM < 300 {
		t.Errorf("the picture ends at %.0f rpm", last.RopeRPM)
	}
}

func TestLoad(t *testing.T) {
	id := uuid.New()
	plan := splitPlan(id, 2)
	plan.Plan.Doubles = 18 // one jump in ten
	record := finding.Record{
		Plans: []finding.Plan{plan},
		Debriefs: []gym.Debrief{
			{PlanID: id, Day: daysAgo(2), Effort: ptr(5), Minutes: ptr(40.0), Contacts: ptr(100), SetsDone: ptr(2)},
			{Day: daysAgo(9), Effort: ptr(4), Minutes: ptr(45.0), Contacts: ptr(80)},
			{Day: daysAgo(1), SetsDone: ptr(1)}, // nobody said how hard
		},
		Results: []gym.Result{timed(rate.Base, 2, 60, 30, 0), run(rate.DoublesRun, 2, 4, false)},
	}
	load := finding.LoadOf(record, today)
	week := load.Weeks[0]
	if week.Total != 200 || load.Weeks[1].Total != 180 {
		t.Errorf("loads %.0f and %.0f AU, want 200 and 180", week.Total, load.Weeks[1].Total)
	}
	// 100 jumps of the session, a tenth of them doubles; 60 bounces of a test; a
	// row of four doubles and the miss that ended it.
	if want := (progress.Jumps{Low: 90 + 60, Doubles: 10 + 5}); week.Jumps != want {
		t.Errorf("jumps %+v, want %+v", week.Jumps, want)
	}
	if load.Unrated != 1 || week.Sessions != 2 {
		t.Errorf("%d unrated of %d sessions, want 1 of 2", load.Unrated, week.Sessions)
	}
	if load.Ramp != progress.RampSteep || math.Abs(load.Rise-85.0/80) > 1e-9 {
		t.Errorf("ramp %q, rise %.3f", load.Ramp, load.Rise)
	}
	if none := finding.LoadOf(finding.Record{}, today); none.Sessions != 0 || none.Ramp != progress.RampUnknown {
		t.Errorf("an empty record: %+v", none)
	}
}
