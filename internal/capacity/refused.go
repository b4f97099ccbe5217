package capacity

import "fmt"

// Why a fit was refused.
const (
	TooShort  = "too_short"  // a test under ShortestSeconds
	TooFew    = "too_few"    // fewer than two tests
	TooNarrow = "too_narrow" // durations span less than a factor 3
	Disagree  = "disagree"   // a longer test is faster than a shorter one
	NoRate    = "no_rate"    // the line gives S ≤ 0
	NoReserve = "no_reserve" // the line gives R < 0
)

// Why a recovery fit was refused.
const (
	TooFewBouts = "too_few_bouts" // fewer than four
	NotAllOut   = "not_all_out"   // the first bout is not above the sustainable rate
	NoFall      = "no_fall"       // the counts do not fall: each rest gave everything back
	NoRecovery  = "no_recovery"   // the counts fall as if no rest gave anything back
)

// Refused reports tests that support no answer.
type Refused struct {
	Reason string // one of the constants of this package that say why
	// Seconds is the all-out test to do next, or the one that does not count
	// when Reason is TooShort; 0 if none in particular.
	Seconds float64
	// S (rpm) and R (rotations) of a line that was turned down, else 0.
	SustainableRPM, Reserve float64
}

func (r *Refused) Error() string {
	switch r.Reason {
	case TooShort:
		return fmt.Sprintf("an all-out test of %g s is under %d s", r.Seconds, ShortestSeconds)
	case TooFew:
		return fmt.Sprintf("two all-out tests are needed; add one of %g s", r.Seconds)
	case TooNarrow:
		return fmt.Sprintf("the longest test must last at least %d times the shortest; add one of %g s", leastSpan, r.Seconds)
	case Disagree:
		return fmt.Sprintf("these tests disagree; repeat the %g s one", r.Seconds)
	case NoRate:
		return "these tests leave no rate that could be held"
	case NoReserve:
		return fmt.Sprintf("these tests leave less than no reserve; repeat the %g s one", r.Seconds)
	case TooFewBouts:
		return fmt.Sprintf("at least %d bouts are needed", leastBouts)
	case NotAllOut:
		return "the first bout is not above the sustainable rate"
	case NoFall:
		return "the counts do not fall; take shorter rests"
	case NoRecovery:
		return "the counts fall as if no rest gave anything back; take longer rests"
	default:
		return r.Reason
	}
}
