package standing

import (
	"slices"
	"testing"
	"time"

	"github.com/google/uuid"
	"pgregory.net/rapid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
)

var today = time.Date(2026, time.November, 4, 0, 0, 0, 0, time.UTC)

func ptr[T any](v T) *T { return &v }

func TestAResultIsEvidence(t *testing.T) {
	base := gym.Result{ResultID: uuid.UUID{1}, Protocol: "base", Day: today, TakenAt: today.Add(17 * time.Hour), Rotations: ptr(120), Seconds: ptr(60.0), Catches: 1,
		LongestRestartSeconds: ptr(2.5), Step: "bounce", RopeKind: "beaded", CountedBy: "coach", SeenByCoach: true, Unattended: true, Timing: "hand"}
	oneFoot, tooFast := base, base
	oneFoot.OneFoot = true
	tooFast.Rotations = ptr(700)
	for _, test := range []struct {
		name  string
		r     gym.Result
		rpm   float64
		reps  int
		tries int
	}{
		{"base test", base, 120, 0, 0},
		{"base test, one foot counted", oneFoot, 120, 0, 0},
		{"faster than any rope", tooFast, 0, 0, 0},
		{"clean run", gym.Result{Protocol: "clean_run", Day: today, Rotations: ptr(40)}, 0, 40, 0},
		{"doubles in a row", gym.Result{Protocol: "doubles", Day: today, Rotations: ptr(6)}, 0, 6, 0},
		{"cycles of a split", gym.Result{Protocol: "split", Task: "split-10-10", Day: today, Rotations: ptr(4)}, 0, 4, 0},
		{"tries", gym.Result{Protocol: "tries", Day: today, Successes: ptr(3), Attempts: ptr(5)}, 0, 0, 5},
		{"nothing counted", gym.Result{Protocol: "flight", Day: today}, 0, 0, 0},
	} {
		t.Run(test.name, func(t *testing.T) {
			e := OfResult(test.r)
			if e.RPM != test.rpm || e.Reps != test.reps || e.Tries != test.tries {
				t.Errorf("%.0f rpm, %d reps, %d tries; want %.0f, %d, %d", e.RPM, e.Reps, e.Tries, test.rpm, test.reps, test.tries)
			}
			if e.ID != test.r.ResultID.String() || e.Day != ladder.DayOf(today) || e.Task != test.r.Task {
				t.Errorf("id, day or task lost: %+v", e)
			}
		})
	}
	e := OfResult(base)
	if e.RestartWithinSeconds != 2.5 || e.Catches != 1 || !e.SeenByCoach || !e.Unattended || e.Rope != ladder.Beaded || e.Step != "bounce" || e.CountedBy != "coach" {
		t.Errorf("setup lost: %+v", e)
	}
}

func TestAJudgementIsEvidence(t *testing.T) {
	saw := gym.Judgement{JudgementID: uuid.UUID{1}, Stage: "first-jumps", Task: "single-jumps", Good: true, Day: today, JudgedAt: today}
	if e := OfJudgement(saw); e.Protocol != ladder.Judged || !e.Good || !e.SeenByCoach || e.Replaces != "" || e.Stage != "first-jumps" {
		t.Errorf("%+v", e)
	}
	back := gym.Judgement{JudgementID: uuid.UUID{2}, Task: "single-jumps", Day: today, TakesBack: saw.JudgementID}
	if e := OfJudgement(back); e.Protocol != "" || e.Replaces != saw.JudgementID.String() {
		t.Errorf("taking back: %+v", e)
	}
}

func TestTheBarForTheYoungIsForWhoeverMayBeYoung(t *testing.T) {
	for _, test := range []struct {
		born, age int
		minor     bool
	}{
		{0, 0, true}, {2014, 11, true}, {2011, 14, true}, {2010, 15, true}, {2009, 16, false}, {1980, 45, false}, {2026, 0, true},
	} {
		a := Athlete(gym.Athlete{BirthYear: test.born}, 16, today, "cord")
		if a.Age != test.age || a.Minor != test.minor || a.Rope != ladder.Cord {
			t.Errorf("born %d: %+v, want age %d, minor %t", test.born, a, test.age, test.minor)
		}
	}
}

