package rhythm

import "math"

// A Step is one thing to change before, or while, doubles are trained.
type Step string

// The steps, in the order in which they are taken.
const (
	TurnFaster Step = "turn faster" // the jump needed is above MaxHeight: no doubles yet
	SlowTheCue Step = "slow the cue"
	JumpHigher Step = "jump higher" // doubles are allowed, but the measured flight is too short
)

// A Jumper is what is known of an athlete's doubles.
type Jumper struct {
	RopeRPM      float64 // rate inside the double, or of a single-bounce burst
	InsideDouble bool    // RopeRPM was measured in a double or with both handles in one hand
	Cadence      float64 // jumps per minute the athlete jumps at
	Flight       float64 // measured flight time in seconds, 0 if not measured
	Sweep        float64 // seconds, usually [Sweep]
}

// An Advice is what follows for the next doubles, in numbers.
type Advice struct {
	Timing
	FirstGuess  bool    // RopeRPM comes from single bounces, so all numbers are first guesses
	CueCadence  float64 // whole jumps per minute to cue: the athlete's own, or slower if two turns need it
	Allowed     bool    // the jump needed is at most [MaxHeight]
	SlowestRope float64 // rpm from which doubles are allowed
	SavedBy10   float64 // metres of height that 10 rpm more would save
	Measured    bool    // a flight time was given, so Margin and JumpHeight hold
	Margin      float64 // measured flight less the airtime needed, seconds; below 0 is short
	JumpHeight  float64 // height of the measured jump, metres
	Steps       []Step  // what to change, first things first; empty when all fits
}

// Advise returns the advice for j. It returns [ErrRope], [ErrCadence],
// [ErrSweep] and [ErrFlight].
func Advise(j Jumper) (Advice, error) {
	timing, err := TimingOf(j.RopeRPM, j.Cadence, j.Sweep)
	if err != nil {
		return Advice{}, err
	}
	if !(j.Flight >= 0 && j.Flight <= maxFlight) {
		return Advice{}, ErrFlight
	}
	a := Advice{
		Timing:      timing,
		FirstGuess:  !j.InsideDouble,
		CueCadence:  math.Floor(min(j.Cadence, timing.TopCadence)),
		Allowed:     timing.Height <= MaxHeight,
		SlowestRope: SlowestRope(j.Sweep),
		SavedBy10:   timing.Height - height(airtime(j.RopeRPM+10, j.Sweep)),
	}
	if !a.Allowed {
		a.Steps = append(a.Steps, TurnFaster)
	}
	if !a.InRhythm {
		a.Steps = append(a.Steps, SlowTheCue)
	}
	if j.Flight > 0 {
		a.Measured, a.Margin, a.JumpHeight = true, j.Flight-timing.Airtime, height(j.Flight)
		if a.Margin < 0 && a.Allowed {
			a.Steps = append(a.Steps, JumpHigher)
		}
	}
	return a, nil
}

// A Need is the height in metres that a double takes at one rope rate.
type Need struct{ RopeRPM, Height float64 }

// Needs returns the height needed at each rope rate from slow to fast rpm, ten
// rpm apart, for the picture of height against rope rate. It returns [ErrRope]
// and [ErrSweep].
func Needs(slow, fast, sweep float64) ([]Need, error) {
	if !(slow >= minRope && slow <= fast && fast <= maxRope) {
		return nil, ErrRope
	}
	if !(sweep >= 0 && sweep <= maxSweep) {
		return nil, ErrSweep
	}
	var needs []Need
	for rpm := slow; rpm <= fast; rpm += 10 {
		needs = append(needs, Need{rpm, height(airtime(rpm, sweep))})
	}
	return needs, nil
}
