package stats

import (
	"math"
	"slices"
)

// A Trend is the Theil–Sen line y = Intercept + Slope·x. Low and High bound the
// slope at the confidence asked for; both are NaN when ties leave the ranks
// without a variance.
type Trend struct{ Slope, Low, High, Intercept float64 }

// TheilSen returns the median of the slopes between all pairs of points with
// different x, its rank interval at the given confidence (0.95 for 95 %), and
// the intercept median(y) − slope·median(x).
//
// It returns [ErrLengths], [ErrTooFew] below two points, [ErrNoSpread] if all x
// are equal and [ErrConfidence]. It holds n·(n−1)/2 slopes in memory.
//
// Source: P. K. Sen, J. Am. Stat. Assoc. 63 (1968) 1379–1389, equation 2.6; the
// ranks are rounded as SciPy's stats.theilslopes rounds them (half to even).
func TheilSen(x, y []float64, confidence float64) (Trend, error) {
	switch {
	case len(x) != len(y):
		return Trend{}, ErrLengths
	case len(x) < 2:
		return Trend{}, ErrTooFew
	case !(confidence > 0 && confidence < 1):
		return Trend{}, ErrConfidence
	}
	slopes := pairSlopes(x, y)
	if len(slopes) == 0 {
		return Trend{}, ErrNoSpread
	}
	slices.Sort(slopes)
	slope := medianSorted(slopes)
	trend := Trend{Slope: slope, Low: math.NaN(), High: math.NaN(), Intercept: Median(y) - slope*Median(x)}

	variance := (rankTerm(len(x)) - tieTerms(x) - tieTerms(y)) / 18
	if variance < 0 {
		return trend, nil
	}
	n := float64(len(slopes))
	reach := Normal(0.5+confidence/2) * math.Sqrt(variance)
	high := min(int(math.RoundToEven((n+reach)/2)), len(slopes)-1)
	low := max(int(math.RoundToEven((n-reach)/2))-1, 0)
	trend.Low, trend.High = slopes[low], slopes[high]
	return trend, nil
}

func pairSlopes(x, y []float64) []float64 {
	slopes := make([]float64, 0, len(x)*(len(x)-1)/2)
	for i := range x {
		for j := range i {
			if x[i] != x[j] {
				slopes = append(slopes, (y[i]-y[j])/(x[i]-x[j]))
			}
		}
	}
	return slopes
}

// rankTerm returns 18 times the variance of Kendall's S for n values without
// ties, and what a tie of n values takes away from it.
func rankTerm(n int) float64 {
	k := float64(n)
	return k * (k - 1) * (2*k + 5)
}

func tieTerms(v []float64) float64 {
	s := slices.Clone(v)
	slices.Sort(s)
	var total float64
	for start := 0; start < len(s); {
		end := start + 1
		for end < len(s) && s[end] == s[start] {
			end++
		}
		total += rankTerm(end - start)
		start = end
	}
	return total
}
