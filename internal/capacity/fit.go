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
	refused := Refused{Seconds: slices.Min(seconds), SustainableRPM: 60 * line.Slope, Reserve: line.Intercept}
	switch {
	case !(line.Slope*slices.Max(seconds) > slack):
		refused.Reason = NoRate
		return Fitted{}, &refused
	case line.Intercept < -slack:
		refused.Reason = NoReserve
		return Fitted{}, &refused
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
		if err := checkWindow(t.Seconds); err != nil {
			return err
		}
		if err := checkRotations(t.Rotations); err != nil {
			return err
		}
		if t.Seconds < ShortestSeconds {
			return &Refused{Reason: TooShort, Seconds: t.Seconds}
		}
	}
	switch len(tests) {
	case 0:
		return &Refused{Reason: TooFew, Seconds: ShortestSeconds}
	case 1:
		return &Refused{Reason: TooFew, Seconds: beside(tests[0].Seconds)}
	}
	byTime := slices.SortedStableFunc(slices.Values(tests), func(a, b Test) int {
		return cmp.Compare(a.Seconds, b.Seconds)
	})
	if byTime[len(byTime)-1].Seconds < leastSpan*byTime[0].Seconds {
		return &Refused{Reason: TooNarrow, Seconds: beside(byTime[0].Seconds)}
	}
	for i, long := range byTime {
		for _, short := range byTime[:i] {
			if short.Seconds < long.Seconds && disagree(short, long) {
				return &Refused{Reason: Disagree, Seconds: short.Seconds}
			}
		}
	}
	return nil
}

// beside returns the all-out window, in seconds, that goes with a test of the
// given duration: the first on the list that is long enough or short enough.
func beside(seconds float64) float64 {
	protocol, _ := rate.ProtocolOf(rate.AllOut)
	for _, w := range protocol.Windows {
		if w >= leastSpan*seconds || seconds >= leastSpan*w {
			return w
		}
	}
	return leastSpan * seconds
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

func checkWindow(seconds float64) error {
	if !(seconds > 0) || math.IsInf(seconds, 0) {
		return rate.ErrSeconds
	}
	return nil
}

func checkRotations(n float64) error {
	if !(n >= 0) || math.IsInf(n, 0) {
		return rate.ErrRotations
	}
	return nil
}
