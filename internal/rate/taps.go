package rate

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"ropewalk.example/internal/stats"
)

// Errors of a tap record.
var (
	ErrFewTaps  = errors.New("at least 4 taps are needed")
	ErrTapOrder = errors.New("taps must be given in the order of time")
	ErrPerTap   = errors.New("rotations per tap must be above 0")
	ErrNoTempo  = errors.New("the taps show no steady tempo")
)

// Rules of the tap estimator (assumed).
const (
	leastTaps   = 4
	shortestGap = 0.25 // of the median gap: closer taps are a wet screen's
	longestGap  = 2.5  // of the median gap: beyond it a new piece begins
)

// Tapped is the turning rate that a tap record shows.
type Tapped struct {
	Rate                // U is NaN when the pieces are too short to show scatter
	Filled      int     // taps that were missed and filled in
	Dropped     int     // taps too close to the one before
	Rotations   float64 // turns that the taps kept and filled stand for
	Pieces      int     // runs of taps without a break
	LongestRest float64 // longest break between pieces, s
}

// Taps estimates the turning rate from the times of taps, in seconds, each
// standing for perTap rotations. Catches are the times at which a catch was
// pressed; they split the record, and so do gaps over 2.5 medians.
//
// Taps closer than a quarter of the median gap to the one before are dropped.
// The step from tap to tap is the gap in medians, rounded, at least 1, so that
// a missed tap costs nothing; one slope b of time on steps is fitted to all
// pieces, with an intercept each, and rpm = 60·perTap/b. U is the slope's
// standard error, carried over.
//
// It returns [ErrPerTap], [ErrTapOrder], [ErrFewTaps] (also when too few are
// left), [ErrNoTempo] and [ErrTooFast].
//
// Source: least squares with a common slope; the limits are assumed.
func Taps(at []float64, perTap float64, catches []float64) (Tapped, error) {
	if !(perTap > 0) || math.IsInf(perTap, 0) {
		return Tapped{}, ErrPerTap
	}
	for i, t := range at {
		if math.IsNaN(t) || math.IsInf(t, 0) || i > 0 && t < at[i-1] {
			return Tapped{}, ErrTapOrder
		}
	}
	if len(at) < leastTaps {
		return Tapped{}, ErrFewTaps
	}
	kept := debounce(at, shortestGap*stats.Median(gaps(at)))
	if len(kept) < leastTaps {
		return Tapped{}, ErrFewTaps
	}
	tapped := fitTaps(kept, stats.Median(gaps(kept)), catches)
	tapped.Dropped = len(at) - len(kept)
	tapped.Rotations = perTap * float64(len(kept)+tapped.Filled)
	return tapped.perMinute(perTap)
}

// perMinute turns the seconds per step that t holds as its rate into rpm.
func (t Tapped) perMinute(perTap float64) (Tapped, error) {
	b := t.RPM
	if !(b > 0) {
		return Tapped{}, ErrNoTempo
	}
	t.Rate = Rate{RPM: 60 * perTap / b, U: 60 * perTap / b * (t.U / b)}
	if !(t.RPM <= HighestRPM) {
		return Tapped{}, fmt.Errorf("%w: %g rpm", ErrTooFast, t.RPM)
	}
	return t, nil
}

func gaps(at []float64) []float64 {
	g := make([]float64, len(at)-1)
	for i := range g {
		g[i] = at[i+1] - at[i]
	}
	return g
}

// debounce drops each tap that follows the one kept before it by less than
// least seconds.
func debounce(at []float64, least float64) []float64 {
	kept := []float64{at[0]}
	for _, t := range at[1:] {
		if t-kept[len(kept)-1] >= least {
			kept = append(kept, t)
		}
	}
	return kept
}

// fitTaps fits the common slope; the rate it returns is in seconds per step,
// NaN where no piece has two taps.
func fitTaps(at []float64, median float64, catches []float64) Tapped {
	var t Tapped
	steps, times := make([]float64, len(at)), slices.Clone(at)
	for start := 0; start < len(at); {
		end := numberPiece(at, steps, start, median, catches)
		t.Pieces++
		t.Filled += int(steps[end-1]) - (end - 1 - start)
		if end < len(at) {
			t.LongestRest = max(t.LongestRest, at[end]-at[end-1])
		}
		centre(steps[start:end])
		centre(times[start:end])
		start = end
	}
	var xx, xy, left float64
	for i, x := range steps {
		xx, xy = xx+x*x, xy+x*times[i]
	}
	b := xy / xx
	for i, x := range steps {
		e := times[i] - b*x
		left += e * e
	}
	t.Rate = Rate{RPM: b, U: math.NaN()}
	if freedom := len(at) - t.Pieces - 1; freedom > 0 {
		t.U = math.Sqrt(left / float64(freedom) / xx)
	}
	return t
}

// numberPiece writes the steps, counted from 0, of the run of taps from start,
// and returns where the run ends (exclusive).
func numberPiece(at, steps []float64, start int, median float64, catches []float64) (end int) {
	for end = start + 1; end < len(at); end++ {
		gap := at[end] - at[end-1]
		if gap > longestGap*median || caught(at[end-1], at[end], catches) {
			break
		}
		steps[end] = steps[end-1] + max(1, math.Round(gap/median))
	}
	return end
}

// caught reports whether a catch was pressed after from and up to to.
func caught(from, to float64, catches []float64) bool {
	return slices.ContainsFunc(catches, func(c float64) bool { return from < c && c <= to })
}

// centre takes the mean of v from each of its values.
func centre(v []float64) {
	var total float64
	for _, x := range v {
		total += x
	}
	mean := total / float64(len(v))
	for i := range v {
		v[i] -= mean
	}
}
