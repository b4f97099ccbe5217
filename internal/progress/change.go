// Package progress answers what became of the training: whether a change is
// real, where the trend leads and when a gate is likely, how heavy a week was,
// and what load and pain allow next. It is pure, reads no clock, and imports
// only the standard library and internal/stats.
package progress

import (
	"errors"
	"math"

	"ropewalk.example/internal/stats"
)

// Errors about paired and listed numbers.
var (
	// ErrPairs reports first and second tests that differ in number.
	ErrPairs = errors.New("every first test needs its second")
	// ErrTooFewPairs reports fewer than two pairs.
	ErrTooFewPairs = errors.New("at least two pairs of tests are needed")
	// ErrNumber reports a value that is not a finite number.
	ErrNumber = errors.New("every value must be a finite number")
)

// A Retest says how far two tests of the same athlete differ when nothing has
// changed. All but CVPercent are in the unit of the tests.
type Retest struct {
	Pairs              int
	SDDifference       float64 // sample standard deviation of second − first
	TypicalError       float64 // SDDifference/√2: the scatter of one test
	CVPercent          float64 // TypicalError in percent of the grand mean; NaN when that mean is 0
	SmallestDetectable float64 // 1.96·√2·TypicalError: a difference that 95 % of retests stay within
}

// RetestOf returns the typical error of paired tests taken a few days apart.
//
// It returns [ErrPairs], [ErrTooFewPairs] and [ErrNumber].
//
// Source: W. G. Hopkins, Sports Med. 30 (2000) 1–15.
func RetestOf(first, second []float64) (Retest, error) {
	switch {
	case len(first) != len(second):
		return Retest{}, ErrPairs
	case len(first) < 2:
		return Retest{}, ErrTooFewPairs
	}
	differences := make([]float64, len(first))
	all := make([]float64, 0, 2*len(first))
	for i := range first {
		differences[i] = second[i] - first[i]
		all = append(all, first[i], second[i])
	}
	_, _, sd := stats.Summary(differences)
	_, grandMean, _ := stats.Summary(all)
	if !finite(sd, grandMean) {
		return Retest{}, ErrNumber
	}
	r := Retest{Pairs: len(first), SDDifference: sd, TypicalError: sd / math.Sqrt2, CVPercent: math.NaN()}
	r.SmallestDetectable = 1.96 * math.Sqrt2 * r.TypicalError
	if grandMean != 0 {
		r.CVPercent = 100 * r.TypicalError / grandMean
	}
	return r, nil
}

func finite(values ...float64) bool {
	for _, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

// Verdict labels a change. The pages word it.
type Verdict string

// The verdicts.
const (
	TooFewTests  Verdict = "too few tests"
	WithinError  Verdict = "within measurement error"
	RealChange   Verdict = "real"
	minimumPairs         = 5 // pairs behind a typical error before it may judge; our caution, no source
)

// A Change is a difference between two sets of tests and what it is worth.
type Change struct {
	Verdict    Verdict
	Difference float64 // mean after − mean before; NaN when one of them is missing
	Needed     float64 // a difference above this is real; NaN when it cannot be said
}

// Judge compares the mean of the tests after with the mean of those before. The
// smallest detectable change is that of means of so many tests:
// 1.96·TypicalError·√(1/before + 1/after), which for one test each is
// r.SmallestDetectable. A change of exactly that size is still within error.
//
// It returns [ErrNumber].
func (r Retest) Judge(before, after []float64) (Change, error) {
	if !finite(before...) || !finite(after...) || !finite(r.TypicalError) {
		return Change{}, ErrNumber
	}
	_, meanBefore, _ := stats.Summary(before)
	_, meanAfter, _ := stats.Summary(after)
	c := Change{Verdict: TooFewTests, Difference: meanAfter - meanBefore, Needed: math.NaN()}
	if r.Pairs < minimumPairs || len(before) == 0 || len(after) == 0 {
		return c, nil
	}
	c.Needed = 1.96 * r.TypicalError * math.Sqrt(1/float64(len(before))+1/float64(len(after)))
	c.Verdict = WithinError
	if math.Abs(c.Difference) > c.Needed {
		c.Verdict = RealChange
	}
	return c, nil
}
