package stats

import (
	"math"
	"slices"
)

// A LineFit is the least-squares line y = Intercept + Slope·x with the standard
// errors of both. Slopes are in y per x, the rest in the unit of y; R2 is a
// share of the variance of y, 0–1.
//
// What the points do not determine is NaN: the errors and ResidualSD with two
// points, R2 when all y are equal.
type LineFit struct{ Slope, Intercept, SESlope, SEIntercept, ResidualSD, R2 float64 }

// Line fits y = a + b·x by ordinary least squares.
//
// x and y are paired. Line returns [ErrLengths] if they differ in length,
// [ErrTooFew] below two points and [ErrNoSpread] if all x are equal.
//
// Source: the normal equations about the means, with one step of iterative
// refinement; checked against NIST's Norris data to the digits certified.
func Line(x, y []float64) (LineFit, error) {
	switch {
	case len(x) != len(y):
		return LineFit{}, ErrLengths
	case len(x) < 2:
		return LineFit{}, ErrTooFew
	case slices.Min(x) == slices.Max(x): // the sums below may miss this by a rounding
		return LineFit{}, ErrNoSpread
	}
	xm, ym := mean(x), mean(y)
	var sxx, sxy, syy sum
	for i := range x {
		dx, dy := x[i]-xm, y[i]-ym
		sxx.add(dx * dx)
		sxy.add(dx * dy)
		syy.add(dy * dy)
	}
	rough := sxy.value() / sxx.value()
	step, level := refine(x, y, xm, rough, sxx.value())
	fit := LineFit{
		Slope:       rough + step,
		Intercept:   level - step*xm,
		SESlope:     math.NaN(),
		SEIntercept: math.NaN(),
		ResidualSD:  math.NaN(),
		R2:          math.NaN(),
	}
	n := float64(len(x))
	residual := residualSquares(x, y, rough, step, fit.Intercept)
	if len(x) > 2 {
		fit.ResidualSD = math.Sqrt(residual / (n - 2))
		fit.SESlope = fit.ResidualSD / math.Sqrt(sxx.value())
		fit.SEIntercept = fit.ResidualSD * math.Sqrt(1/n+xm*xm/sxx.value())
	}
	if slices.Min(y) < slices.Max(y) {
		fit.R2 = max(0, 1-residual/syy.value())
	}
	return fit, nil
}

// refine fits what the slope rough leaves over: step is to be added to rough,
// level is the mean of y − rough·x. Both keep digits that a slope near 1 and
// means far from 0 would lose.
func refine(x, y []float64, xm, rough, sxx float64) (step, level float64) {
	var left, along sum
	for i := range x {
		left.add(math.FMA(-rough, x[i], y[i]))
	}
	level = left.value() / float64(len(x))
	for i := range x {
		along.add((x[i] - xm) * (math.FMA(-rough, x[i], y[i]) - level))
	}
	return along.value() / sxx, level
}

func residualSquares(x, y []float64, rough, step, intercept float64) float64 {
	var s sum
	for i := range x {
		e := math.FMA(-rough, x[i], y[i]) - math.FMA(step, x[i], intercept)
		s.add(e * e)
	}
	return s.value()
}
