// Package floor answers who jumps when in a hall with one loudspeaker: how many
// fit on the floor, who counts for whom, the turns that pace groups take, and
// where such a course stands after some seconds. It is pure and imports package
// planner.
package floor

import "math"

// Space is the floor that is free for jumping, in metres.
type Space struct {
	LengthM  float64
	WidthM   float64
	SpacingM float64 // from one jumper to the next
}

// DefaultSpacingM leaves an arm and a rope clear on every side (common
// practice, no source). A gym sets its own.
const DefaultSpacingM = 3

// Fits returns how many can jump at once: jumpers stand on a grid, SpacingM from
// one another and half of that from the walls. It is 0 where a measure is not a
// length above 0.
func (s Space) Fits() int {
	for _, m := range []float64{s.LengthM, s.WidthM, s.SpacingM} {
		if !(m > 0 && m <= 1e4) {
			return 0
		}
	}
	const slack = 1e-9 // 9 m at 3 m are three places, whatever the last digit
	along := math.Floor(s.LengthM/s.SpacingM + slack)
	across := math.Floor(s.WidthM/s.SpacingM + slack)
	return int(along * across)
}

// A Wave is who jumps at one go while somebody counts for each.
type Wave struct {
	Letter string   // "A", "B", …
	Jump   []string // ids
	Count  []string // Count[i] counts for Jump[i]; "" where the coach does
}

// CountingWaves parts athletes, in the order they stand in, into pairs of which
// one jumps while the other counts, then they change. No wave has more jumpers
// than fit; fits of 0 is no limit. For the odd one out the coach counts, in a
// wave that has room.
func CountingWaves(ids []string, fits int) []Wave {
	if fits < 1 {
		fits = len(ids)
	}
	var waves []Wave
	for from := 0; from < len(ids); {
		pairs := min((len(ids)-from)/2, fits)
		first, second := Wave{}, Wave{}
		for i := range pairs {
			a, b := ids[from+2*i], ids[from+2*i+1]
			first.Jump, first.Count = append(first.Jump, a), append(first.Count, b)
			second.Jump, second.Count = append(second.Jump, b), append(second.Count, a)
		}
		from += 2 * pairs
		if from == len(ids)-1 && pairs < fits {
			first.Jump, first.Count = append(first.Jump, ids[from]), append(first.Count, "")
			from++
		}
		waves = append(waves, first)
		if len(second.Jump) > 0 {
			waves = append(waves, second)
		}
	}
	for i := range waves {
		waves[i].Letter = Letter(i)
	}
	return waves
}

// Letter names the i-th group or wave, from 0: A to Z, then AA.
func Letter(i int) string {
	const letters = 26
	if i < 0 {
		return ""
	}
	return Letter(i/letters-1) + string(rune('A'+i%letters))
}
