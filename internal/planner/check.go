package planner

import (
	"math"
	"strconv"
)

// check returns an [*InputError] or an [*EvidenceError] for an input that no
// plan can rest on, nil otherwise.
func (in *Input) check() error {
	if in.Caution.DaysAway < 0 {
		return &InputError{Field: "caution.days_away", Problem: "must be 0 or more"}
	}
	for _, check := range [...]func(*Input) error{
		(*Input).checkRates, (*Input).checkCapacity, (*Input).checkSetting, (*Input).checkHistory, (*Input).checkBounds,
	} {
		if err := check(in); err != nil {
			return err
		}
	}
	if in.Rules == nil {
		return nil
	}
	if err := in.Rules.Building.check("rules.building"); err != nil {
		return err
	}
	return in.Rules.Established.check("rules.established")
}

func (in *Input) checkRates() error {
	switch {
	case in.BaseRPM == 0:
		return &InputError{"base_rpm", "is missing; do a base test first", TestBase}
	case !(in.BaseRPM >= lowestRPM):
		return &InputError{Field: "base_rpm", Problem: "must be 10 or more"}
	case in.BaseRPM > highestRPM:
		return tooFast("base_rpm", TestBase)
	case in.BurstRPM == nil:
		return nil
	case !positive(*in.BurstRPM):
		return &InputError{Field: "burst_rpm", Problem: "must be above 0"}
	case *in.BurstRPM > highestRPM:
		return tooFast("burst_rpm", TestBurst)
	case *in.BurstRPM < in.BaseRPM:
		return &InputError{"burst_rpm", "is below the base rate; repeat the burst test", TestBurst}
	}
	return nil
}

func tooFast(field string, next Test) error {
	return &EvidenceError{Code: "too_fast", Problem: field + " is above 600 rpm; repeat the test", Test: next}
}

func (in *Input) checkCapacity() error {
	for i, t := range in.AllOut {
		if !positive(t.Seconds) || !positive(t.Rotations) {
			return &InputError{"all_out[" + strconv.Itoa(i) + "]", "seconds and rotations must be above 0", TestAllOut}
		}
		if t.Seconds > mostTestSeconds {
			return &InputError{"all_out[" + strconv.Itoa(i) + "].seconds", "must be at most 3600", TestAllOut}
		}
		if 60*t.Rotations/t.Seconds > highestRPM {
			return tooFast("all_out["+strconv.Itoa(i)+"]", TestAllOut)
		}
	}
	c := in.Capacity
	switch {
	case c == nil:
		return nil
	case !(c.SustainableRPM >= 1 && c.SustainableRPM <= highestRPM):
		return &InputError{Field: "capacity.sustainable_rpm", Problem: "must be 1 to 600"}
	case !(c.Reserve >= 0 && c.Reserve <= mostReserve):
		return &InputError{Field: "capacity.reserve", Problem: "must be 0 to 10000"}
	case c.TauSeconds != nil && !(*c.TauSeconds >= 1 && *c.TauSeconds <= mostTauSeconds):
		return &InputError{Field: "capacity.tau_seconds", Problem: "must be 1 to 10000"}
	}
	return nil
}

func (in *Input) checkSetting() error {
	switch {
	case in.Phase != "" && in.Phase != Building && in.Phase != Established:
		return &InputError{Field: "phase", Problem: "must be building or established"}
	case in.StepRPM != nil && !(*in.StepRPM >= 0 && *in.StepRPM <= highestRPM):
		return &InputError{Field: "step_rpm", Problem: "must be 0 to 600"}
	case in.Hazard != nil && !share(in.Hazard.Steady):
		return &InputError{"hazard.steady", "must be 0 to 1", TestCleanRun}
	case in.Hazard != nil && !share(in.Hazard.Burst):
		return &InputError{"hazard.burst", "must be 0 to 1", TestCleanRun}
	case in.Double != nil && !(positive(in.Double.RopeRPM) && in.Double.RopeRPM <= highestRPM):
		return &InputError{"double.rope_rpm", "must be above 0, at most 600", TestDoubleRate}
	case in.Split == nil:
		return nil
	case in.Split.Steady < 1 || in.Split.Steady > mostBlockReps:
		return &InputError{Field: "split.steady", Problem: "must be 1 to 1000"}
	case in.Split.Burst < 1 || in.Split.Burst > mostBlockReps:
		return &InputError{Field: "split.burst", Problem: "must be 1 to 1000"}
	}
	return nil
}

