package rate

import (
	"errors"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func counted(t *testing.T, rotations, seconds float64, timing Timing) Rate {
	t.Helper()
	r, err := Count{Counted: rotations, Seconds: seconds, Timing: timing}.WholeTest()
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Computed with SciPy 1.10.1 from DerSimonian and Laird's formulas and t.ppf.
func TestCombine(t *testing.T) {
	hand150 := counted(t, 150, 60, ByHand)
	tests := []struct {
		name                  string
		tests                 []Rate
		rpm, u, low, high, sd float64
	}{
		{"three that scatter", []Rate{counted(t, 150, 60, ByApp), counted(t, 148, 60, ByHand), counted(t, 38, 15, ByHand)},
			149.34181049666242, 0.9386879170890315, 145.30296236766458, 153.38065862566026, 1.2688584761354014},
		{"two alike", []Rate{hand150, hand150}, 150, 0.4448782605013047, 144.34728573928265, 155.65271426071735, 0},
		{"two far apart", []Rate{hand150, counted(t, 120, 60, ByHand)},
			134.999625, 14.9999999953125, -55.5934459869211, 325.5926959869211, 21.204136781926934},
		{"one, with the day-to-day 4 %", []Rate{hand150}, 150, 6.032895932579422, 138.17574124966615, 161.82425875033385, 6},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got, err := Combine(test.tests)
			if err != nil {
				t.Fatal(err)
			}
			if got.Tests != len(test.tests) || got.Assumed != (len(test.tests) == 1) {
				t.Errorf("from %d tests, assumed %v", got.Tests, got.Assumed)
			}
			for _, v := range []struct {
				name      string
				got, want float64
			}{
				{"rpm", got.RPM, test.rpm}, {"u", got.U, test.u}, {"low", got.Low, test.low},
				{"high", got.High, test.high}, {"between", got.Between, test.sd},
			} {
				if !near(v.got, v.want, 1e-6) {
					t.Errorf("%s = %.12g, want %.12g", v.name, v.got, v.want)
				}
			}
		})
	}
	if _, err := Combine(nil); !errors.Is(err, ErrNoTests) {
		t.Errorf("no tests: %v, want %v", err, ErrNoTests)
	}
	if _, err := Combine([]Rate{hand150, {RPM: 150}}); err == nil {
		t.Error("a test without uncertainty was combined")
	}
}

func TestRecent(t *testing.T) {
	today := time.Date(2031, 3, 10, 0, 0, 0, 0, time.UTC)
	base := Kind{Family: "base", Step: "bounce", Rope: "beaded"}
	result := func(rpm float64, daysAgo int, kind Kind) Result {
		return Result{Rate: Rate{rpm, 1}, Kind: kind, On: today.AddDate(0, 0, -daysAgo)}
	}
	speed := base
	speed.Rope = "speed"
	tests := []struct {
		name    string
		results []Result
		rpm     float64
		tests   int
	}{
		{"only alike", []Result{result(120, 1, base), result(180, 1, speed)}, 120, 1},
		{"42 days count, 43 do not", []Result{result(120, 42, base), result(180, 43, base)}, 120, 1},
		{"later results do not count", []Result{result(120, 0, base), result(180, -1, base)}, 120, 1},
		{"the newest five", []Result{
			result(999, 30, base), result(120, 5, base), result(120, 4, base), result(120, 3, base),
			result(120, 2, base), result(120, 1, base), result(999, 31, base)}, 120, 5},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got, err := Recent(test.results, base, today)
			if err != nil || !near(got.RPM, test.rpm, 1e-9) || got.Tests != test.tests {
				t.Errorf("got %+v, %v; want %g rpm from %d", got, err, test.rpm, test.tests)
			}
		})
	}
	if _, err := Recent([]Result{result(120, 50, base)}, base, today); !errors.Is(err, ErrNoTests) {
		t.Errorf("only an old test: %v, want %v", err, ErrNoTests)
	}
}

func TestCombineLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tests := make([]Rate, rapid.IntRange(1, 6).Draw(t, "tests"))
		low, high := math.Inf(1), math.Inf(-1)
		for i := range tests {
			tests[i] = Rate{rapid.Float64Range(80, 240).Draw(t, "rpm"), rapid.Float64Range(0.2, 8).Draw(t, "u")}
			low, high = min(low, tests[i].RPM), max(high, tests[i].RPM)
		}
		got, err := Combine(tests)
		if err != nil {
			t.Fatal(err)
		}
		if got.RPM < low-1e-9 || got.RPM > high+1e-9 || got.Low > got.RPM || got.High < got.RPM {
			t.Fatalf("%v combine to %+v", tests, got)
		}
	})
}
