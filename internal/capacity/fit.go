package capacity

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/stats"
)

// Limits of the rate–duration fit.
const (
	// ShortestSeconds is the shortest all-out test that enters: shorter ones
	// bias S up and R down (Dekerle et al. 2006).
	ShortestSeconds = 30
	// leastSpan is how many times longer than the shortest test the longest
	// must be (assumed).
	leastSpan = 3
	// rounding is the share of the counts below which a difference is no more
	// than the last digits of the arithmetic.
	rounding = 1e-12
)

// A Test is one all-out test: rotations counted in a time window.
type Test struct {
	Seconds   float64     // above 0
	Rotations float64     // 0 or more; a mean of several counters may be fractional
	Timing    rate.Timing // how the window was kept; empty is taken as by hand
}

// RPM returns the test's rate.
func (t Test) RPM() float64 { return 60 * t.Rotations / t.Seconds }

// Fitted is a model fitted to all-out tests, with the standard errors of S
// (rpm) and R (rotations). Two tests determine the line and nothing more: both
// errors are then NaN. Tests is how many entered.
type Fitted struct {
	Model
	SESustainableRPM, SEReserve float64
	Tests                       int
}

// Why a fit was refused.
const (
	TooShort  = "too_short"  // a test under ShortestSeconds
	TooFew    = "too_few"    // fewer than two tests
	TooNarrow = "too_narrow" // durations span less than a factor 3
	Disagree  = "disagree"   // a longer test is faster than a shorter one
	NoRate    = "no_rate"    // the line gives S ≤ 0
	NoReserve = "no_reserve" // the line gives R < 0
)

// Refused reports tests that support no rate–duration line. Reason is one of
// the constants above. Repeat is the duration in seconds of the test to do
// (again) next, 0 if none in particular. Sustainable and Reserve hold the line
// that was turned down, where there was one.
type Refused struct {
	Reason               string
	Repeat               float64
	Sustainable, Reserve float64
}

func (r *Refused) Error() string {
	switch r.Reason {
	case TooShort:
		return fmt.Sprintf("an all-out test of %g s is under %d s", r.Repeat, ShortestSeconds)
	case TooFew:
		return "one more all-out test of another duration is needed"
	case TooNarrow:
		return fmt.Sprintf("the longest test must last at least %d times the shortest", leastSpan)
	case Disagree:
		return fmt.Sprintf("these tests disagree; repeat the %g s one", r.Repeat)
	case NoRate:
		return "these tests leave no rate that could be held"
	default:
		return "these tests leave less than no reserve; repeat the shortest one"
	}
}

// Fit draws N = R + S·t through all-out tests, N rotations in t seconds, and
// returns S in rpm and R in rotations with τ assumed.
//
// It returns a [*Refused] when a test is shorter than [ShortestSeconds], fewer
// than two tests are given, the durations span less than a factor 3, a longer
// test has a higher rate than a shorter one by more than the expanded (k = 2)
// uncertainty of their difference, S ≤ 0 or R < 0. Numbers that are no test at
// all return [rate.ErrSeconds] or [rate.ErrRotations].
//
// Source: H. Monod and J. Scherrer, Ergonomics 8 (1965) 329–338. R is the
// shaky one (published coefficients of variation 13–45 %): show its error.
func Fit(tests []Test) (Fitted, error) {
	if err := refuse(tests); err != nil {
		return Fitted{}, err
	}
	seconds, rotations := make([]float64, len(tests)), make([]float64, len(tests))
	for i, t := range tests {
		seconds[i], rotations[i] = t.Seconds, t.Rotations
	}
	line, err := stats.Line(seconds, rotations)
	if err != nil {
		return Fitted{}, fmt.Errorf("rate–duration line: %w", err)
	}
	slack := rounding * slices.Max(rotations)
	reason := ""
	switch {
	case !(line.Slope*slices.Max(seconds) > slack):
		reason = NoRate
	case line.Intercept < -slack:
		reason = NoReserve
	}
	if reason != "" {
		return Fitted{}, &Refused{Reason: reason, Sustainable: 60 * line.Slope, Reserve: line.Intercept}
	}
	return Fitted{
		Model: Model{
			SustainableRPM: 60 * line.Slope,
			Reserve:        max(0, line.Intercept),
			TauSeconds:     DefaultTauSeconds,
			Assumed:        []string{AssumedTau},
		},
		SESustainableRPM: 60 * line.SESlope,
		SEReserve:        line.SEIntercept,
		Tests:            len(tests),
	}, nil
}

// refuse returns why tests cannot carry a line, nil if they can.
func refuse(tests []Test) error {
	for _, t := range tests {
		switch {
		case !(t.Seconds > 0) || math.IsInf(t.Seconds, 0):
			return rate.ErrSeconds
		case !(t.Rotations >= 0) || math.IsInf(t.Rotations, 0):
			return rate.ErrRotations
		case t.Seconds < ShortestSeconds:
			return &Refused{Reason: TooShort, Repeat: t.Seconds}
		}
	}
	if len(tests) < 2 {
		return &Refused{Reason: TooFew}
	}
	byTime := slices.SortedStableFunc(slices.Values(tests), func(a, b Test) int {
		return cmp.Compare(a.Seconds, b.Seconds)
	})
	if byTime[len(byTime)-1].Seconds < leastSpan*byTime[0].Seconds {
		return &Refused{Reason: TooNarrow, Repeat: leastSpan * byTime[0].Seconds}
	}
	for i, long := range byTime {
		for _, short := range byTime[:i] {
			if short.Seconds < long.Seconds && disagree(short, long) {
				return &Refused{Reason: Disagree, Repeat: short.Seconds}
			}
		}
	}
	return nil
}

// disagree reports whether the longer test is faster than the shorter one by
// more than the expanded uncertainty, k = 2, of the difference.
func disagree(short, long Test) bool {
	u := math.Hypot(short.uncertainty(), long.uncertainty())
	return long.RPM()-short.RPM() > 2*u
}

func (t Test) uncertainty() float64 {
	return rate.Uncertainty(t.Rotations, t.Seconds, t.Timing)
}
