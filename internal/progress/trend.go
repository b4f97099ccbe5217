package progress

import (
	"errors"
	"fmt"
	"time"

	"ropewalk.example/internal/stats"
)

// A Result is one test result on its day, in any unit in which more is better.
// Run lengths and rows of doubles grow by shares, so give their logarithms (and
// the bar's) to get a straight trend.
type Result struct {
	At    time.Time
	Value float64
}

// A Trend is a steady improvement per week with its rank interval, and the
// level that it gives for the day asked about. Units are those of the results.
type Trend struct {
	PerWeek, Low, High float64 // Low and High are NaN when ties leave no interval
	Level              float64
}

// ErrOneDay reports results that were all taken at the same time.
var ErrOneDay = errors.New("all results are from one day")

// TrendOf returns the Theil–Sen trend of results with its rank interval at the
// given confidence, and the level on the day today. One odd test in four
// moves it little.
//
// It returns [ErrTooFewTests] below two results, [ErrOneDay], [ErrNumber] and
// the error of a confidence outside 0 to 1.
//
// Source: P. K. Sen, J. Am. Stat. Assoc. 63 (1968) 1379–1389.
func TrendOf(results []Result, today time.Time, confidence float64) (Trend, error) {
	days, values, err := since(results, today)
	if err != nil {
		return Trend{}, err
	}
	line, err := stats.TheilSen(days, values, confidence)
	switch {
	case errors.Is(err, stats.ErrTooFew):
		return Trend{}, ErrTooFewTests
	case errors.Is(err, stats.ErrNoSpread):
		return Trend{}, ErrOneDay
	case err != nil:
		return Trend{}, fmt.Errorf("trend of %d results: %w", len(results), err)
	}
	const week = 7
	return Trend{PerWeek: line.Slope * week, Low: line.Low * week, High: line.High * week, Level: line.Intercept}, nil
}

// since returns the results as days from today (past days below 0) and values.
func since(results []Result, today time.Time) (days, values []float64, err error) {
	for i, r := range results {
		if !finite(r.Value) {
			return nil, nil, fmt.Errorf("result %d: %w", i+1, ErrNumber)
		}
		days = append(days, r.At.Sub(today).Hours()/24)
		values = append(values, r.Value)
	}
	return days, values, nil
}
