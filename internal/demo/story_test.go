package demo

import (
	"slices"
	"strings"
	"testing"
)

// testsOf returns the tests of an athlete whose key starts with name.
func (g Gym) testsOf(athlete int, name string) []Test {
	var found []Test
	for _, r := range g.Tests {
		if r.Athlete == athlete && strings.HasPrefix(r.Key, name) {
			found = append(found, r)
		}
	}
	return found
}

// presentWeeks returns the weeks in which an athlete came.
func (g Gym) presentWeeks(athlete int) []int {
	var found []int
	for _, r := range g.Attendance {
		if r.Athlete == athlete && r.Present {
			found = append(found, r.Week)
		}
	}
	return found
}

func TestAthlete3IsAwayAndComesBackLower(t *testing.T) {
	g := gymAt(t, Now())
	if got := g.presentWeeks(3); !slices.Equal(got, []int{1, 2, 3, 7}) {
		t.Errorf("came in weeks %v", got)
	}
	tests := g.testsOf(3, "bounce30")
	last := tests[len(tests)-1]
	if last.Week != 7 || float64(last.Rotations) > 0.9*float64(tests[len(tests)-2].Rotations) {
		t.Errorf("tests %+v", tests)
	}
}

func TestAthlete7MeetsTheGateTwice(t *testing.T) {
	g := gymAt(t, Now())
	if stage := g.Athletes[6].StartStage; stage != 5 {
		t.Errorf("stands on stage %d", stage)
	}
	met := g.testsOf(7, "alternate30")
	if len(met) != 2 || met[0].Week != 7 || met[1].Week != 9 {
		t.Fatalf("tests %+v", met)
	}
	for _, r := range met {
		if r.Step != Alternate || r.Seconds != 30 || r.Catches > 2 || r.LongestRestart > 3 || r.CountedBy != ByCoach {
			t.Errorf("does not meet the gate: %+v", r)
		}
	}
	if !slices.Contains(g.presentWeeks(7), 9) {
		t.Error("tested in week 9 without being there")
	}
}

func TestAthlete12HasAnOddCount(t *testing.T) {
	odd := gymAt(t, Now()).testsOf(12, "bounce60")
	if len(odd) != 1 || odd[0].Rotations != 480 {
		t.Fatalf("tests %+v", odd)
	}
	if rpm := 60 * float64(odd[0].Rotations) / odd[0].Seconds; rpm <= 460 || rpm > 600 {
		t.Errorf("%v rpm is not between the best known rate and the refused ones", rpm)
	}
}

func TestAthlete19IsCountedTwice(t *testing.T) {
	counts := gymAt(t, Now()).testsOf(19, "bounce30-19-w07")
	if len(counts) != 2 {
		t.Fatalf("counts %+v", counts)
	}
	tablet, phone := counts[0], counts[1]
	if phone.ClashesWith != tablet.Key || phone.Device == tablet.Device || !phone.TakenAt.Equal(tablet.TakenAt) {
		t.Errorf("not the same attempt: %+v and %+v", tablet, phone)
	}
	if tablet.Rotations-phone.Rotations <= 3 { // closer ones would be combined
		t.Errorf("counts %d and %d", tablet.Rotations, phone.Rotations)
	}
}

func TestAthlete22IsHeldForPain(t *testing.T) {
	open := func(g Gym) (held []Feedback) {
		for _, f := range g.Feedback {
			if f.Pain > 0 && f.ReleasedAt.IsZero() {
				held = append(held, f)
			}
		}
		return held
	}
	held := open(gymAt(t, Now()))
	if len(held) != 1 || held[0].Athlete != 22 || held[0].Week != 9 || held[0].InSession {
		t.Errorf("held now: %+v", held)
	}
	for _, f := range open(gymAt(t, TermOver())) {
		if f.Week < lastWeek {
			t.Errorf("held to the end of the term: %+v", f)
		}
	}
	for _, r := range gymAt(t, TermOver()).testsOf(22, "") {
		if r.Week == 9 {
			t.Errorf("tested while held: %+v", r)
		}
	}
}

func TestAthlete24HasThreeUnsentResults(t *testing.T) {
	g := gymAt(t, Now())
	if len(g.Unsent) != 3 {
		t.Fatalf("unsent %+v", g.Unsent)
	}
	for _, r := range g.Unsent {
		if r.Athlete != 24 || r.Device != "demo-phone-24" || r.CountedBy != BySelf || r.InSession {
			t.Errorf("unsent %+v", r)
		}
		if slices.ContainsFunc(g.Tests, func(sent Test) bool { return sent.Key == r.Key }) {
			t.Errorf("%s was sent", r.Key)
		}
	}
	if age := g.Athletes[23].AgeIn(2026); age < 18 {
		t.Errorf("tests alone at %d", age)
	}
}

func TestAthlete26JoinsInWeek5(t *testing.T) {
	g := gymAt(t, Now())
	for _, r := range g.Attendance {
		if r.Athlete == 26 && r.Week < 5 {
			t.Errorf("listed in week %d", r.Week)
		}
	}
	if weeks := g.presentWeeks(26); weeks[0] != 5 {
		t.Errorf("came in weeks %v", weeks)
	}
	for _, r := range g.testsOf(26, "") {
		if r.Week < 5 {
			t.Errorf("tested in week %d", r.Week)
		}
	}
}

func TestWhoHasAndLacksTests(t *testing.T) {
	g := gymAt(t, Now())
	var noTest, noBurst []int
	for _, a := range g.Athletes {
		if len(g.testsOf(a.ID, "")) == 0 {
			noTest = append(noTest, a.ID)
		}
		if a.StartStage >= paceStage && len(g.testsOf(a.ID, "burst10")) == 0 {
			noBurst = append(noBurst, a.ID)
		}
		if a.StartStage < paceStage && len(g.testsOf(a.ID, "burst10")) > 0 {
			t.Errorf("athlete %d bursts on stage %d", a.ID, a.StartStage)
		}
		if a.StartStage >= paceStage && len(g.testsOf(a.ID, "burst10")) != len(g.testsOf(a.ID, "alternate60")) {
			t.Errorf("athlete %d has a burst without a base of the same step", a.ID)
		}
	}
	if !slices.Equal(noTest, []int{21}) {
		t.Errorf("no test at all: %v", noTest)
	}
	if !slices.Equal(noBurst, []int{21}) {
		t.Errorf("no burst test from stage 6 on: %v", noBurst)
	}
	newest := g.testsOf(10, "")
	if weeks := newest[len(newest)-1].Week; weeks != 1 {
		t.Errorf("athlete 10 was tested last in week %d", weeks)
	}
}

func TestKeysAreUnique(t *testing.T) {
	g := gymAt(t, TermOver())
	seen := map[string]bool{}
	check := func(key string) {
		if key == "" || seen[key] {
			t.Errorf("key %q twice", key)
		}
		seen[key] = true
	}
	for _, r := range slices.Concat(g.Tests, g.Unsent) {
		check(r.Key)
	}
	for _, r := range g.Doubles {
		check(r.Key)
	}
	for _, r := range g.Feedback {
		check(r.Key)
	}
}
