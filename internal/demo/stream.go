package demo

import (
	"math"
	"math/rand/v2"
)

// seed is the first day of the term.
const seed = 20260907

// A stream gives the draws of one athlete in one layer, so that adding an
// athlete or a layer moves nobody else.
type stream struct{ *rand.Rand }

// layer returns stream n of an athlete; layer 0 is the term itself.
func layer(n uint64, athlete int) stream {
	return stream{rand.New(rand.NewPCG(seed+n, uint64(athlete)))}
}

// around draws from a normal distribution. The conversion keeps the compiler
// from fusing the operations, which would move numbers between machines.
func (s stream) around(mean, deviation float64) float64 {
	return mean + float64(deviation*s.NormFloat64())
}

// within is around, clipped to low…high.
func (s stream) within(mean, deviation, low, high float64) float64 {
	return min(high, max(low, s.around(mean, deviation)))
}

// poisson draws a count by inversion of one uniform, at most limit.
func (s stream) poisson(mean float64, limit int) int {
	u := s.Float64()
	p := math.Exp(-mean)
	below := p
	k := 0
	for u > below && k < limit {
		k++
		p *= mean / float64(k)
		below += p
	}
	return k
}

// geometric draws how many in a row, at least 1, when mean is above 1.
func (s stream) geometric(mean float64) int {
	return 1 + int(math.Log(1-s.Float64())/math.Log(1-1/mean))
}

// A weight is the share of a value; shares sum to 1.
type weight struct {
	value int
	share float64
}

// pick draws one of the values.
func (s stream) pick(weights []weight) int {
	u := s.Float64()
	for _, w := range weights {
		if u -= w.share; u < 0 {
			return w.value
		}
	}
	return weights[len(weights)-1].value // the shares' rounding
}
