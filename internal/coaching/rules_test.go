package coaching_test

import (
	"encoding/json"
	"math"
	"testing"

	"pgregory.net/rapid"

	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/progress"
	"ropewalk.example/internal/rate"
)

func levelsOf(results ...gym.Result) level.Levels { return level.Of(results, day) }

func TestChangeOfRules(t *testing.T) {
	standard := coaching.StandardRules()
	tests := []struct {
		name   string
		values map[string]float64
		wrong  string // the number that is told of, "" if none
	}{
		{"nothing", nil, ""},
		{"longer rest", map[string]float64{"building.rest_seconds": 60}, ""},
		{"rest out of bounds", map[string]float64{"building.rest_seconds": 600}, "building.rest_seconds"},
		{"not a number", map[string]float64{"building.rest_seconds": math.NaN()}, "building.rest_seconds"},
		{"floor above the start", map[string]float64{"building.floor_share": 0.8}, "building.resume_share"},
		{"first step above the largest", map[string]float64{"building.first_step_rpm": 50}, "building.most_step_rpm"},
		{"plans above the most", map[string]float64{"ceiling.0.plan": 700}, "ceiling.0.most"},
		{"half a jump", map[string]float64{"ceiling.0.plan": 400.5}, "ceiling.0.plan"},
		{"a week below a session", map[string]float64{"ceiling.0.week": 300}, "ceiling.0.week"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			_, wrong := standard.Change(test.values)
			if test.wrong == "" && len(wrong) > 0 || test.wrong != "" && wrong[test.wrong] == "" {
				t.Errorf("told of %v, want %q", wrong, test.wrong)
			}
		})
	}
	if got := coaching.StandardRules(); got.Plans != planner.StandardRules() || got.Ceilings[0] != progress.DefaultCeilings()[0] {
		t.Error("a change moved the standard rules")
	}
}

// Rules that are accepted are rules that the planner takes, and they survive
// being kept.
func TestAcceptedRulesPlan(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		standard := coaching.StandardRules()
		values := map[string]float64{}
		for _, n := range standard.Numbers() {
			if !rapid.Bool().Draw(t, n.Key+" changes") {
				continue
			}
			values[n.Key] = rapid.Float64Range(n.Low, n.High).Draw(t, n.Key)
			if n.Whole {
				values[n.Key] = math.Round(values[n.Key])
			}
		}
		rules, wrong := standard.Change(values)
		if len(wrong) > 0 {
			return
		}
		burst := 180.0
		if _, err := planner.Solve(planner.Input{BaseRPM: 130, BurstRPM: &burst, Rules: &rules.Plans}); err != nil {
			t.Fatalf("the planner refuses accepted rules: %v", err)
		}
		body, err := json.Marshal(rules)
		if err != nil {
			t.Fatal(err)
		}
		kept, err := coaching.RulesOf([]gym.Rules{{Rules: body}})
		if err != nil || kept.Plans != rules.Plans || kept.SweepSeconds != rules.SweepSeconds || len(kept.Ceilings) != len(rules.Ceilings) {
			t.Fatalf("kept as %+v, %v", kept, err)
		}
		for i := range kept.Ceilings {
			if kept.Ceilings[i] != rules.Ceilings[i] {
				t.Fatalf("ceiling %d kept as %+v", i, kept.Ceilings[i])
			}
		}
	})
}

func TestNumbersHaveNamesOfTheirOwn(t *testing.T) {
	rules := coaching.StandardRules()
	seen := map[string]bool{}
	for _, n := range rules.Numbers() {
		if seen[n.Key] || n.Source == "" || !(n.Low <= n.Value() && n.Value() <= n.High) {
			t.Errorf("%s: %g in %g–%g, source %q, twice %v", n.Key, n.Value(), n.Low, n.High, n.Source, seen[n.Key])
		}
		seen[n.Key] = true
	}
	if changeable := 16; len(seen) != changeable+1+4*len(rules.Ceilings) {
		t.Errorf("%d numbers", len(seen))
	}
}

// keep composes an hour as PlanClass keeps it.
func keep(t *testing.T) gym.Plan {
	t.Helper()
	f := facts(result(rate.Base, 7, 120, 60), result(rate.Burst, 7, 30, 10))
	in, _ := inputOf(t, f)
	hour := coaching.HourOf(f, occasion(), in)
	composed, err := planner.Compose(hour)
	if err != nil {
		t.Fatal(err)
	}
	marshal := func(v any) []byte {
		b, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	return gym.Plan{Day: day, Hour: marshal(hour), Input: marshal(composed.Athlete), Output: marshal(composed.Plan),
		Parts: marshal(struct {
			Parts []planner.Part   `json:"parts"`
			Why   []planner.Reason `json:"why"`
		}{composed.Parts, composed.Why})}
}

func TestWorkAgain(t *testing.T) {
	kept := keep(t)
	again, err := coaching.WorkAgain(kept)
	if err != nil || !again.Same || again.Older() || len(again.Parts) == 0 {
		t.Fatalf("same %v, older %v, %d parts, %v", again.Same, again.Older(), len(again.Parts), err)
	}

	// Kept before there were hours: the sets alone.
	alone := kept
	alone.Hour, alone.Parts = nil, nil
	if again, err = coaching.WorkAgain(alone); err != nil || !again.Same {
		t.Errorf("the sets alone come out the same: %v, %v", again.Same, err)
	}

	// Made by older rules: what was given is shown, and what today's rules say.
	older := kept
	plan := again.Plan
	plan.RulesVersion, plan.RestSeconds = 0, 35
	if older.Output, err = json.Marshal(plan); err != nil {
		t.Fatal(err)
	}
	again, err = coaching.WorkAgain(older)
	if err != nil || again.Same || !again.Older() || again.Plan.RestSeconds != 35 || again.Now.RestSeconds == 35 {
		t.Errorf("same %v, older %v, then %.0f s, now %.0f s, %v", again.Same, again.Older(), again.Plan.RestSeconds, again.Now.RestSeconds, err)
	}

	// Today's rules refuse what once was taken: what was given still shows.
	refused := kept
	refused.Hour = nil
	refused.Input = []byte(`{"base_rpm":5}`)
	again, err = coaching.WorkAgain(refused)
	if err != nil || again.Err == nil || again.Same || again.Plan.Sets == 0 {
		t.Errorf("refused: %v, %v, %d sets", err, again.Err, again.Plan.Sets)
	}
}
