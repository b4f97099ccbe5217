// Package rate turns what was counted in a hall into turning rates with honest
// uncertainties: timed counts, taps with time stamps, several counters of one
// test, several tests of one athlete. The protocols of the tests are a table
// here. It is pure computation and imports only the standard library, gonum
// and the project's stats package.
package rate

import "math"

// A Rate is a number of rope turns per minute with its standard uncertainty,
// both in rpm. Pages show the expanded uncertainty, see [Rate.Expanded].
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

// Seconds returns the standard uncertainty of the window, in seconds: 0.05 by
// the app (assumed), else 0.10, the scatter of a person's start and stop
// reactions (Am. J. Phys. 87 (2019) 110).
func (t Timing) Seconds() float64 {
	if t == ByApp {
		return 0.05
	}
	return 0.10
}

// countU is the standard uncertainty of a person's count, known to ±1 rotation:
// a rectangular distribution of half-width 1 (GUM, JCGM 100:2008, 4.3.7).
const countU = 0.57735026918962576451 // 1/√3

// Count returns the whole-test rate of rotations counted in seconds, which must
// be above 0: 60·N/T, and u(rpm) = √((60·u_N/T)² + (rpm·u_T/T)²).
//
// Source: GUM, JCGM 100:2008, 5.1.2, for independent N and T.
func Count(rotations, seconds float64, timing Timing) Rate {
	rpm := 60 * rotations / seconds
	return Rate{RPM: rpm, U: math.Hypot(60*countU/seconds, rpm*timing.Seconds()/seconds)}
}

// Turning returns the rate while the rope turned: that of rotations in the
// window less the seconds lost to catches, 0 or more and below seconds. It
// plans; the whole-test rate of [Count] gates and reports. Never average the
// two: learners gain mostly by catching less, not by turning faster.
func Turning(rotations, seconds, lost float64, timing Timing) Rate {
	return Count(rotations, seconds-lost, timing)
}
