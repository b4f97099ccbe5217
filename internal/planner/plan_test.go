package planner

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"
)

func TestReasonsAreListed(t *testing.T) {
	rows := map[Rule][]string{}
	for _, row := range RuleValues() {
		if _, twice := rows[row.Rule]; twice {
			t.Errorf("%s is listed twice", row.Rule)
		}
		rows[row.Rule] = row.Values
	}
	fired := map[Rule]bool{}
	given := map[string][]Reason{}
	for name, in := range everyRule() {
		given[name] = solved(t, in).Why
	}
	for name, hour := range everyHour() {
		given[name] = composed(t, hour).Why
	}
	for name, reasons := range given {
		for _, reason := range reasons {
			fired[reason.Rule] = true
			names, ok := rows[reason.Rule]
			var got []string
			for _, v := range reason.Values {
				got = append(got, v.Name)
			}
			if !ok || !slices.Equal(names, got) {
				t.Errorf("%s: %s comes with %v, listed %v", name, reason.Rule, got, names)
			}
		}
	}
	for rule := range rows {
		if !fired[rule] {
			t.Errorf("%s is listed, but no plan gives it", rule)
		}
	}
}

func TestPlanJSONIsLossless(t *testing.T) {
	for name, in := range everyRule() {
		data, err := json.Marshal(in)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		var again Input
		if err := json.Unmarshal(data, &again); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		first, _ := json.Marshal(solved(t, in))
		second, _ := json.Marshal(solved(t, again))
		if string(first) != string(second) {
			t.Errorf("%s: the stored input gives another plan:\n%s\n%s", name, first, second)
		}
		var plan Plan
		if err := json.Unmarshal(first, &plan); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if third, _ := json.Marshal(plan); string(first) != string(third) {
			t.Errorf("%s: the plan is not the same after reading:\n%s\n%s", name, first, third)
		}
	}
}

func TestPlanContract(t *testing.T) {
	data, err := json.Marshal(solved(t, Input{BaseRPM: 150}))
	if err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{
		`"target_rpm":`, `"split":{"steady":20,"burst":10}`, `"cycles":`, `"sets":`, `"rest_seconds":`, `"work_seconds":`,
		`"reps":`, `"contacts":`, `"limit":"reserve"`, `"assumed":[`, `"why":[{"rule":"base","values":{"base_rpm":150}}`,
		`"segments":[{"rpm":150,"seconds":8,"balance":8}`,
	} {
		if !strings.Contains(string(data), key) {
			t.Errorf("the plan's JSON lacks %s", key)
		}
	}
}

func TestConstantsHaveSources(t *testing.T) {
	for _, c := range Constants(StandardRules()) {
		if c.Name == "" || c.Source == "" {
			t.Errorf("constant %+v", c)
		}
	}
}
