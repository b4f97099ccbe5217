package stats

import "math"

// sum is a running total that keeps the low-order digits which plain addition
// drops. Source: A. Neumaier, Z. Angew. Math. Mech. 54 (1974) 39–51.
type sum struct{ total, lost float64 }

func (s *sum) add(v float64) {
	t := s.total + v
	if math.Abs(s.total) >= math.Abs(v) {
		s.lost += (s.total - t) + v
	} else {
		s.lost += (v - t) + s.total
	}
	s.total = t
}

func (s *sum) value() float64 { return s.total + s.lost }

// mean returns the mean of v, NaN if v is empty.
func mean(v []float64) float64 {
	var s sum
	for _, x := range v {
		s.add(x)
	}
	return s.value() / float64(len(v))
}
