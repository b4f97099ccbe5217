package capacity

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"ropewalk.example/internal/rate"
)

func TestFit(t *testing.T) {
	nan := math.NaN()
	tests := []struct {
		name                       string
		tests                      []Test
		s, reserve, seS, seReserve float64
	}{
		// Computed with R 4.2.2, lm; S in rotations per second × 60.
		{"three tests", []Test{{Seconds: 30, Rotations: 90}, {Seconds: 60, Rotations: 165}, {Seconds: 180, Rotations: 450}},
			60 * 2.392857142857, 19.642857142857, 60 * 0.0206196525, 2.2868300848},
		// By hand.
		{"two tests", []Test{{Seconds: 180, Rotations: 450}, {Seconds: 30, Rotations: 90}}, 144, 18, nan, nan},
		{"no reserve at all", []Test{{Seconds: 30, Rotations: 75}, {Seconds: 90, Rotations: 225}}, 150, 0, nan, nan},
		{"no reserve, not exact in binary", []Test{{Seconds: 30, Rotations: 70.1}, {Seconds: 90, Rotations: 210.3}}, 140.2, 0, nan, nan},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got, err := Fit(test.tests)
			if err != nil {
				t.Fatal(err)
			}
			for _, v := range []struct {
				name      string
				got, want float64
			}{
				{"S", got.SustainableRPM, test.s}, {"R", got.Reserve, test.reserve},
				{"error of S", got.SESustainableRPM, test.seS}, {"error of R", got.SEReserve, test.seReserve},
			} {
				if !near(v.got, v.want, 5e-9) && !(math.IsNaN(v.got) && math.IsNaN(v.want)) {
					t.Errorf("%s = %.12g, want %.12g", v.name, v.got, v.want)
				}
			}
			if got.TauSeconds != DefaultTauSeconds || len(got.Assumed) != 1 || got.Assumed[0] != AssumedTau || got.Tests != len(test.tests) {
				t.Errorf("τ %g s, assumed %v, from %d tests", got.TauSeconds, got.Assumed, got.Tests)
			}
		})
	}
}

func TestFitRefusals(t *testing.T) {
	tests := []struct {
		name    string
		tests   []Test
		reason  string
		seconds float64
	}{
		{"under 30 s", []Test{{Seconds: 10, Rotations: 35}, {Seconds: 60, Rotations: 165}}, TooShort, 10},
		{"no test", nil, TooFew, 30},
		{"one short test", []Test{{Seconds: 30, Rotations: 90}}, TooFew, 180},
		{"one long test", []Test{{Seconds: 180, Rotations: 450}}, TooFew, 30},
		{"one very short of the list", []Test{{Seconds: 70, Rotations: 180}}, TooFew, 210},
		{"span below 3", []Test{{Seconds: 30, Rotations: 90}, {Seconds: 89.9, Rotations: 240}}, TooNarrow, 180},
		{"one duration twice", []Test{{Seconds: 60, Rotations: 165}, {Seconds: 60, Rotations: 163}}, TooNarrow, 180},
		{"longer is faster", []Test{{Seconds: 30, Rotations: 80}, {Seconds: 180, Rotations: 600}}, Disagree, 30},
		{"one pair of three disagrees", []Test{{Seconds: 180, Rotations: 450}, {Seconds: 60, Rotations: 180}, {Seconds: 30, Rotations: 86}}, Disagree, 30},
		{"S not above 0", []Test{{Seconds: 30, Rotations: 90}, {Seconds: 180, Rotations: 90}}, NoRate, 30},
		{"nothing counted", []Test{{Seconds: 30}, {Seconds: 180}}, NoRate, 30},
		{"R below 0 within the uncertainty", []Test{{Seconds: 30, Rotations: 75}, {Seconds: 180, Rotations: 455}}, NoReserve, 30},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			_, err := Fit(test.tests)
			var refused *Refused
			if !errors.As(err, &refused) || refused.Reason != test.reason || refused.Seconds != test.seconds || refused.Error() == "" {
				t.Errorf("error %#v, want %s, %g s", err, test.reason, test.seconds)
			}
		})
	}
	for _, test := range []struct {
		test Test
		want error
	}{
		{Test{Seconds: 0, Rotations: 10}, rate.ErrSeconds},
		{Test{Seconds: math.NaN(), Rotations: 10}, rate.ErrSeconds},
		{Test{Seconds: 60, Rotations: -1}, rate.ErrRotations},
		{Test{Seconds: 60, Rotations: math.Inf(1)}, rate.ErrRotations},
	} {
		if _, err := Fit([]Test{test.test, {Seconds: 180, Rotations: 450}}); !errors.Is(err, test.want) {
			t.Errorf("%+v: error %v, want %v", test.test, err, test.want)
		}
	}
}

// Source: competitors' medians of right-foot counts, 30 s and 180 s (ERSO 2022),
// whose rate over 180 s is 0.82 ± 0.09 of that over 30 s.
func TestCompetitorsMediansFit(t *testing.T) {
	for _, medians := range [][2]float64{{81.5, 391}, {77, 389.5}, {85, 408.5}, {88.5, 419}} {
		got, err := Fit([]Test{{Seconds: 30, Rotations: 2 * medians[0]}, {Seconds: 180, Rotations: 2 * medians[1]}})
		if err != nil {
			t.Errorf("%v: %v", medians, err)
			continue
		}
		if ratio := got.BestRPM(180) / got.BestRPM(30); !near(ratio, 0.82, 0.09) {
			t.Errorf("%v: 180 s over 30 s = %g", medians, ratio)
		}
	}
}

func TestFitLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.Float64Range(60, 240).Draw(t, "S")
		r := rapid.Float64Range(0, 60).Draw(t, "R")
		var tests []Test
		for _, seconds := range []float64{30, 60, 180} {
			tests = append(tests, Test{Seconds: seconds, Rotations: r + s*seconds/60})
		}
		got, err := Fit(tests)
		if err != nil || !near(got.SustainableRPM, s, 1e-8) || !near(got.Reserve, r, 1e-8) {
			t.Fatalf("S %g, R %g: fitted %+v, %v", s, r, got, err)
		}
		back, err := Fit([]Test{tests[2], tests[0], tests[1]})
		if err != nil || !near(back.Reserve, got.Reserve, 1e-9) {
			t.Fatalf("order matters: %+v, %+v, %v", got, back, err)
		}
	})
}
