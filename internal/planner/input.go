package planner

import (
	"ropewalk.example/internal/capacity"
)

// Phase says how far an athlete's bursts have come.
type Phase string

// The two phases. An empty phase is building.
const (
	Building    Phase = "building"
	Established Phase = "established"
)

// Input is all that a plan rests on. It is stored beside the plan: the same
// input gives the same plan again, and JSON carries it without loss. A nil
// pointer means "not known" or "not set".
type Input struct {
	BaseRPM  float64  `json:"base_rpm"`           // turning rate held comfortably, rpm
	BurstRPM *float64 `json:"burst_rpm,omitzero"` // turning rate of a 5–10 s burst, rpm

	// AllOut holds all-out tests to fit sustainable rate and reserve from.
	// Capacity, where given, is taken instead: a fit made before, or another τ.
	AllOut   []AllOut  `json:"all_out,omitempty"`
	Capacity *Capacity `json:"capacity,omitzero"`

	Phase   Phase     `json:"phase,omitzero"`    // where the athlete stood at the last plan
	Split   *Split    `json:"split,omitzero"`    // the coach's choice, ahead of History
	StepRPM *float64  `json:"step_rpm,omitzero"` // the coach's choice, ahead of History, rpm above base
	History []Outcome `json:"history,omitempty"` // what happened, oldest first
	Hazard  *Hazard   `json:"hazard,omitzero"`

	Minutes          *float64 `json:"minutes,omitzero"`            // for the sets, net of warm-up and technique; nil: 20
	ContactsLeft     *int     `json:"contacts_left,omitzero"`      // this session, jumps
	WeekContactsLeft *int     `json:"week_contacts_left,omitzero"` // this week, jumps
	DoublesLeft      *int     `json:"doubles_left,omitzero"`       // tries of a double under left, this session

	Stage   *Stage  `json:"stage,omitzero"`  // nil: no limit from the ladder
	Double  *Double `json:"double,omitzero"` // nil: no double is prescribed
	Caution Caution `json:"caution,omitzero"`
	Tweak   Tweak   `json:"tweak,omitzero"`
	Rules   *Rules  `json:"rules,omitzero"` // nil: StandardRules
}

// AllOut is one all-out test, counted by hand.
type AllOut struct {
	Seconds   float64 `json:"seconds"`   // 30 or more
	Rotations float64 `json:"rotations"` // above 0
}

// Capacity is a sustainable rate with the reserve above it, fitted elsewhere.
type Capacity struct {
	SustainableRPM float64  `json:"sustainable_rpm"`      // rpm
	Reserve        float64  `json:"reserve"`              // rotations
	TauSeconds     *float64 `json:"tau_seconds,omitzero"` // nil: capacity.DefaultTauSeconds, assumed
	Assumed        []string `json:"assumed,omitempty"`    // of these, what no test supports
}

// A Split is a number of reps at the steady rate followed by a number at the
// burst rate. In a split with Double the burst is double unders.
type Split struct {
	Steady int  `json:"steady"`
	Burst  int  `json:"burst"` // 0: steady sets only
	Double bool `json:"double,omitzero"`
}

// Hazard holds the chance of a catch at each rep, 0–1, at the two rates.
type Hazard struct {
	Steady float64 `json:"steady"`
	Burst  float64 `json:"burst"`
}

// An Outcome is what became of one session: the setting of its plan, the bursts
// begun and those without a catch.
type Outcome struct {
	StepRPM     float64 `json:"step_rpm"`
	Split       Split   `json:"split"`
	Bursts      int     `json:"bursts"`
	CleanBursts int     `json:"clean_bursts"`
	Eased       bool    `json:"eased,omitzero"` // of the plan: the sets were easier than the setting
}

// Stage is what an athlete's stage on the ladder permits.
type Stage struct {
	Number  int  `json:"number"`
	Bursts  bool `json:"bursts"`
	Doubles bool `json:"doubles"`
}

// StageAt returns what stage n of the ladder that ships permits: bursts from
// stage 6, doubles from stage 10. A gym's own ladder fills a Stage itself.
func StageAt(n int) Stage {
	return Stage{Number: n, Bursts: n >= firstBurstStage, Doubles: n >= firstDoubleStage}
}

// Double is the rope rate measured inside an athlete's double unders. A burst
// rate is only a first guess at it.
type Double struct {
	RopeRPM float64 `json:"rope_rpm"` // rpm
}

// Caution holds what asks for less than the numbers alone would allow.
type Caution struct {
	Hold            bool `json:"hold,omitzero"`             // pain: no impact work until a coach releases it
	Released        bool `json:"released,omitzero"`         // first work after a hold: half the contacts, no doubles
	DaysAway        int  `json:"days_away,omitzero"`        // since the last session
	UnattendedMinor bool `json:"unattended_minor,omitzero"` // never pushed: may only shorten
	LighterWeek     bool `json:"lighter_week,omitzero"`     // two sets in five fewer
}

// Tweak is a coach's change to the sets, which can only make them easier.
type Tweak struct {
	MostCycles       int     `json:"most_cycles,omitzero"`        // a set; 0: no limit
	MostSets         int     `json:"most_sets,omitzero"`          // 0: no limit
	LeastRestSeconds float64 `json:"least_rest_seconds,omitzero"` // 0: no limit
}

// rules returns the gym's rules or the standard ones.
func (in *Input) rules() Rules {
	if in.Rules != nil {
		return *in.Rules
	}
	return StandardRules()
}

// model returns the athlete's sustainable rate, reserve and recovery, fitted,
// given or assumed. Tests that carry no line are an [*EvidenceError].
func (in *Input) model() (capacity.Model, error) {
	switch {
	case in.Capacity != nil:
		return in.Capacity.model(), nil
	case len(in.AllOut) > 0:
		tests := make([]capacity.Test, len(in.AllOut))
		for i, t := range in.AllOut {
			tests[i] = capacity.Test{Seconds: t.Seconds, Rotations: t.Rotations}
		}
		fitted, err := capacity.Fit(tests)
		if err != nil {
			return capacity.Model{}, &EvidenceError{Code: "all_out", Problem: err.Error(), Test: TestAllOut, Err: err}
		}
		return fitted.Model, nil
	case in.BurstRPM != nil:
		return capacity.Assume(in.BaseRPM, *in.BurstRPM), nil
	default:
		return capacity.Assume(in.BaseRPM, 0), nil
	}
}

func (c *Capacity) model() capacity.Model {
	m := capacity.Model{SustainableRPM: c.SustainableRPM, Reserve: c.Reserve, Assumed: c.Assumed}
	if c.TauSeconds != nil {
		m.TauSeconds = *c.TauSeconds
		return m
	}
	m.TauSeconds = capacity.DefaultTauSeconds
	m.Assumed = append(m.Assumed[:len(m.Assumed):len(m.Assumed)], capacity.AssumedTau)
	return m
}
