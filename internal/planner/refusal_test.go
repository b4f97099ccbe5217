package planner

import (
	"errors"
	"math"
	"testing"

	"ropewalk.example/internal/capacity"
)

func TestSolveRefuses(t *testing.T) {
	nan := math.NaN()
	for field, in := range map[string]Input{
		"base_rpm":                   {},
		"burst_rpm":                  {BaseRPM: 150, BurstRPM: new(149.0)},
		"all_out[0]":                 {BaseRPM: 150, AllOut: []AllOut{{0, 80}}},
		"all_out[0].seconds":         {BaseRPM: 150, AllOut: []AllOut{{1e9, 80}}},
		"capacity.sustainable_rpm":   {BaseRPM: 150, Capacity: &Capacity{SustainableRPM: nan, Reserve: 5}},
		"capacity.reserve":           {BaseRPM: 150, Capacity: &Capacity{SustainableRPM: 150, Reserve: -1}},
		"capacity.tau_seconds":       {BaseRPM: 150, Capacity: &Capacity{SustainableRPM: 150, TauSeconds: new(0.0)}},
		"phase":                      {BaseRPM: 150, Phase: "expert"},
		"step_rpm":                   {BaseRPM: 150, StepRPM: new(-1.0)},
		"split.steady":               {BaseRPM: 150, Split: &Split{Steady: 0, Burst: 10}},
		"split.burst":                {BaseRPM: 150, Split: &Split{Steady: 10, Burst: 0}},
		"hazard.steady":              {BaseRPM: 150, Hazard: &Hazard{Steady: 1.1}},
		"hazard.burst":               {BaseRPM: 150, Hazard: &Hazard{Burst: nan}},
		"double.rope_rpm":            {BaseRPM: 150, Double: &Double{RopeRPM: 0}},
		"history[0].step_rpm":        {BaseRPM: 150, History: []Outcome{{StepRPM: nan, Split: firstSplit()}}},
		"history[0].split":           {BaseRPM: 150, History: []Outcome{{StepRPM: 20}}},
		"history[0].clean_bursts":    {BaseRPM: 150, History: []Outcome{{StepRPM: 20, Split: firstSplit(), Bursts: 3, CleanBursts: 4}}},
		"minutes":                    {BaseRPM: 150, Minutes: new(0.0)},
		"contacts_left":              {BaseRPM: 150, ContactsLeft: new(-1)},
		"week_contacts_left":         {BaseRPM: 150, WeekContactsLeft: new(-1)},
		"doubles_left":               {BaseRPM: 150, DoublesLeft: new(-1)},
		"caution.days_away":          {BaseRPM: 150, Caution: Caution{DaysAway: -1}},
		"tweak.most_cycles":          {BaseRPM: 150, Tweak: Tweak{MostCycles: -1}},
		"tweak.most_sets":            {BaseRPM: 150, Tweak: Tweak{MostSets: -1}},
		"tweak.least_rest_seconds":   {BaseRPM: 150, Tweak: Tweak{LeastRestSeconds: nan}},
		"rules.building.floor_share": {BaseRPM: 150, Rules: &Rules{Building: PhaseRules{FloorShare: nan}}},
	} {
		_, err := Solve(in)
		if input, ok := errors.AsType[*InputError](err); !ok || input.Field != field {
			t.Errorf("%s: error %v", field, err)
		} else if field == "base_rpm" && input.Test != TestBase {
			t.Errorf("without a base rate the next test is %q", input.Test)
		}
	}
	for code, in := range map[string]Input{
		"too_fast":          {BaseRPM: 601},
		"all_out":           {BaseRPM: 150, AllOut: []AllOut{{30, 60}, {180, 480}}},
		"reserve_too_small": {BaseRPM: 150, Capacity: &Capacity{SustainableRPM: 100, Reserve: 1}},
	} {
		_, err := Solve(in)
		if evidence, ok := errors.AsType[*EvidenceError](err); !ok || evidence.Code != code || evidence.Test == "" {
			t.Errorf("%s: error %v", code, err)
		}
	}
	_, err := Solve(Input{BaseRPM: 150, AllOut: []AllOut{{30, 60}, {180, 480}}})
	if refused, ok := errors.AsType[*capacity.Refused](err); !ok || refused.Reason != capacity.Disagree {
		t.Errorf("all-out tests that disagree: %v", err)
	}
}
