package rhythm

import (
	"errors"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// relative returns how far got is from want, as a share of want. The tests
// compare it so that NaN never passes.
func relative(got, want float64) float64 { return math.Abs(got-want) / math.Abs(want) }

func TestHeightFromFlight(t *testing.T) {
	// Bosco et al. (1983) with g = 9.81; ours is 9.80665, so compare to 0.05 %.
	for _, test := range []struct{ flight, want float64 }{{0.3, 0.1103625}, {0.5, 0.3065625}} {
		got, err := Height(test.flight)
		if err != nil {
			t.Fatal(err)
		}
		if !(relative(got, test.want) <= 0.0005) {
			t.Errorf("Height(%g) = %g, want %g", test.flight, got, test.want)
		}
	}
	for _, flight := range []float64{0, -0.1, 2.1, math.NaN()} {
		if _, err := Height(flight); !errors.Is(err, ErrFlight) {
			t.Errorf("Height(%g): error = %v, want %v", flight, err, ErrFlight)
		}
	}
}

func TestTimingOfADouble(t *testing.T) {
	// By hand: 240 rpm is a turn in 0.25 s; with the sweep 0.30 s up,
	// 9.80665·0.09/8 m high.
	tests := []struct {
		name          string
		rope, cadence float64
		want          Timing
	}{
		{"room to spare", 240, 100, Timing{true, 120, 0.30, 0.1103248125}},
		{"just in rhythm", 240, 120, Timing{true, 120, 0.30, 0.1103248125}},
		{"the beat comes too soon", 240, 121, Timing{false, 120, 0.30, 0.1103248125}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got, err := TimingOf(test.rope, test.cadence, Sweep)
			if err != nil {
				t.Fatal(err)
			}
			if got.InRhythm != test.want.InRhythm || got.TopCadence != test.want.TopCadence ||
				!(relative(got.Airtime, test.want.Airtime) < 1e-14) || !(relative(got.Height, test.want.Height) < 1e-14) {
				t.Errorf("timing = %+v, want %+v", got, test.want)
			}
		})
	}
}

func TestTimingRefuses(t *testing.T) {
	tests := []struct {
		name                 string
		rope, cadence, sweep float64
		want                 error
	}{
		{"a rope that stands", 0, 100, Sweep, ErrRope},
		{"a rope no one can turn", 601, 100, Sweep, ErrRope},
		{"no rope rate", math.NaN(), 100, Sweep, ErrRope},
		{"no beat", 200, 0, Sweep, ErrCadence},
		{"a sweep before it begins", 200, 100, -0.01, ErrSweep},
		{"an endless sweep", 200, 100, math.Inf(1), ErrSweep},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if _, err := TimingOf(test.rope, test.cadence, test.sweep); !errors.Is(err, test.want) {
				t.Errorf("error = %v, want %v", err, test.want)
			}
		})
	}
}

func TestReadinessFollowsThePublishedGroups(t *testing.T) {
	// "Exploring for the skill of the double skip in jump rope among elementary
	// school children", group means: 0.31 s no double, 0.28 s one, 0.25 s more.
	tests := []struct {
		rope    float64
		seconds float64
		want    Readiness
	}{
		{60 / 0.31, 0.31, NotYet}, {150, 0.4, NotYet}, {200, 0.3, Near}, {60 / 0.28, 0.28, OneAtATime},
		{222, 60.0 / 222, OneAtATime}, {239, 60.0 / 239, OneAtATime}, {240, 0.25, Several}, {300, 0.2, Several},
	}
	for _, test := range tests {
		seconds, got, err := Turn(test.rope)
		if err != nil {
			t.Fatal(err)
		}
		if got != test.want || !(relative(seconds, test.seconds) < 1e-12) {
			t.Errorf("Turn(%g rpm) = %g s, %q, want %g s, %q", test.rope, seconds, got, test.seconds, test.want)
		}
	}
	if _, _, err := Turn(0); !errors.Is(err, ErrRope) {
		t.Errorf("Turn(0): error = %v, want %v", err, ErrRope)
	}
}

func TestAdvice(t *testing.T) {
	tests := []struct {
		name   string
		jumper Jumper
		cue    float64
		steps  []Step
	}{
		{"all fits", Jumper{RopeRPM: 230, InsideDouble: true, Cadence: 90, Flight: 0.36, Sweep: Sweep}, 90, nil},
		{"flight not measured", Jumper{RopeRPM: 230, Cadence: 90, Sweep: Sweep}, 90, nil},
		{"beat too fast", Jumper{RopeRPM: 215, Cadence: 120, Sweep: Sweep}, 107, []Step{SlowTheCue}},
		{"jump too low", Jumper{RopeRPM: 200, Cadence: 90, Flight: 0.3, Sweep: Sweep}, 90, []Step{JumpHigher}},
		{"rope too slow, so never a higher jump", Jumper{RopeRPM: 150, Cadence: 90, Flight: 0.3, Sweep: Sweep}, 75,
			[]Step{TurnFaster, SlowTheCue}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got, err := Advise(test.jumper)
			if err != nil {
				t.Fatal(err)
			}
			if got.CueCadence != test.cue || !slices.Equal(got.Steps, test.steps) {
				t.Errorf("cue %g, steps %q, want %g, %q", got.CueCadence, got.Steps, test.cue, test.steps)
			}
			if got.FirstGuess == test.jumper.InsideDouble || got.Measured != (test.jumper.Flight > 0) {
				t.Errorf("advice = %+v for %+v", got, test.jumper)
			}
		})
	}
}

