package stats

import (
	"math"
	"slices"
)

// Summary returns the number of values, their mean and their sample standard
// deviation (divisor n−1), in the unit of v. The mean of no values and the
// deviation of fewer than two are NaN.
//
// The deviations are taken from the mean in a second pass, with the correction
// of Chan, Golub and LeVeque, Am. Stat. 37 (1983) 242–247, so that values far
// from zero keep their digits.
func Summary(v []float64) (n int, m, sd float64) {
	m = mean(v)
	if len(v) < 2 {
		return len(v), m, math.NaN()
	}
	var squares, rest sum
	for _, x := range v {
		d := x - m
		squares.add(d * d)
		rest.add(d)
	}
	k := float64(len(v))
	variance := (squares.value() - rest.value()*rest.value()/k) / (k - 1)
	return len(v), m, math.Sqrt(max(0, variance))
}

// Median returns the middle value of v, or the mean of the middle two. It
// leaves v as it is and returns NaN if v is empty.
func Median(v []float64) float64 {
	s := slices.Clone(v)
	slices.Sort(s)
	return medianSorted(s)
}

func medianSorted(s []float64) float64 {
	n := len(s)
	switch {
	case n == 0:
		return math.NaN()
	case n%2 == 1:
		return s[n/2]
	default:
		return s[n/2-1] + (s[n/2]-s[n/2-1])/2
	}
}

// WeightedMean returns the mean of v under the weights w, all of which must be
// at least 0 with a sum above 0; otherwise the result is NaN.
func WeightedMean(v, w []float64) (float64, error) {
	if len(v) != len(w) {
		return 0, ErrLengths
	}
	var weighted, weights sum
	for i := range v {
		weighted.add(w[i] * v[i])
		weights.add(w[i])
	}
	return weighted.value() / weights.value(), nil
}
