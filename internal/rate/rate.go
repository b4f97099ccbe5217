// Package rate turns what was counted in a hall into turning rates with honest
// uncertainties: timed counts, taps with time stamps, several counters of one
// test, several tests of one athlete. The protocols of the tests are a table
// here. It is pure computation and imports only the standard library and the
// project's stats package.
package rate

import (
	"errors"
	"fmt"
	"math"
)

// Errors of a timed count. They say what is wrong with the numbers; pages word
// them.
var (
	ErrSeconds   = errors.New("the window must be longer than 0 s")
	ErrRotations = errors.New("a count must be 0 or more")
	ErrLost      = errors.New("the time lost to catches must be 0 or more and shorter than the window")
	ErrTiming    = errors.New("a window is kept by app or by hand")
	ErrTooFast   = errors.New("a rate above 600 rpm is not taken")
)

// HighestRPM is the rate above which a count is refused: far above anything a
// person has turned (assumed).
const HighestRPM = 600

// A Rate is a number of rope turns per minute with its standard uncertainty,
// both in rpm.
type Rate struct{ RPM, U float64 }

// Expanded returns 2·U, the uncertainty that pages print after ±, in rpm.
func (r Rate) Expanded() float64 { return 2 * r.U }

// Timing says how a test's window was kept.
type Timing string

// The two ways of keeping time.
const (
	ByApp  Timing = "app"  // the app starts and stops by sound
	ByHand Timing = "hand" // a person starts and stops a watch
)

// Uncertainty returns the standard uncertainty of a window, in seconds: 0.05 by
// the app (assumed), else 0.10, the scatter of a person's start and stop
// reactions (Am. J. Phys. 87 (2019) 110).
func (t Timing) Uncertainty() float64 {
	if t == ByApp {
		return 0.05
	}
	return 0.10
}

// countUncertainty is that of a person's count, known to ±1: a rectangular
// distribution of half-width 1 (GUM, JCGM 100:2008, 4.3.7).
const countUncertainty = 0.57735026918962576451 // 1/√3

// A Count is one timed test as somebody counted it.
type Count struct {
	Counted float64 // 0 or more; the mean of several counters may be fractional
	OneFoot bool    // only one foot's steps were counted, as competitions do
	Seconds float64 // the window, above 0
	Timing  Timing  // how the window was kept; empty is taken as by hand

	Catches int     // catches whose lost time was taken, 0 or more
	Lost    float64 // seconds lost to them, 0 up to below Seconds
}

// Rotations returns the turns of the rope: the count, doubled when only one
// foot was counted.
func (c Count) Rotations() float64 {
	if c.OneFoot {
		return 2 * c.Counted
	}
	return c.Counted
}

// WholeTest returns the rate over the whole window, catches included, which
// gates and reports use: rpm = 60·N/T.
//
// It returns [ErrSeconds], [ErrRotations], [ErrTiming] or, above [HighestRPM],
// [ErrTooFast].
func (c Count) WholeTest() (Rate, error) {
	c.Catches, c.Lost = 0, 0
	return c.Turning()
}

// Turning returns the rate while the rope turned, which planning uses: rpm =
// 60·N/(T − time lost to catches). Learners gain mostly by catching less, not
// by turning faster, so the two rates must never be mixed up or averaged.
//
// It returns the errors of [Count.WholeTest] and [ErrLost]. The window's
// uncertainty grows with each catch timed as if each were a window of its own
// (assumed).
func (c Count) Turning() (Rate, error) {
	if err := c.check(); err != nil {
		return Rate{}, err
	}
	step := 1.0 // rotations to one unit of the count
	if c.OneFoot {
		step = 2
	}
	window := c.Timing.Uncertainty() * math.Sqrt(1+float64(c.Catches))
	r := timed(c.Rotations(), c.Seconds-c.Lost, step*countUncertainty, window)
	if !(r.RPM <= HighestRPM) {
		return Rate{}, fmt.Errorf("%w: %g rpm", ErrTooFast, r.RPM)
	}
	return r, nil
}

func (c Count) check() error {
	switch {
	case !(c.Seconds > 0) || math.IsInf(c.Seconds, 0):
		return ErrSeconds
	case !(c.Counted >= 0):
		return ErrRotations
	case !(c.Lost >= 0 && c.Lost < c.Seconds) || c.Catches < 0:
		return ErrLost
	case c.Timing != "" && c.Timing != ByApp && c.Timing != ByHand:
		return ErrTiming
	}
	return nil
}

// Uncertainty returns the standard uncertainty, in rpm, of the rate of a count
// of rotations over seconds (above 0).
func Uncertainty(rotations, seconds float64, timing Timing) float64 {
	return timed(rotations, seconds, countUncertainty, timing.Uncertainty()).U
}

// timed returns 60·N/T with u(rpm) = √((60·u_N/T)² + (rpm·u_T/T)²).
// Source: GUM, JCGM 100:2008, 5.1.2, for independent N and T.
func timed(rotations, seconds, uRotations, uSeconds float64) Rate {
	rpm := 60 * rotations / seconds
	return Rate{RPM: rpm, U: math.Hypot(60*uRotations/seconds, rpm*uSeconds/seconds)}
}