func (in *Input) checkHistory() error {
	for i, o := range in.History {
		field := "history[" + strconv.Itoa(i) + "]"
		switch {
		case !(o.StepRPM >= 0 && o.StepRPM <= highestRPM):
			return &InputError{Field: field + ".step_rpm", Problem: "must be 0 to 600"}
		case o.Split.Steady < 1 || o.Split.Burst < 0:
			return &InputError{Field: field + ".split", Problem: "must have steady reps"}
		case o.CleanBursts < 0 || o.Bursts < o.CleanBursts:
			return &InputError{Field: field + ".clean_bursts", Problem: "must be 0 to the bursts begun"}
		}
	}
	return nil
}

func (in *Input) checkBounds() error {
	switch {
	case in.Minutes != nil && !(*in.Minutes > 0 && *in.Minutes <= mostMinutes):
		return &InputError{Field: "minutes", Problem: "must be above 0, at most 480"}
	case in.ContactsLeft != nil && *in.ContactsLeft < 0:
		return &InputError{Field: "contacts_left", Problem: "must be 0 or more"}
	case in.WeekContactsLeft != nil && *in.WeekContactsLeft < 0:
		return &InputError{Field: "week_contacts_left", Problem: "must be 0 or more"}
	case in.DoublesLeft != nil && *in.DoublesLeft < 0:
		return &InputError{Field: "doubles_left", Problem: "must be 0 or more"}
	case in.Tweak.MostCycles < 0:
		return &InputError{Field: "tweak.most_cycles", Problem: "must be 0 or more"}
	case in.Tweak.MostSets < 0:
		return &InputError{Field: "tweak.most_sets", Problem: "must be 0 or more"}
	case !(in.Tweak.LeastRestSeconds >= 0 && in.Tweak.LeastRestSeconds <= 60*mostMinutes):
		return &InputError{Field: "tweak.least_rest_seconds", Problem: "must be 0 to 28800"}
	}
	return nil
}

// check returns an [*InputError] for rules that contradict themselves.
func (r *PhaseRules) check(field string) error {
	for _, rule := range [...]struct {
		name    string
		holds   bool
		problem string
	}{
		{"floor_share", r.FloorShare >= 0 && r.FloorShare < 1, "must be 0 to below 1"},
		{"resume_share", r.ResumeShare > r.FloorShare && r.ResumeShare < 1, "must be above the floor and below 1"},
		{"set_seconds", r.SetSeconds > 0 && r.SetSeconds <= 600, "must be above 0, at most 600"},
		{"set_catches", r.SetCatches > 0 && r.SetCatches <= 100, "must be above 0, at most 100"},
		{"rest_seconds", r.RestSeconds >= 0 && r.RestSeconds <= 3600, "must be 0 to 3600"},
		{"rest_ratio", r.RestRatio >= 0 && r.RestRatio <= 60, "must be 0 to 60"},
		{"first_step_rpm", r.FirstStepRPM >= 0 && r.FirstStepRPM <= r.MostStepRPM, "must be 0 to the largest step"},
		{"most_step_rpm", r.MostStepRPM <= highestRPM, "must be at most 600"},
	} {
		if !rule.holds {
			return &InputError{Field: field + "." + rule.name, Problem: rule.problem}
		}
	}
	return nil
}

func positive(x float64) bool { return x > 0 && !math.IsInf(x, 1) }

func share(x float64) bool { return x >= 0 && x <= 1 }
