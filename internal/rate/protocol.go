package rate

import (
	"slices"
	"strconv"
)

// A Measure is what a test's record consists of.
type Measure string

// What may be counted or timed.
const (
	Rotations  Measure = "rotations" // turns of the rope in a window
	Run        Measure = "run"       // reps up to the catch, or until the coach stops it
	Bouts      Measure = "bouts"     // turns in each of several windows with rests
	Doubles    Measure = "doubles"   // double unders in a row
	FlightTime Measure = "flight"    // seconds off the floor, from a clip or a mat
	Successes  Measure = "successes" // good tries out of a number of tries at a task
	InARow     Measure = "in_a_row"  // cycles or rounds of a task in a row
)

// A Protocol is one way of testing.
type Protocol struct {
	Key      string
	Name     string
	Measured Measure
	Windows  []float64 // allowed windows, s, the preferred one first; none: no window
	AllOut   bool      // as many as one can: never for unattended minors
	// FromStage is the first ladder stage at which the test is done, 0 for any.
	FromStage int
}

// Keys of the protocols that ship.
const (
	Base        = "base"
	Burst       = "burst"
	AllOut      = "all_out"
	CleanRun    = "clean_run"
	RepeatBurst = "repeat_burst"
	DoublesRun  = "doubles"
	Flight      = "flight"
	InDouble    = "in_double"
	Tries       = "tries"
	Cycles      = "split"
	Rounds      = "pattern"
)

// Protocols returns the tests there are, in the order in which an athlete meets
// them. A new test is a new row.
//
// Source: windows and names are common practice, no published source; all-out
// tests start at 30 s after Dekerle et al. (2006); the stages are our caution.
func Protocols() []Protocol { return slices.Clone(protocols) }

var protocols = []Protocol{
	{Key: Base, Name: "Base rate", Measured: Rotations, Windows: []float64{60, 30, 15}},
	{Key: CleanRun, Name: "Clean run", Measured: Run},
	{Key: Burst, Name: "Burst rate", Measured: Rotations, Windows: []float64{10, 5}, FromStage: 6},
	{Key: AllOut, Name: "All-out", Measured: Rotations, Windows: []float64{30, 60, 180}, AllOut: true, FromStage: 6},
	{Key: RepeatBurst, Name: "Repeat burst", Measured: Bouts, Windows: []float64{10, 5, 15, 20, 30}, AllOut: true, FromStage: 6},
	{Key: Flight, Name: "Flight time", Measured: FlightTime},
	{Key: Cycles, Name: "Cycles of a split", Measured: InARow, FromStage: 6},
	{Key: InDouble, Name: "Inside a double", Measured: Rotations, Windows: []float64{10, 5}, FromStage: 9},
	{Key: Tries, Name: "Tries at a task", Measured: Successes, FromStage: 10},
	{Key: Rounds, Name: "Rounds of a pattern", Measured: InARow, FromStage: 12},
	{Key: DoublesRun, Name: "Doubles in a row", Measured: Doubles, FromStage: 10},
}

// ProtocolOf returns the protocol with the given key.
func ProtocolOf(key string) (Protocol, bool) {
	i := slices.IndexFunc(protocols, func(p Protocol) bool { return p.Key == key })
	if i < 0 {
		return Protocol{}, false
	}
	return protocols[i], true
}

// Allows reports whether the test may be done over a window of seconds. A test
// without windows allows only 0.
func (p Protocol) Allows(seconds float64) bool {
	if len(p.Windows) == 0 {
		return seconds == 0
	}
	return slices.Contains(p.Windows, seconds)
}

// Family names the results that may be combined: base counts over 60, 30 and
// 15 s are alike, and so are bursts; all-out rates fall with time and are alike
// only over the same window.
func (p Protocol) Family(seconds float64) string {
	if p.AllOut && len(p.Windows) > 0 {
		return p.Key + " " + strconv.FormatFloat(seconds, 'g', -1, 64) + " s"
	}
	return p.Key
}
