package calc

import (
	"errors"
	"math"

	"ropewalk.example/internal/capacity"
	"ropewalk.example/internal/planner"
)

type planQuestion struct {
	BaseRPM  number  `json:"base_rpm"`
	BurstRPM *number `json:"burst_rpm"`
	AllOut   []struct {
		Seconds   number `json:"seconds"`
		Rotations number `json:"rotations"`
	} `json:"all_out"`
	Phase *string `json:"phase"`
	Split *struct {
		Steady number `json:"steady"`
		Burst  number `json:"burst"`
	} `json:"split"`
	Hazard *struct {
		Steady number `json:"steady"`
		Burst  number `json:"burst"`
	} `json:"hazard"`
	Minutes      *number `json:"minutes"`
	ContactsLeft *number `json:"contacts_left"`
}

// plan answers plan: one session's work and rest, with the reasons.
func plan(q planQuestion) (any, error) {
	var c checker
	in := planner.Input{BaseRPM: c.positive("base_rpm", q.BaseRPM)}
	if q.BurstRPM != nil {
		in.BurstRPM = new(c.positive("burst_rpm", *q.BurstRPM))
	}
	for i, t := range q.AllOut {
		c.element("all_out", i)
		in.AllOut = append(in.AllOut, planner.AllOut{
			Seconds:   c.positive("seconds", t.Seconds),
			Rotations: c.positive("rotations", t.Rotations),
		})
	}
	c.element("", 0)
	if q.Phase != nil {
		in.Phase = c.phase(*q.Phase)
	}
	if q.Split != nil {
		in.Split = &planner.Split{
			Steady: c.whole("split.steady", q.Split.Steady, 1, math.MaxInt32),
			Burst:  c.whole("split.burst", q.Split.Burst, 1, math.MaxInt32),
		}
	}
	if q.Hazard != nil {
		in.Hazard = &planner.Hazard{
			Steady: c.notNegative("hazard.steady", q.Hazard.Steady),
			Burst:  c.notNegative("hazard.burst", q.Hazard.Burst),
		}
	}
	if q.Minutes != nil {
		in.Minutes = new(c.positive("minutes", *q.Minutes))
	}
	if q.ContactsLeft != nil {
		in.ContactsLeft = new(c.whole("contacts_left", *q.ContactsLeft, 0, math.MaxInt32))
	}
	if c.err != nil {
		return nil, c.err
	}
	solved, err := planner.Solve(in)
	if e, ok := errors.AsType[*planner.InputError](err); ok {
		return nil, wrong(e.Field, "%s", e.Problem)
	}
	if e, ok := errors.AsType[*planner.EvidenceError](err); ok {
		return nil, unsupported(fieldOf(e.Test), e)
	}
	if err != nil {
		return nil, err
	}
	return setBySet(solved), nil
}

// setBySet returns p with the balance of each set but the first counted from
// the share at which a set may start, as the contract has it: the rest brings
// the balance there or, rounded up, a little beyond.
func setBySet(p planner.Plan) planner.Plan {
	model, ok := modelOf(p)
	if !ok {
		return p
	}
	rules := planner.StandardRules()
	start := rules.Building.ResumeShare
	if p.Setting.Phase == planner.Established {
		start = rules.Established.ResumeShare
	}
	balance := model.Reserve
	for i := range p.Segments {
		s := &p.Segments[i]
		s.Balance = model.After(balance, s.RPM, s.Seconds)
		balance = s.Balance
		if s.RPM == 0 {
			balance = start * model.Reserve
		}
	}
	return p
}

// modelOf reads the capacity that p rests on out of its reasons.
func modelOf(p planner.Plan) (capacity.Model, bool) {
	var m capacity.Model
	for _, r := range p.Why {
		switch r.Rule {
		case planner.RuleCapacityKnown, planner.RuleCapacityAssumed:
			m.SustainableRPM, m.Reserve = r.Values.Of("sustainable_rpm"), r.Values.Of("reserve")
		case planner.RuleTauKnown, planner.RuleTauAssumed:
			m.TauSeconds = r.Values.Of("tau_seconds")
		}
	}
	return m, m.SustainableRPM > 0 && m.TauSeconds > 0
}

// phase returns one of the planner's phases.
func (c *checker) phase(given string) planner.Phase {
	p := planner.Phase(given)
	if p != planner.Building && p != planner.Established {
		c.wrong("phase", `give "building" or "established"`)
	}
	return p
}

// fieldOf names the field that the test to do next would fill.
func fieldOf(next planner.Test) string {
	switch next {
	case planner.TestBurst:
		return "burst_rpm"
	case planner.TestAllOut:
		return "all_out"
	default:
		return "base_rpm"
	}
}
