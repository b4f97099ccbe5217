package demo

import (
	"reflect"
	"slices"
	"testing"
	"time"
)

func gymAt(t *testing.T, until time.Time) Gym {
	t.Helper()
	g, err := Generate(until)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func TestSameCallGivesTheSameGym(t *testing.T) {
	if !reflect.DeepEqual(gymAt(t, Now()), gymAt(t, Now())) {
		t.Error("two calls differ")
	}
}

func TestAddingAnAthleteMovesNobodyElse(t *testing.T) {
	newcomer := enrol(Athlete{ID: 27, Name: "Amara B.", Lang: "en", BirthYear: 2013, Rope: "P5",
		Class: starters, JoinedWeek: 6})
	before, err := generate(athletes(), TermOver())
	if err != nil {
		t.Fatal(err)
	}
	after, err := generate(append(athletes(), newcomer), TermOver())
	if err != nil {
		t.Fatal(err)
	}
	if len(after.Attendance) <= len(before.Attendance) {
		t.Fatal("the newcomer has no attendance")
	}
	if !reflect.DeepEqual(before.Tests, without(after.Tests, func(r Test) int { return r.Athlete })) {
		t.Error("tests moved")
	}
	if !reflect.DeepEqual(before.Attendance, without(after.Attendance, func(r Attendance) int { return r.Athlete })) {
		t.Error("attendance moved")
	}
	if !reflect.DeepEqual(before.Taps, without(after.Taps, func(r TapSeries) int { return r.Athlete })) {
		t.Error("taps moved")
	}
	if !reflect.DeepEqual(before.Doubles, without(after.Doubles, func(r DoubleRun) int { return r.Athlete })) {
		t.Error("doubles moved")
	}
	if !reflect.DeepEqual(before.Feedback, without(after.Feedback, func(r Feedback) int { return r.Athlete })) {
		t.Error("feedback moved")
	}
}

// without returns the records that are not athlete 27's.
func without[T any](records []T, athlete func(T) int) []T {
	var kept []T
	for _, r := range records {
		if athlete(r) != 27 {
			kept = append(kept, r)
		}
	}
	return kept
}

func TestEveryRecordIsMarkedInvented(t *testing.T) {
	g := gymAt(t, TermOver())
	records := 0
	value := reflect.ValueOf(g)
	for i := range value.NumField() {
		field := value.Field(i)
		if field.Kind() != reflect.Slice {
			continue
		}
		for j := range field.Len() {
			r, marked := field.Index(j).Interface().(interface{ Invented() bool })
			if !marked || !r.Invented() {
				t.Fatalf("%s[%d] is not marked", value.Type().Field(i).Name, j)
			}
			records++
		}
	}
	if !g.Invented() || !g.Owner.Invented() || records < 1000 {
		t.Errorf("gym %v, owner %v, %d records", g.Invented(), g.Owner.Invented(), records)
	}
}

func TestNothingIsLaterThanThePresent(t *testing.T) {
	g, all := gymAt(t, Now()), gymAt(t, TermOver())
	for _, r := range g.Tests {
		if r.TakenAt.After(Now()) {
			t.Errorf("%s is taken at %v", r.Key, r.TakenAt)
		}
	}
	if len(g.Sessions) != 22 || len(all.Sessions) != 22 {
		t.Errorf("%d and %d sessions, want 22", len(g.Sessions), len(all.Sessions))
	}
	held := 0
	for _, s := range g.Sessions {
		if s.Held {
			held++
		}
	}
	if held != 15 { // eight Tuesdays, seven Thursdays
		t.Errorf("%d sessions held, want 15", held)
	}
	if len(g.Tests) >= len(all.Tests) || len(g.Attendance) >= len(all.Attendance) {
		t.Error("the full term is not longer")
	}
}

func TestClassesMeetOnTheWallClock(t *testing.T) {
	for _, s := range gymAt(t, Now()).Sessions {
		at := s.StartsAt
		want := "Tue 17:00"
		if s.Class == open {
			want = "Thu 18:30"
		}
		if got := at.Format("Mon 15:04"); got != want {
			t.Errorf("week %d of %s meets %s, want %s", s.Week, s.Class, got, want)
		}
		zone, _ := at.Zone()
		if summer := s.Week < 8; summer != (zone == "BST") { // clocks go back on 25 October 2026
			t.Errorf("week %d is in %s", s.Week, zone)
		}
	}
}

func TestTermAndHoliday(t *testing.T) {
	term := gymAt(t, Now()).Terms[0]
	for _, test := range []struct {
		name string
		got  time.Time
		want string
	}{
		{"first day", term.StartsOn, "Mon 7 Sep 2026"},
		{"last day", term.EndsOn, "Sun 29 Nov 2026"},
		{"holiday from", term.HolidayFrom, "Mon 26 Oct 2026"},
		{"holiday to", term.HolidayTo, "Sun 1 Nov 2026"},
		{"present", Now(), "Wed 4 Nov 2026"},
	} {
		if got := test.got.Format("Mon 2 Jan 2006"); got != test.want {
			t.Errorf("%s = %s, want %s", test.name, got, test.want)
		}
	}
}

func TestRosterFitsTheClasses(t *testing.T) {
	g := gymAt(t, Now())
	pins := map[string]bool{}
	for i, a := range g.Athletes {
		if a.ID != i+1 || len(a.PIN) != 4 || pins[a.PIN] {
			t.Errorf("athlete %d has id %d and PIN %q", i+1, a.ID, a.PIN)
		}
		pins[a.PIN] = true
		age := a.AgeIn(2026)
		switch a.Class {
		case starters:
			if age < 11 || age > 14 || a.StartStage < 2 || a.StartStage > 5 {
				t.Errorf("%s: age %d, stage %d among the starters", a.Name, age, a.StartStage)
			}
		case open:
			if age < 15 || age > 60 || a.StartStage < 5 || a.StartStage > 12 {
				t.Errorf("%s: age %d, stage %d in the open class", a.Name, age, a.StartStage)
			}
		default:
			t.Errorf("%s is in no class", a.Name)
		}
	}
	if len(g.Athletes) != 26 {
		t.Errorf("%d athletes, want 26", len(g.Athletes))
	}
}

func TestEveryStageOfTheWeightsIsTaken(t *testing.T) {
	taken := map[string][]int{}
	for _, a := range athletes() {
		taken[a.Class] = append(taken[a.Class], a.StartStage)
	}
	for class, want := range map[string][]int{starters: {2, 3, 4, 5}, open: {5, 6, 7, 8, 10, 12}} {
		slices.Sort(taken[class])
		if got := slices.Compact(taken[class]); !slices.Equal(got, want) {
			t.Errorf("%s stands on %v, want %v", class, got, want)
		}
	}
}

func TestRopesAreAllowed(t *testing.T) {
	g := gymAt(t, Now())
	if len(g.Ropes) != 20 {
		t.Errorf("%d ropes, want 20", len(g.Ropes))
	}
	kinds := map[string]string{}
	for _, r := range g.Ropes {
		kinds[r.Label] = r.Kind
		if (r.Kind == "steel") != r.CheckedWeekly {
			t.Errorf("%s: kind %s, checked weekly %v", r.Label, r.Kind, r.CheckedWeekly)
		}
	}
	for _, a := range g.Athletes {
		kind := kinds[a.Rope]
		if c := g.class(a.Class); !c.Allows(kind) {
			t.Errorf("%s of %s jumps with a %q rope", a.Name, c.Name, kind)
		}
		if kind == "steel" && a.AgeIn(2026) < 18 {
			t.Errorf("%s is %d and jumps with steel", a.Name, a.AgeIn(2026))
		}
	}
}

func TestTapsFollowTheirTest(t *testing.T) {
	g := gymAt(t, TermOver())
	tests := map[string]Test{}
	for _, r := range g.Tests {
		tests[r.Key] = r
	}
	if len(g.Taps) < 10 {
		t.Fatalf("%d series", len(g.Taps))
	}
	for _, s := range g.Taps {
		r := tests[s.Test]
		if !slices.IsSorted(s.Stamps) || len(s.Stamps) > r.Rotations || float64(len(s.Stamps)) < 0.85*float64(r.Rotations) {
			t.Errorf("%s: %d taps for %d rotations", s.Test, len(s.Stamps), r.Rotations)
		}
		if last := s.Stamps[len(s.Stamps)-1]; last > r.Seconds {
			t.Errorf("%s: tap at %v s", s.Test, last)
		}
	}
}

func TestDoublesGrowOverTheTerm(t *testing.T) {
	early, late := []float64{}, []float64{}
	for _, d := range gymAt(t, TermOver()).Doubles {
		if d.Doubles < 1 || d.JumpsPerMinute < 60 || d.JumpsPerMinute > 96 || d.Attempt < 1 || d.Attempt > 5 {
			t.Errorf("odd run %+v", d)
		}
		switch {
		case d.Week <= 4:
			early = append(early, float64(d.Doubles))
		case d.Week >= 9:
			late = append(late, float64(d.Doubles))
		}
	}
	if !(mean(late) > mean(early)+1) {
		t.Errorf("mean run %.2f early and %.2f late", mean(early), mean(late))
	}
}

func TestFeedbackWords(t *testing.T) {
	efforts := map[string]int{Easy: 2, Right: 4, Hard: 7}
	counts := map[string]int{}
	for _, f := range gymAt(t, TermOver()).Feedback {
		counts[f.Word]++
		if f.Effort != efforts[f.Word] {
			t.Errorf("%s: %q is effort %d", f.Key, f.Word, f.Effort)
		}
		if (f.Pain > 0) != (f.PainNote != "") || (f.Pain > 0) != (f.PainPlace != "") {
			t.Errorf("%s: pain %d at %q: %q", f.Key, f.Pain, f.PainPlace, f.PainNote)
		}
	}
	if !(counts[Right] > counts[Easy] && counts[Easy] > counts[Hard] && counts[Hard] > 0) {
		t.Errorf("words %v", counts)
	}
}
