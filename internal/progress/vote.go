package progress

import (
	"math"
	"sort"

	"ropewalk.example/internal/stats"
)

// A vote asks, for each pair of results, whether the line through both has
// reached the bar by a given day.
type vote struct {
	days  []float64 // when the results were taken, ascending
	above []float64 // result less the bar
	share []float64 // work space of score: n×n, see there
}

func newVote(days, values []float64, bar float64) vote {
	v := vote{days, make([]float64, len(days)), make([]float64, len(days)*len(days))}
	for i := range values {
		v.above[i] = values[i] - bar
	}
	return v
}

// forecast searches the days up to the horizon for the likely day and the ends
// of the band.
func (v vote) forecast() (Forecast, error) {
	z := stats.Normal(0.5 + bandConfidence/2)
	firstAbove := func(limit float64) int {
		return sort.Search(Horizon+1, func(day int) bool { return v.score(float64(day)) >= limit })
	}
	f := Forecast{Earliest: firstAbove(-z), Likely: firstAbove(0), Latest: firstAbove(z)}
	switch {
	case f.Likely == 0:
		return Forecast{}, ErrReached
	case f.Likely > Horizon:
		return Forecast{}, ErrTooFar
	case f.Latest > Horizon:
		f.Latest, f.Open = Horizon, true
	}
	return f, nil
}

// score returns the votes for minus the votes against the bar being reached by
// day, in standard deviations of that difference for a level just at the bar.
//
// The line through results i and j, i earlier, is above the bar on day when
// w_j·above_i − w_i·above_j is, w being the days from day. Two such forms in
// independent scatter of the same size have the correlation ρ of their weights,
// and their signs the covariance (2/π)·asin ρ, which is exact for normal
// scatter; only pairs with a result in common are correlated at all.
func (v vote) score(day float64) float64 {
	n, pairs, votes := len(v.days), 0, 0
	for i := range n {
		for j := i + 1; j < n; j++ {
			v.share[i*n+j], v.share[j*n+i] = 0, 0
			if v.days[i] == v.days[j] {
				continue
			}
			wi, wj := v.days[i]-day, v.days[j]-day
			length := math.Hypot(wi, wj)
			v.share[i*n+j], v.share[j*n+i] = wj/length, -wi/length
			pairs++
			votes += sign(wj*v.above[i] - wi*v.above[j])
		}
	}
	variance := float64(pairs)
	for i := range n {
		row := v.share[i*n : (i+1)*n]
		for a := range n {
			for b := a + 1; b < n; b++ {
				if a != i && b != i {
					variance += 4 / math.Pi * math.Asin(row[a]*row[b])
				}
			}
		}
	}
	return float64(votes) / math.Sqrt(variance)
}

func sign(x float64) int {
	switch {
	case x > 0:
		return 1
	case x < 0:
		return -1
	}
	return 0
}
