package stats

import "math"

// A Pooled is the mean of values that differ by more than their own
// uncertainties: Mean with its standard uncertainty U, both in the unit of the
// values, and Between, the variance between them (unit squared, 0 or more).
type Pooled struct{ Mean, U, Between float64 }

// DerSimonianLaird pools values with standard uncertainties u under the weights
// 1/(u² + s²), s² being the moment estimate of the variance between the values,
// floored at 0. One value is returned as it is.
//
// It returns [ErrLengths], [ErrTooFew] for no values and [ErrUncertainty].
//
// Source: R. DerSimonian and N. Laird, Control. Clin. Trials 7 (1986) 177–188.
func DerSimonianLaird(values, u []float64) (Pooled, error) {
	switch {
	case len(values) != len(u):
		return Pooled{}, ErrLengths
	case len(values) == 0:
		return Pooled{}, ErrTooFew
	}
	for _, e := range u {
		if !(e > 0) {
			return Pooled{}, ErrUncertainty
		}
	}
	if len(values) == 1 {
		return Pooled{Mean: values[0], U: u[0]}, nil
	}
	between := betweenVariance(values, u)
	weights := inverseVariances(u, between)
	m, err := WeightedMean(values, weights)
	if err != nil {
		return Pooled{}, err
	}
	var total sum
	for _, w := range weights {
		total.add(w)
	}
	return Pooled{Mean: m, U: 1 / math.Sqrt(total.value()), Between: between}, nil
}

func inverseVariances(u []float64, between float64) []float64 {
	weights := make([]float64, len(u))
	for i, e := range u {
		weights[i] = 1 / (e*e + between)
	}
	return weights
}

// betweenVariance returns max(0, (Q − (k−1))/C) for k values.
func betweenVariance(values, u []float64) float64 {
	weights := inverseVariances(u, 0)
	var total, squared, weighted, q sum
	for i, w := range weights {
		total.add(w)
		squared.add(w * w)
		weighted.add(w * values[i])
	}
	m := weighted.value() / total.value()
	for i, w := range weights {
		q.add(w * (values[i] - m) * (values[i] - m))
	}
	c := total.value() - squared.value()/total.value()
	return max(0, (q.value()-float64(len(values)-1))/c)
}
