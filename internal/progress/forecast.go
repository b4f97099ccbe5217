package progress

import (
	"errors"
	"slices"
	"time"
)

const (
	// MinForecastTests is the number of results below which nothing is forecast.
	MinForecastTests = 5
	// MaxForecastTests is the number of latest results a forecast rests on: an
	// older level says little about the present pace. Assumed.
	MaxForecastTests = 20
	// Horizon is how far ahead a forecast may reach, in days (26 weeks).
	Horizon = 26 * 7
	// bandConfidence is the share of athletes that a band is to hold.
	bandConfidence = 0.90
)

// Why no forecast is made. The pages word them.
var (
	// ErrTooFewTests reports fewer results than the answer needs.
	ErrTooFewTests = errors.New("too few tests")
	// ErrNoImprovement reports a trend whose interval includes none.
	ErrNoImprovement = errors.New("no improvement to be sure of yet")
	// ErrTooFar reports a likely day beyond the [Horizon].
	ErrTooFar = errors.New("the bar is more than 26 weeks away at this pace")
	// ErrReached reports a trend that has the bar already: it is time to test.
	ErrReached = errors.New("the trend has reached the bar")
)

// A Forecast is a band of days on which the athlete's level reaches a bar, in
// whole days after the day asked about. The band is to hold nine athletes in
// ten. It speaks of the level, not of one lucky or unlucky test.
type Forecast struct {
	Earliest, Likely, Latest int
	Open                     bool // the band goes on beyond the [Horizon], which then is Latest
}

// ForecastOf returns when the level behind results is likely to reach bar if
// the athlete goes on improving at the present pace.
//
// Each pair of results gives a line, as for the Theil–Sen trend. On the likely
// day half of the lines have reached the bar. The band holds the days on which
// that vote is no more one-sided than chance makes it, for a level that is just
// at the bar, in nine cases of ten. Far ahead the vote becomes the rank test of
// the trend itself, so that band and trend speak alike.
//
// The last [MaxForecastTests] results count, in any order. It returns
// [ErrTooFewTests], [ErrOneDay], [ErrNumber], [ErrNoImprovement], [ErrTooFar]
// and [ErrReached].
//
// Sources: P. K. Sen, J. Am. Stat. Assoc. 63 (1968) 1379–1389, for the pairs;
// E. C. Fieller, J. R. Stat. Soc. B 16 (1954) 175–185, for testing each day and
// keeping those that stand. The variance of the vote is ours; docs/science.md
// says how the band was checked.
func ForecastOf(results []Result, today time.Time, bar float64) (Forecast, error) {
	if !finite(bar) {
		return Forecast{}, ErrNumber
	}
	results = latest(results, MaxForecastTests)
	trend, err := TrendOf(results, today, bandConfidence)
	switch {
	case len(results) < MinForecastTests:
		return Forecast{}, ErrTooFewTests
	case err != nil:
		return Forecast{}, err
	case !(trend.Low > 0):
		return Forecast{}, ErrNoImprovement
	}
	days, values, err := since(results, today)
	if err != nil {
		return Forecast{}, err
	}
	return newVote(days, values, bar).forecast()
}

// latest returns the last n results in order of time.
func latest(results []Result, n int) []Result {
	ordered := slices.Clone(results)
	slices.SortStableFunc(ordered, func(a, b Result) int { return a.At.Compare(b.At) })
	return ordered[max(0, len(ordered)-n):]
}
