package rate

import (
	"errors"
	"math"
	"slices"
)

// ErrNoCounts reports a test without any count.
var ErrNoCounts = errors.New("a test needs at least one count")

// farthestApart is how many rotations the two closest of several counts may
// differ before the test is counted again.
const farthestApart = 3

// Agreed is what several counters of one test add up to. Recount is set when
// even the two closest are more than three apart; Rotations is given then too.
type Agreed struct {
	Rotations float64
	Recount   bool
}

// Agree combines the counts of one test. One counter is taken as is, two are
// averaged; of three, the two closest are averaged, the two higher when they
// are equally spaced; of four or more, the highest and the lowest are dropped
// and the rest averaged.
//
// It returns [ErrNoCounts] and, for a negative count or NaN, [ErrRotations].
//
// Source: IJRU Rule Book 4.2.0 (2025), averaging of judges.
func Agree(counts []float64) (Agreed, error) {
	if len(counts) == 0 {
		return Agreed{}, ErrNoCounts
	}
	for _, c := range counts {
		if !(c >= 0) {
			return Agreed{}, ErrRotations
		}
	}
	sorted := slices.Sorted(slices.Values(counts))
	kept := sorted
	switch n := len(sorted); {
	case n == 3 && sorted[1]-sorted[0] < sorted[2]-sorted[1]:
		kept = sorted[:2]
	case n == 3:
		kept = sorted[1:]
	case n > 3:
		kept = sorted[1 : n-1]
	}
	var total float64
	for _, c := range kept {
		total += c
	}
	return Agreed{
		Rotations: total / float64(len(kept)),
		Recount:   len(sorted) > 1 && closest(sorted) > farthestApart,
	}, nil
}

// closest returns the smallest difference between neighbours.
func closest(sorted []float64) float64 {
	least := math.Inf(1)
	for i := 1; i < len(sorted); i++ {
		least = min(least, sorted[i]-sorted[i-1])
	}
	return least
}
