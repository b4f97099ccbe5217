package rhythm

// Readiness places the time of one rope turn among the published groups.
type Readiness string

// The readiness codes, slowest turn first. The pages word them.
const (
	NotYet     Readiness = "not yet" // as slow as those who could not double
	Near       Readiness = "near"    // between those who could not and those who made one
	OneAtATime Readiness = "one"     // as fast as those who made one, not yet as those who made more
	Several    Readiness = "several" // as fast as those who strung doubles together
)

// The mean times of one rope turn in seconds of fourth-graders who could not
// double (5 children), made one (3) and made more than two (10).
//
// Source: "Exploring for the skill of the double skip in jump rope among
// elementary school children" (abstract). Group means of 18 children: a guide
// for words, no test that anyone passes.
const (
	TurnNoDouble = 0.31
	TurnOne      = 0.28
	TurnSeveral  = 0.25
)

// Turn returns the time of one rope turn in seconds at ropeRPM and where that
// stands. It returns [ErrRope].
func Turn(ropeRPM float64) (seconds float64, readiness Readiness, err error) {
	if !(ropeRPM >= minRope && ropeRPM <= maxRope) {
		return 0, "", ErrRope
	}
	seconds = 60 / ropeRPM
	switch {
	case seconds <= TurnSeveral:
		readiness = Several
	case seconds <= TurnOne:
		readiness = OneAtATime
	case seconds < TurnNoDouble:
		readiness = Near
	default:
		readiness = NotYet
	}
	return seconds, readiness, nil
}
