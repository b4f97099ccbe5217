package progress

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// near reports whether a and b agree to the absolute tolerance. NaN is near
// nothing.
func near(a, b, tolerance float64) bool { return math.Abs(a-b) <= tolerance }

func TestTypicalErrorOfThePublishedExample(t *testing.T) {
	// W. G. Hopkins, Sports Med. 30 (2000) 1–15: prints 4.1 and 2.9; exact values
	// computed from his formulas.
	got, err := RetestOf([]float64{62, 78, 81, 55, 66}, []float64{67, 76, 87, 55, 63})
	if err != nil {
		t.Fatal(err)
	}
	if !near(got.SDDifference, 4.08656334834051, 1e-13) || !near(got.TypicalError, 2.8896366553599777, 1e-13) {
		t.Errorf("sd of differences %v, typical error %v", got.SDDifference, got.TypicalError)
	}
	// The grand mean is 69; 1.96 deviations of the differences.
	if !near(got.CVPercent, 100*2.8896366553599777/69, 1e-12) || !near(got.SmallestDetectable, 1.96*4.08656334834051, 1e-12) {
		t.Errorf("cv %v %%, smallest detectable %v", got.CVPercent, got.SmallestDetectable)
	}
}

func TestRetestRefuses(t *testing.T) {
	tests := []struct {
		name          string
		first, second []float64
		want          error
	}{
		{"a test without its second", []float64{1, 2}, []float64{1}, ErrPairs},
		{"one pair", []float64{1}, []float64{1}, ErrTooFewPairs},
		{"no pair", nil, nil, ErrTooFewPairs},
		{"no number", []float64{1, math.NaN()}, []float64{1, 2}, ErrNumber},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if _, err := RetestOf(test.first, test.second); !errors.Is(err, test.want) {
				t.Errorf("error = %v, want %v", err, test.want)
			}
		})
	}
	r, err := RetestOf([]float64{-1, 1}, []float64{1, -1})
	if err != nil || !math.IsNaN(r.CVPercent) {
		t.Errorf("cv about a mean of 0 = %v, %v, want NaN", r.CVPercent, err)
	}
}

func TestJudge(t *testing.T) {
	known := Retest{Pairs: 12, TypicalError: 3} // one test against one: 1.96·√2·3 = 8.32
	tests := []struct {
		name          string
		retest        Retest
		before, after []float64
		want          Verdict
	}{
		{"eight more on one test each", known, []float64{120}, []float64{128}, WithinError},
		{"nine more on one test each", known, []float64{120}, []float64{129}, RealChange},
		{"nine fewer", known, []float64{129}, []float64{120}, RealChange},
		{"eight more on two tests each", known, []float64{119, 121}, []float64{127, 129}, RealChange},
		{"no test before", known, nil, []float64{129}, TooFewTests},
		{"four pairs of retests", Retest{Pairs: 4, TypicalError: 3}, []float64{120}, []float64{190}, TooFewTests},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got, err := test.retest.Judge(test.before, test.after)
			if err != nil {
				t.Fatal(err)
			}
			if got.Verdict != test.want {
				t.Errorf("%+v, want %q", got, test.want)
			}
		})
	}
	one, err := known.Judge([]float64{120}, []float64{125})
	if err != nil || !near(one.Needed, 1.96*math.Sqrt2*3, 1e-12) {
		t.Errorf("needed %v, %v, want the smallest detectable change", one.Needed, err)
	}
}

func TestScalingTheTestsScalesTheTypicalError(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 20).Draw(t, "n")
		value := rapid.Float64Range(20, 260)
		first := rapid.SliceOfN(value, n, n).Draw(t, "first")
		second := rapid.SliceOfN(value, n, n).Draw(t, "second")
		plain, err := RetestOf(first, second)
		if err != nil {
			t.Fatal(err)
		}
		for i := range first {
			first[i], second[i] = 2*first[i], 2*second[i]
		}
		twice, err := RetestOf(second, first)
		if err != nil {
			t.Fatal(err)
		}
		if !near(twice.TypicalError, 2*plain.TypicalError, 1e-9) || !near(twice.CVPercent, plain.CVPercent, 1e-9) {
			t.Fatalf("plain %+v, doubled and swapped %+v", plain, twice)
		}
	})
}
