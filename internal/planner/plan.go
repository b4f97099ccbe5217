package planner

import "ropewalk.example/internal/capacity"

// Kind says what a plan consists of.
type Kind string

// The kinds of plan.
const (
	KindSplit  Kind = "split"  // steady and burst blocks in turn
	KindSteady Kind = "steady" // steady blocks only
	KindHold   Kind = "hold"   // no impact work
)

// Limit says what kept a set or a session from being longer.
type Limit string

// The limits. Coach is a [Tweak].
const (
	LimitReserve  Limit = "reserve"  // the balance would fall below its floor, or not be back in time
	LimitCatches  Limit = "catches"  // more catches would be expected in a set
	LimitTime     Limit = "time"     // the set would be too long
	LimitContacts Limit = "contacts" // of the session, the week, or a caution
	LimitMinutes  Limit = "minutes"  // the time is up
	LimitCoach    Limit = "coach"
)

// A Plan is one athlete's work and rest for one session.
//
// A set is Cycles times a steady block and a burst block without a pause. Rest
// stands between sets, not after the last. Cycles, WorkSeconds and RestSeconds
// are per set; Sets, Reps, Contacts, Seconds, ExpectedCatches and Segments for
// the session.
type Plan struct {
	RulesVersion int     `json:"rules_version"`
	Kind         Kind    `json:"kind"`
	Setting      Setting `json:"setting"`        // what was aimed at
	Eased        bool    `json:"eased,omitzero"` // the sets are easier: shorter blocks, a lower target or no double

	SteadyRPM float64 `json:"steady_rpm"` // rpm; with doubles, jumps a minute
	TargetRPM float64 `json:"target_rpm"` // rope rate of the bursts, rpm; steady sets: SteadyRPM
	Split     Split   `json:"split"`

	Cycles      int     `json:"cycles"`
	Sets        int     `json:"sets"`
	RestSeconds float64 `json:"rest_seconds"`
	WorkSeconds float64 `json:"work_seconds"`

	Reps            int      `json:"reps"`
	Contacts        int      `json:"contacts"`                  // jumps; a double under once
	Doubles         int      `json:"doubles,omitzero"`          // tries of a double under
	Seconds         float64  `json:"seconds"`                   // from the first rep to the last
	ExpectedCatches *float64 `json:"expected_catches,omitzero"` // nil: no hazard known

	Limit      Limit `json:"limit"`       // SetLimit where contacts cut the sets, else CycleLimit
	CycleLimit Limit `json:"cycle_limit"` // what kept a set from one more cycle
	SetLimit   Limit `json:"set_limit"`   // what kept the session from one more set

	Assumed  []string  `json:"assumed"`              // capacity's codes, and "burst" without a burst test
	NextTest []Test    `json:"next_tests,omitempty"` // what to test next
	Cue      Cue       `json:"cue"`
	Why      []Reason  `json:"why"`
	Segments []Segment `json:"segments"`
}

// A Setting is the part of a plan that moves with what happened. An [Outcome]
// carries it back.
type Setting struct {
	Phase   Phase   `json:"phase"`
	StepRPM float64 `json:"step_rpm"` // target above base, rpm
	Split   Split   `json:"split"`
}

// A Segment is a block of work, or a rest at 0 rpm, with the balance of the
// reserve, in rotations, at its end. The session starts with a full reserve;
// from there the balance runs through work and rest without a break, so that
// [capacity.Model.After] gives every one from the one before. It starts each
// later set at or above the share that the rest was sized for.
type Segment struct {
	RPM     float64 `json:"rpm"`
	Seconds float64 `json:"seconds"`
	Balance float64 `json:"balance"`
}

// A Cue is what a loudspeaker plays during a plan, in beats a minute: one beat
// a jump. LeadInBeats at the steady cadence precede each set, within the rest.
type Cue struct {
	SteadyPerMinute float64 `json:"steady_per_minute"`
	BurstPerMinute  float64 `json:"burst_per_minute"` // 0: no bursts
	LeadInBeats     int     `json:"lead_in_beats"`
}

// LeadInSeconds returns how long the beats before a set take, in seconds.
func (c Cue) LeadInSeconds() float64 {
	if c.SteadyPerMinute == 0 {
		return 0
	}
	return float64(c.LeadInBeats) * 60 / c.SteadyPerMinute
}

// assumedBurst marks a plan made without a burst test.
const assumedBurst = "burst"

// assumedCodes returns a copy of the model's codes with the planner's own.
func assumedCodes(m capacity.Model, burstKnown bool) []string {
	codes := make([]string, 0, len(m.Assumed)+1)
	codes = append(codes, m.Assumed...)
	if !burstKnown {
		codes = append(codes, assumedBurst)
	}
	return codes
}
