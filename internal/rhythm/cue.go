package rhythm

import "slices"

// A Beat is one beat of a cue. Its value is the number of rope turns in it.
type Beat int

// The beats.
const (
	Stop   Beat = iota // stand still
	Single             // one turn
	Double             // two turns in one jump
)

// A Pattern is a sequence of beats, sounded Rounds times without a gap.
type Pattern struct {
	Code   string // the pages word it
	Beats  []Beat
	Rounds int
}

// The codes of the patterns.
const (
	OneAndStop  = "one and stop"
	EveryFourth = "every fourth"
	InARow      = "in a row"
)

// OneDoubleThenStop is ten singles to settle in, one double, and a stop.
// Common practice, no source.
func OneDoubleThenStop() Pattern {
	return Pattern{OneAndStop, slices.Concat(slices.Repeat([]Beat{Single}, 10), []Beat{Double, Stop}), 1}
}

// EveryFourthJump is three singles and a double in a steady four, eight rounds.
// Common practice, no source.
func EveryFourthJump() Pattern {
	return Pattern{EveryFourth, []Beat{Single, Single, Single, Double}, 8}
}

// DoublesInARow is n doubles without a single between, 1–1000. It returns
// [ErrRow].
func DoublesInARow(n int) (Pattern, error) {
	if n < 1 || n > 1000 {
		return Pattern{}, ErrRow
	}
	return Pattern{InARow, slices.Repeat([]Beat{Double}, n), 1}, nil
}

// Jumps returns the floor contacts of the whole pattern: every jump once, a
// double too.
func (p Pattern) Jumps() int {
	jumps := 0
	for _, b := range p.Beats {
		if b != Stop {
			jumps++
		}
	}
	return jumps * p.Rounds
}

// Doubles returns the double tries of the whole pattern.
func (p Pattern) Doubles() int {
	doubles := 0
	for _, b := range p.Beats {
		if b == Double {
			doubles++
		}
	}
	return doubles * p.Rounds
}

// A Cue is one sound: a beat and when it comes, in seconds from the first.
type Cue struct {
	At   float64
	Beat Beat
}

// Cues returns the sounds of p at a's cue cadence, which leaves room for two
// turns in each beat. It returns [ErrTooHigh] for a pattern with doubles while a
// does not allow them.
func (a Advice) Cues(p Pattern) ([]Cue, error) {
	if p.Doubles() > 0 && !a.Allowed {
		return nil, ErrTooHigh
	}
	cues := make([]Cue, 0, len(p.Beats)*p.Rounds)
	for range p.Rounds {
		for _, b := range p.Beats {
			cues = append(cues, Cue{At: float64(len(cues)) * 60 / a.CueCadence, Beat: b})
		}
	}
	return cues, nil
}
