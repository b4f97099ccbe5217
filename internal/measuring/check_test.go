package measuring_test

import (
	"math"
	"testing"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/measuring"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/rate"
)

func ptr[T any](v T) *T { return &v }

// sound returns a result of the protocol that nothing is wrong with.
func sound(protocol string) gym.Result {
	r := gym.Result{Protocol: protocol, Step: "bounce", RopeKind: "beaded", Surface: "wood", CountedBy: "partner", Timing: "hand"}
	p, _ := rate.ProtocolOf(protocol)
	if len(p.Windows) > 0 {
		r.Seconds = ptr(p.Windows[0])
	}
	switch p.Measured {
	case rate.Bouts:
		r.Bouts, r.RestSeconds = []int32{20, 19, 18}, ptr(30.0)
	case rate.FlightTime:
		r.FlightSeconds = ptr(0.36)
	case rate.Successes:
		r.Successes, r.Attempts, r.Task = ptr(3), ptr(5), "swing"
	case rate.InARow:
		r.Rotations, r.Task = ptr(4), "swing"
	default:
		r.Rotations = ptr(12)
	}
	return r
}

func TestSoundResultsPass(t *testing.T) {
	for _, p := range rate.Protocols() {
		if err := measuring.Check(sound(p.Key)); err != nil {
			t.Errorf("%s: %v", p.Name, err)
		}
	}
}

func TestCheckNamesTheField(t *testing.T) {
	for _, test := range []struct {
		name, protocol, field string
		change                func(r *gym.Result)
	}{
		{"no such test", rate.Base, "protocol", func(r *gym.Result) { r.Protocol = "guess" }},
		{"nothing counted", rate.Base, "rotations", func(r *gym.Result) { r.Rotations = nil }},
		{"below zero", rate.Base, "rotations", func(r *gym.Result) { r.Rotations = ptr(-1) }},
		{"four digits in a minute", rate.Base, "rotations", func(r *gym.Result) { r.Rotations = ptr(1000) }},
		{"faster than any rope", rate.Burst, "rotations", func(r *gym.Result) { r.Seconds, r.Rotations = ptr(5.0), ptr(200) }},
		{"a time that the test does not have", rate.Base, "seconds", func(r *gym.Result) { r.Seconds = ptr(61.0) }},
		{"no time", rate.Base, "seconds", func(r *gym.Result) { r.Seconds = nil }},
		{"a time that is no number", rate.Base, "seconds", func(r *gym.Result) { r.Seconds = ptr(math.NaN()) }},
		{"a hundred catches", rate.Base, "catches", func(r *gym.Result) { r.Catches = 100 }},
		{"all seconds lost", rate.Base, "lost", func(r *gym.Result) { r.LostSeconds = r.Seconds }},
		{"less than no seconds lost", rate.Base, "lost", func(r *gym.Result) { r.LostSeconds = ptr(-0.1) }},
		{"one pause longer than all", rate.Base, "restart", func(r *gym.Result) { r.LostSeconds, r.LongestRestartSeconds = ptr(2.0), ptr(3.0) }},
		{"a step of another sport", rate.Base, "step", func(r *gym.Result) { r.Step = "march" }},
		{"a rope that is not here", rate.Base, "rope", func(r *gym.Result) { r.RopeKind = "elastic" }},
		{"a floor that is not here", rate.Base, "surface", func(r *gym.Result) { r.Surface = "ice" }},
		{"nobody counted", rate.Base, "counted_by", func(r *gym.Result) { r.CountedBy = "" }},
		{"one bout", rate.RepeatBurst, "bouts", func(r *gym.Result) { r.Bouts = r.Bouts[:1] }},
		{"no rest", rate.RepeatBurst, "rest", func(r *gym.Result) { r.RestSeconds = ptr(0.0) }},
		{"a bout faster than any rope", rate.RepeatBurst, "bouts", func(r *gym.Result) { r.Bouts[1] = 900 }},
	} {
		t.Run(test.name, func(t *testing.T) {
			r := sound(test.protocol)
			test.change(&r)
			if fields := problem.FieldsOf(measuring.Check(r)); fields[test.field] == "" || len(fields) != 1 {
				t.Errorf("messages are %v, want one for %s", fields, test.field)
			}
		})
	}
}

func TestTriesAndTasks(t *testing.T) {
	for _, p := range rate.Protocols() {
		r := sound(p.Key)
		if r.Task == "" {
			continue
		}
		r.Task = ""
		if fields := problem.FieldsOf(measuring.Check(r)); fields["task"] == "" {
			t.Errorf("%s without a task: %v", p.Name, fields)
		}
		if p.Measured != rate.Successes {
			continue
		}
		r = sound(p.Key)
		r.Successes = ptr(6)
		if fields := problem.FieldsOf(measuring.Check(r)); fields["successes"] == "" {
			t.Errorf("%s with more good tries than tries: %v", p.Name, fields)
		}
	}
}
