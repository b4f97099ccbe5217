package rate

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// near reports whether got lies within tol of want; NaN is near nothing.
func near(got, want, tol float64) bool { return math.Abs(got-want) <= tol }

// Source: GUM, JCGM 100:2008, 4.3.7 and 5.1.2: 180 rpm, count ±1 rectangular,
// hand timing 0.10 s; expanded uncertainty, k = 2.
func TestUncertaintyOfACountFallsWithTheWindow(t *testing.T) {
	tests := []struct{ seconds, expanded float64 }{
		{5, 15.6154}, {10, 7.8077}, {15, 5.2051}, {30, 2.6026}, {60, 1.3013}, {180, 0.4338},
	}
	for _, test := range tests {
		r, err := Count{Counted: 180 * test.seconds / 60, Seconds: test.seconds, Timing: ByHand}.WholeTest()
		if err != nil {
			t.Fatal(err)
		}
		if !near(r.RPM, 180, 1e-12) || !near(r.Expanded(), test.expanded, 5e-5) {
			t.Errorf("%g s: %g ± %.4f rpm, want 180 ± %.4f", test.seconds, r.RPM, r.Expanded(), test.expanded)
		}
	}
}

// Common practice, no source: 15 s × 4, 5 s × 12, 10 s × 6.
func TestShortCountsScaleToAMinute(t *testing.T) {
	tests := []struct{ counted, seconds, rpm float64 }{
		{38, 15, 4 * 38}, {16, 5, 12 * 16}, {34, 10, 6 * 34}, {150, 60, 150},
	}
	for _, test := range tests {
		r, err := Count{Counted: test.counted, Seconds: test.seconds}.WholeTest()
		if err != nil || r.RPM != test.rpm {
			t.Errorf("%g in %g s = %g rpm, %v; want %g", test.counted, test.seconds, r.RPM, err, test.rpm)
		}
	}
}

func TestTurningRateLeavesOutTheTimeLostToCatches(t *testing.T) {
	c := Count{Counted: 120, Seconds: 60, Timing: ByApp, Catches: 3, Lost: 10}
	whole, err := c.WholeTest()
	if err != nil {
		t.Fatal(err)
	}
	turning, err := c.Turning()
	if err != nil {
		t.Fatal(err)
	}
	if whole.RPM != 120 || turning.RPM != 144 {
		t.Errorf("whole test %g, turning %g rpm; want 120 and 144", whole.RPM, turning.RPM)
	}
	// By hand: √((60/√3/60)² + (120·0.05/60)²) and √((60/√3/50)² + (144·0.10/50)²).
	if !near(whole.U, 0.585946528, 1e-9) || !near(turning.U, 0.750295942, 1e-9) {
		t.Errorf("whole test u %.9f, turning u %.9f rpm", whole.U, turning.U)
	}
}

func TestOneFootCountIsDoubled(t *testing.T) {
	one, err := Count{Counted: 80, OneFoot: true, Seconds: 30, Timing: ByApp}.WholeTest()
	if err != nil {
		t.Fatal(err)
	}
	both, err := Count{Counted: 160, Seconds: 30, Timing: ByApp}.WholeTest()
	if err != nil {
		t.Fatal(err)
	}
	if one.RPM != 320 || both.RPM != 320 {
		t.Errorf("80 right-foot steps in 30 s = %g rpm, 160 turns = %g; want 320", one.RPM, both.RPM)
	}
	// A step missed is two rotations missed: √((60·2/√3/30)² + (320·0.05/30)²).
	if !near(one.U, 2.370185178, 1e-9) || one.U <= both.U {
		t.Errorf("u = %.9f rpm by one foot, %.9f by both", one.U, both.U)
	}
}

func TestCountsThatAreNotTaken(t *testing.T) {
	tests := []struct {
		name  string
		count Count
		want  error
	}{
		{"no window", Count{Counted: 10}, ErrSeconds},
		{"negative window", Count{Counted: 10, Seconds: -5}, ErrSeconds},
		{"window NaN", Count{Counted: 10, Seconds: math.NaN()}, ErrSeconds},
		{"endless window", Count{Counted: 10, Seconds: math.Inf(1)}, ErrSeconds},
		{"negative count", Count{Counted: -1, Seconds: 10}, ErrRotations},
		{"count NaN", Count{Counted: math.NaN(), Seconds: 10}, ErrRotations},
		{"all time lost", Count{Counted: 1, Seconds: 10, Lost: 10, Catches: 1}, ErrLost},
		{"time gained", Count{Counted: 1, Seconds: 10, Lost: -1}, ErrLost},
		{"other timing", Count{Counted: 1, Seconds: 10, Timing: "sun"}, ErrTiming},
		{"601 rpm", Count{Counted: 601, Seconds: 60}, ErrTooFast},
		{"endless count", Count{Counted: math.Inf(1), Seconds: 60}, ErrTooFast},
		{"turning at 601 rpm", Count{Counted: 601, Seconds: 90, Lost: 30, Catches: 2}, ErrTooFast},
		{"600 rpm", Count{Counted: 600, Seconds: 60}, nil},
		{"nothing counted", Count{Counted: 0, Seconds: 60}, nil},
	}
	for _, test := range tests {
		if _, err := test.count.Turning(); !errors.Is(err, test.want) {
			t.Errorf("%s: error %v, want %v", test.name, err, test.want)
		}
	}
}

func TestRateLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := Count{
			Counted: float64(rapid.IntRange(1, 100).Draw(t, "counted")),
			Seconds: float64(rapid.IntRange(30, 180).Draw(t, "seconds")),
			Timing:  rapid.SampledFrom([]Timing{ByApp, ByHand}).Draw(t, "timing"),
		}
		c.Lost = rapid.Float64Range(0, c.Seconds/3).Draw(t, "lost")
		whole, err := c.WholeTest()
		if err != nil {
			t.Fatal(err)
		}
		turning, err := c.Turning()
		if err != nil {
			t.Fatal(err)
		}
		if turning.RPM < whole.RPM {
			t.Fatalf("turning %g rpm is below whole-test %g", turning.RPM, whole.RPM)
		}
		c.Counted *= 2
		twice, err := c.WholeTest()
		if err != nil {
			t.Fatal(err)
		}
		if !near(twice.RPM, 2*whole.RPM, 1e-9) || twice.U < whole.U {
			t.Fatalf("twice the count: %+v became %+v", whole, twice)
		}
		c.Timing = ByHand
		if hand, _ := c.WholeTest(); hand.U < twice.U {
			t.Fatalf("hand timing is surer (%g) than the app (%g)", hand.U, twice.U)
		}
	})
}
