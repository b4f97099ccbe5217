package rate

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"ropewalk.example/internal/stats"
)

// ErrNoTests reports that no test of the kind asked for is recent enough.
var ErrNoTests = errors.New("no recent test of this kind")

// Rules of combining.
const (
	newestTests   = 5    // tests that count, the newest (assumed)
	recentDays    = 42   // days that a test counts for (assumed)
	dayToDay      = 0.04 // coefficient of variation of one test (assumed, shown as such)
	halfTwoSided  = 0.975
	hoursOfOneDay = 24
)

// Kind says which results are alike: only these are ever combined.
type Kind struct{ Family, Step, Rope string }

// A Result is a rate that was measured on a day.
type Result struct {
	Rate
	Kind
	On time.Time
}

// A Combined rate is the level that several tests of one kind show. Low and
// High bound its 95 % interval, in rpm.
type Combined struct {
	Rate
	Low, High float64
	Tests     int
	Between   float64 // standard deviation between the tests, rpm, 0 or more
	Assumed   bool    // one test only: Between is the assumed day-to-day 4 %
}

// Recent combines the newest five results of one kind within the 42 days up to
// on. Later results are left out. It returns [ErrNoTests] when none is left.
func Recent(results []Result, kind Kind, on time.Time) (Combined, error) {
	var alike []Result
	for _, r := range results {
		age := on.Sub(r.On)
		if r.Kind == kind && age >= 0 && age <= recentDays*hoursOfOneDay*time.Hour {
			alike = append(alike, r)
		}
	}
	slices.SortStableFunc(alike, func(a, b Result) int { return cmp.Compare(b.On.UnixNano(), a.On.UnixNano()) })
	rates := make([]Rate, 0, newestTests)
	for _, r := range alike[:min(newestTests, len(alike))] {
		rates = append(rates, r.Rate)
	}
	return Combine(rates)
}

// Combine pools all the given tests, which must be alike, under the weights
// 1/(u² + s²) with s² by DerSimonian and Laird, and gives the mean a t-interval
// with k − 1 degrees of freedom. With one test s is an assumed day-to-day
// variation of 4 % of the rate, and the interval is normal.
//
// It returns [ErrNoTests] for none and an error for a U that is not above 0.
func Combine(tests []Rate) (Combined, error) {
	if len(tests) == 0 {
		return Combined{}, ErrNoTests
	}
	if len(tests) == 1 {
		return single(tests[0]), nil
	}
	rpm, u := make([]float64, len(tests)), make([]float64, len(tests))
	for i, t := range tests {
		rpm[i], u[i] = t.RPM, t.U
	}
	pooled, err := stats.DerSimonianLaird(rpm, u)
	if err != nil {
		return Combined{}, fmt.Errorf("combining %d tests: %w", len(tests), err)
	}
	c := Combined{
		Rate:    Rate{RPM: pooled.Mean, U: pooled.U},
		Tests:   len(tests),
		Between: math.Sqrt(pooled.Between),
	}
	return c.within(factor(len(tests) - 1)), nil
}

// factor is how many standard uncertainties the interval reaches to either side
// with df degrees of freedom, from 1.
func factor(df int) float64 {
	if df < len(factors) {
		return factors[df]
	}
	return stats.StudentT(halfTwoSided, float64(df))
}

// factors are those of few tests: a page asks for one per athlete and rate, and
// to find one takes longer than all else that a level takes.
var factors = func() (table [32]float64) {
	for df := 1; df < len(table); df++ {
		table[df] = stats.StudentT(halfTwoSided, float64(df))
	}
	return table
}()

func single(test Rate) Combined {
	between := dayToDay * test.RPM
	c := Combined{
		Rate:    Rate{RPM: test.RPM, U: math.Hypot(test.U, between)},
		Tests:   1,
		Between: between,
		Assumed: true,
	}
	return c.within(stats.Normal(halfTwoSided))
}

// within sets the interval to k standard uncertainties about the rate.
func (c Combined) within(k float64) Combined {
	c.Low, c.High = c.RPM-k*c.U, c.RPM+k*c.U
	return c
}

// fewTests is up to how many tests a t-interval says little: with two it is
// 12.7 standard errors to either side.
const fewTests = 3

// Shown returns c with the interval that pages show. Two or three tests know
// too little of their own scatter, so it is taken to be at least the assumed
// day-to-day 4 %, and the interval is normal, where that is narrower than the
// t-interval. Assumed then says so. Other numbers of tests are left as they are.
func (c Combined) Shown() Combined {
	if c.Tests < 2 || c.Tests > fewTests {
		return c
	}
	k := float64(c.Tests)
	between := math.Max(c.Between, dayToDay*c.RPM)
	within := math.Max(0, k*c.U*c.U-c.Between*c.Between)
	half := stats.Normal(halfTwoSided) * math.Sqrt((between*between+within)/k)
	if half >= c.High-c.RPM {
		return c
	}
	c.Low, c.High, c.Assumed = c.RPM-half, c.RPM+half, true
	return c
}
