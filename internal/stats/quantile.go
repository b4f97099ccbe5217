package stats

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// Normal returns the p-quantile of the standard normal distribution, ±Inf at
// p = 0 and 1, NaN outside 0–1.
func Normal(p float64) float64 {
	if !(p >= 0 && p <= 1) {
		return math.NaN()
	}
	return mathext.NormalQuantile(p)
}

// StudentT returns the p-quantile of Student's t distribution with df degrees
// of freedom (above 0), ±Inf at p = 0 and 1, NaN outside the domain. It is good
// to ten digits.
func StudentT(p, df float64) float64 {
	switch {
	case !(p >= 0 && p <= 1) || !(df > 0):
		return math.NaN()
	case p == 0 || p == 1:
		return math.Inf(int(2*p - 1))
	case math.IsInf(df, 1):
		return Normal(p)
	}
	return distuv.StudentsT{Sigma: 1, Nu: df}.Quantile(p)
}

// BetaQuantile returns the p-quantile of the Beta(a, b) distribution, a and b
// above 0, good to ten digits. It is NaN outside the domain. The Jeffreys interval for k events in
// n trials takes the quantiles of Beta(k + ½, n − k + ½).
func BetaQuantile(p, a, b float64) float64 {
	if !(p >= 0 && p <= 1) || !(a > 0) || !(b > 0) {
		return math.NaN()
	}
	return mathext.InvRegIncBeta(a, b, p)
}