func TestAdviceInNumbers(t *testing.T) {
	// By hand: 200 rpm needs 0.35 s and 9.80665·0.1225/8 m; 210 rpm needs
	// 0.335714 s, 0.1381560 m.
	got, err := Advise(Jumper{RopeRPM: 200, Cadence: 90, Flight: 0.3, Sweep: Sweep})
	if err != nil {
		t.Fatal(err)
	}
	if !(math.Abs(got.SavedBy10-0.0120081) < 1e-7) || !(math.Abs(got.Margin+0.05) < 1e-12) {
		t.Errorf("saved %g m, margin %g s, want 0.0120081 m, -0.05 s", got.SavedBy10, got.Margin)
	}
	if !(math.Abs(got.SlowestRope-169.5) < 0.05) {
		t.Errorf("slowest rope = %g rpm, want about 169.5", got.SlowestRope)
	}
}

func drawJumper(t *rapid.T) Jumper {
	return Jumper{
		RopeRPM:      rapid.Float64Range(2, 600).Draw(t, "rope"),
		InsideDouble: rapid.Bool().Draw(t, "inside"),
		Cadence:      rapid.Float64Range(1, 600).Draw(t, "cadence"),
		Flight:       rapid.Float64Range(0, 2).Draw(t, "flight"),
		Sweep:        rapid.Float64Range(0, 1).Draw(t, "sweep"),
	}
}

func TestNoDoublesAreCuedThatNeedTooHighAJump(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, err := Advise(drawJumper(t))
		if err != nil {
			t.Fatal(err)
		}
		cues, err := a.Cues(EveryFourthJump())
		if errors.Is(err, ErrTooHigh) != (a.Height > MaxHeight) {
			t.Fatalf("a jump of %g m: error = %v", a.Height, err)
		}
		if len(cues) > 0 && 60/a.CueCadence < 60/a.TopCadence {
			t.Fatalf("beats %g s apart, two turns take %g s", 60/a.CueCadence, 60/a.TopCadence)
		}
	})
}

func TestTurningFasterNeverNeedsAHigherJump(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		j := drawJumper(t)
		slow, err := Advise(j)
		if err != nil {
			t.Fatal(err)
		}
		j.RopeRPM = min(600, j.RopeRPM+rapid.Float64Range(0, 100).Draw(t, "more"))
		fast, err := Advise(j)
		if err != nil {
			t.Fatal(err)
		}
		if fast.Height > slow.Height || fast.TopCadence < slow.TopCadence || slow.Allowed && !fast.Allowed {
			t.Fatalf("slow %+v, fast %+v", slow, fast)
		}
	})
}

func TestDoublesAreAllowedFromTheSlowestRope(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sweep := rapid.Float64Range(0, 0.3).Draw(t, "sweep")
		edge := SlowestRope(sweep)
		if h := height(airtime(edge, sweep)); !(relative(h, MaxHeight) < 1e-12) {
			t.Fatalf("at %g rpm a jump of %g m, want %g", edge, h, MaxHeight)
		}
	})
	if edge := SlowestRope(0.5); !math.IsInf(edge, 1) {
		t.Errorf("SlowestRope(0.5 s) = %g, want +Inf", edge)
	}
}

func TestPatterns(t *testing.T) {
	five, err := DoublesInARow(5)
	if err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		pattern        Pattern
		jumps, doubles int
	}{{OneDoubleThenStop(), 11, 1}, {EveryFourthJump(), 32, 8}, {five, 5, 5}}
	for _, test := range tests {
		if jumps, doubles := test.pattern.Jumps(), test.pattern.Doubles(); jumps != test.jumps || doubles != test.doubles {
			t.Errorf("%s: %d jumps, %d doubles, want %d, %d", test.pattern.Code, jumps, doubles, test.jumps, test.doubles)
		}
	}
	for _, n := range []int{0, 1001} {
		if _, err := DoublesInARow(n); !errors.Is(err, ErrRow) {
			t.Errorf("DoublesInARow(%d): error = %v, want %v", n, err, ErrRow)
		}
	}
}

func TestCuesComeOnTheBeat(t *testing.T) {
	a, err := Advise(Jumper{RopeRPM: 240, Cadence: 60, Sweep: Sweep})
	if err != nil {
		t.Fatal(err)
	}
	cues, err := a.Cues(OneDoubleThenStop())
	if err != nil {
		t.Fatal(err)
	}
	if len(cues) != 12 || cues[10] != (Cue{10, Double}) || cues[11] != (Cue{11, Stop}) {
		t.Errorf("cues = %v, want the double at 10 s and the stop at 11 s", cues)
	}
}

func TestNeeds(t *testing.T) {
	needs, err := Needs(150, 300, Sweep)
	if err != nil {
		t.Fatal(err)
	}
	if len(needs) != 16 || needs[0].RopeRPM != 150 || needs[15].RopeRPM != 300 {
		t.Fatalf("needs = %v, want 16 from 150 to 300 rpm", needs)
	}
	for i := range needs[1:] {
		if needs[i+1].Height >= needs[i].Height {
			t.Errorf("%v after %v: a faster rope needs less", needs[i+1], needs[i])
		}
	}
	if _, err := Needs(300, 150, Sweep); !errors.Is(err, ErrRope) {
		t.Errorf("from fast to slow: error = %v, want %v", err, ErrRope)
	}
}

func FuzzAdvise(f *testing.F) {
	f.Add(215.0, 120.0, 0.3, 0.05)
	f.Fuzz(func(t *testing.T, rope, cadence, flight, sweep float64) {
		a, err := Advise(Jumper{RopeRPM: rope, Cadence: cadence, Flight: flight, Sweep: sweep})
		if err != nil {
			return
		}
		for _, v := range []float64{a.TopCadence, a.Airtime, a.Height, a.CueCadence, a.SavedBy10, a.Margin} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("%+v", a)
			}
		}
		if !(a.CueCadence >= 1) {
			t.Fatalf("cue cadence %g", a.CueCadence)
		}
	})
}