func TestTheShippedLadderSurvivesBeingKept(t *testing.T) {
	kept, version, stages, err := Shipped(uuid.UUID{9}, today)
	if err != nil {
		t.Fatal(err)
	}
	if !kept.InUse || version.Version != 1 || len(stages) != 16 || stages[15].Number != 16 || stages[0].LadderID != kept.LadderID {
		t.Fatalf("%+v, %+v, %d stages", kept, version, len(stages))
	}
	read, err := Ladder(kept, stages)
	if err != nil {
		t.Fatal(err)
	}
	shipped, err := ladder.Shipped("en")
	if err != nil {
		t.Fatal(err)
	}
	if changes := ladder.Diff(shipped.Numbered(), read); len(changes) > 0 || read.Name != shipped.Name || read.Lang != "en" {
		t.Errorf("changed by being kept: %v", changes)
	}
	stages[3].Body = []byte(`{`)
	if _, err := Ladder(kept, stages); err == nil {
		t.Error("a broken body is read without an error")
	}
}

// decided makes decisions, one a day: each "from>to" or "back" of the newest
// that holds.
func decided(steps ...string) []gym.StageDecision {
	var made []gym.StageDecision
	for i, step := range steps {
		d := gym.StageDecision{DecisionID: uuid.UUID{15: byte(i + 1)}, Verdict: Up, DecidedOn: today.AddDate(0, 0, i), DecidedAt: today.AddDate(0, 0, i), StageTo: step}
		switch {
		case step == Back:
			d.Verdict, d.TakesBack = Back, PlaceOf(made).Decision
			d.StageTo = PlaceOf(append(slices.Clone(made), d)).Stage
		case step == PlaceOf(made).Stage:
			d.Verdict = Stay
		}
		made = append(made, d)
	}
	return made
}

func TestPlace(t *testing.T) {
	for _, test := range []struct {
		name  string
		steps []string
		want  string
		since int // day of the decisions
	}{
		{"nobody has decided", nil, "", -1},
		{"placed", []string{"a"}, "a", 0},
		{"moved up", []string{"a", "b"}, "b", 1},
		{"stays: the weeks go on", []string{"a", "b", "b"}, "b", 1},
		{"up taken back: the weeks before count again", []string{"a", "b", Back}, "a", 0},
		{"two taken back", []string{"a", "b", "c", Back, Back}, "a", 0},
		{"the only one taken back", []string{"a", Back}, "", -1},
		{"decided anew after taking back", []string{"a", "b", Back, "c"}, "c", 3},
	} {
		t.Run(test.name, func(t *testing.T) {
			place := PlaceOf(decided(test.steps...))
			if place.Stage != test.want {
				t.Errorf("stands on %q, want %q", place.Stage, test.want)
			}
			if test.since >= 0 && !place.Since.Equal(today.AddDate(0, 0, test.since)) {
				t.Errorf("since %v", place.Since)
			}
		})
	}
}

func steps(t *rapid.T) []gym.StageDecision {
	return decided(rapid.SliceOfN(rapid.SampledFrom([]string{"a", "b", "c", Back}), 1, 12).
		Filter(func(s []string) bool { return s[0] != Back }).Draw(t, "steps")...)
}

// The order in which rows come does not matter.
func TestPlaceKnowsNoOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		made := steps(t)
		shuffled := rapid.Permutation(made).Draw(t, "order")
		if PlaceOf(made) != PlaceOf(shuffled) {
			t.Fatalf("%+v, shuffled %+v", PlaceOf(made), PlaceOf(shuffled))
		}
	})
}

// Taking the newest decision back leads to the place before it.
func TestTakingBackUndoes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		made := steps(t)
		before := PlaceOf(made)
		next := gym.StageDecision{DecisionID: uuid.UUID{14: 1}, Verdict: Up, StageTo: "d", DecidedOn: today.AddDate(0, 1, 0), DecidedAt: today.AddDate(0, 1, 0)}
		back := gym.StageDecision{DecisionID: uuid.UUID{14: 2}, Verdict: Back, TakesBack: next.DecisionID, DecidedOn: next.DecidedOn, DecidedAt: next.DecidedAt.Add(time.Minute)}
		if after := PlaceOf(append(made, next, back)); after != before {
			t.Fatalf("%+v, after taking back %+v", before, after)
		}
	})
}

// The decision that holds says the same as the newest row, which is what lists
// of a class read.
func TestTheNewestRowSaysWhereSomebodyStands(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		made := steps(t)
		if newest := made[len(made)-1]; newest.StageTo != PlaceOf(made).Stage {
			t.Fatalf("the newest row says %q, the decisions say %q", newest.StageTo, PlaceOf(made).Stage)
		}
	})
}
