// Package rhythm answers whether a double under fits: two turns in one beat, how
// long the feet must stay up for it, how high that is, and what to change when
// it does not fit yet. It is pure and imports only the standard library.
package rhythm

import (
	"errors"
	"math"
)

const (
	// Gravity is the standard acceleration of free fall in m/s² (3rd CGPM, 1901).
	Gravity = 9.80665
	// Sweep is the time in seconds that the rope needs under the feet over both
	// passes. Assumed; a gym may set its own.
	Sweep = 0.05
	// MaxHeight is the highest jump in metres that doubles are prescribed for:
	// above it the athlete turns faster first. Our caution, no source.
	MaxHeight = 0.20
)

// Bounds of what is answered at all. Assumed, to refuse typing errors.
const (
	minRope, maxRope       = 2, 600 // rpm; the top as for counted rates
	minCadence, maxCadence = 1, 600 // jumps per minute
	maxSweep               = 1      // seconds
	maxFlight              = 2      // seconds; a jump of 4.9 m
)

// Errors of this package.
var (
	// ErrRope reports a rope rate outside 2–600 rpm.
	ErrRope = errors.New("the rope rate must be 2 to 600 rpm")
	// ErrCadence reports a cadence outside 1–600 jumps per minute.
	ErrCadence = errors.New("the cadence must be 1 to 600 jumps a minute")
	// ErrSweep reports a sweep time outside 0–1 s.
	ErrSweep = errors.New("the sweep must be 0 to 1 second")
	// ErrFlight reports a flight time that is not above 0 s and at most 2 s.
	ErrFlight = errors.New("the flight must be above 0 and at most 2 seconds")
	// ErrRow reports a row of doubles outside 1–1000.
	ErrRow = errors.New("a row must be 1 to 1000 doubles")
	// ErrTooHigh reports doubles that would need a jump above [MaxHeight].
	ErrTooHigh = errors.New("doubles would need too high a jump: turn faster first")
)

// A Timing says what a double under asks at one rope rate and one cadence.
type Timing struct {
	InRhythm   bool    // both turns fit in one beat
	TopCadence float64 // the fastest cadence with room for two turns, jumps/min
	Airtime    float64 // seconds the feet must be up
	Height     float64 // metres of jump that gives that airtime
}

// TimingOf returns the timing of a double under. ropeRPM is the rope's rate inside
// the double; a single-bounce burst is only a first guess at it. cadence is in
// jumps per minute, sweep in seconds (usually [Sweep]).
//
// In rhythm means 120/ropeRPM ≤ 60/cadence, which is ropeRPM ≥ 2·cadence; the
// airtime is one turn and the sweep, 60/ropeRPM + sweep.
//
// It returns [ErrRope], [ErrCadence] and [ErrSweep].
func TimingOf(ropeRPM, cadence, sweep float64) (Timing, error) {
	if err := check(ropeRPM, cadence, sweep); err != nil {
		return Timing{}, err
	}
	airtime := airtime(ropeRPM, sweep)
	return Timing{
		InRhythm:   ropeRPM >= 2*cadence,
		TopCadence: ropeRPM / 2,
		Airtime:    airtime,
		Height:     height(airtime),
	}, nil
}

func check(ropeRPM, cadence, sweep float64) error {
	switch {
	case !(ropeRPM >= minRope && ropeRPM <= maxRope):
		return ErrRope
	case !(cadence >= minCadence && cadence <= maxCadence):
		return ErrCadence
	case !(sweep >= 0 && sweep <= maxSweep):
		return ErrSweep
	}
	return nil
}

func airtime(ropeRPM, sweep float64) float64 { return 60/ropeRPM + sweep }

func height(flight float64) float64 { return Gravity * flight * flight / 8 }

// Height returns the height of a jump in metres from its flight time in
// seconds: g·t²/8, which supposes that the legs are as straight at landing as at
// take-off; tucked legs make the jump look higher.
//
// It returns [ErrFlight].
//
// Source: C. Bosco, P. Luhtanen and P. V. Komi, Eur. J. Appl. Physiol. 50 (1983)
// 273–282.
func Height(flight float64) (float64, error) {
	if !(flight > 0 && flight <= maxFlight) {
		return 0, ErrFlight
	}
	return height(flight), nil
}

// SlowestRope returns the rope rate in rpm below which a double needs a jump
// above [MaxHeight]: about 170 rpm at the usual sweep. It is +Inf when the sweep
// alone takes longer than such a jump.
func SlowestRope(sweep float64) float64 {
	turn := math.Sqrt(8*MaxHeight/Gravity) - sweep
	if turn <= 0 {
		return math.Inf(1)
	}
	return 60 / turn
}
