package server

import (
	"strconv"
	"testing"
	"time"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// of names the field of the n-th athlete on the sheet of a class.
func (h *hall) of(field string, n int) string {
	return field + "-" + h.athletes[n].AthleteID.String()
}

func (h *hall) history(n int) []gym.Result {
	h.t.Helper()
	var results []gym.Result
	h.read(h.id, store.ResultHistory(h.athletes[n].AthleteID, time.Time{}, &results))
	return results
}

func TestRecordAClass(t *testing.T) {
	h := newHall(t, "Ana", "Ben", "Chidi", "Dora")
	coach := h.as(h.coach)
	f := coach.get(h.path("/tests")).is(200).form(h.path("/tests"))
	f.Set("test", "base 30")
	f.Set("step", "alternate")
	f.Set("rope", "beaded")
	f.Set("surface", "wood")
	f.Set("counted_by", "partner")
	f.Set(h.of("rotations", 0), "87")
	f.Set(h.of("catches", 0), "2")
	f.Set(h.of("lost", 0), "4,5") // as many people write it
	f.Set(h.of("rotations", 1), "8o")
	f.Set(h.of("rotations", 2), "91")
	a := coach.post(h.path("/tests"), f).is(422) // one row is wrong, the others are kept
	a.says("There is a problem", "Ben: Rotations must be a whole number", "You typed “8o”.", "2 of 4 in")
	again := a.form(h.path("/tests"))
	if again.Get(h.of("rotations", 1)) != "8o" || again.Get("step") != "alternate" || again.Get("test") != "base 30" {
		t.Errorf("what was typed does not stay: %v", again)
	}
	if len(h.history(1)) != 0 || len(h.history(3)) != 0 {
		t.Error("a wrong or empty row was kept")
	}
	anas := h.history(0)
	if len(anas) != 1 {
		t.Fatalf("%d results of Ana, want 1", len(anas))
	}
	r := anas[0]
	if r.Protocol != "base" || *r.Rotations != 87 || *r.Seconds != 30 || r.Catches != 2 || *r.LostSeconds != 4.5 || r.Step != "alternate" ||
		r.RopeKind != "beaded" || r.Surface != "wood" || r.CountedBy != "partner" || r.RecordedBy != h.coach.PersonID || !r.TakenAt.Equal(noon) {
		t.Errorf("kept as %+v", r)
	}

	again.Set(h.of("rotations", 1), "80")
	coach.post(h.path("/tests"), again).is(200).says("3 of 4 in")
	coach.post(h.path("/tests"), f) // the first form once more, as after a doubtful send
	for n, want := range []int{1, 1, 1, 0} {
		if got := len(h.history(n)); got != want {
			t.Errorf("%s has %d results, want %d", h.athletes[n].Name, got, want)
		}
	}
	coach.get(h.path("")).is(200).says("205 ±") // 87 turns in 25.5 s
	coach.get("/athletes/"+h.athletes[0].AthleteID.String()).is(200).says("174 ±", "205 ±")
}

// A number alone says nothing without what was counted, by whom, on what.
func TestRecordWhatCannotBe(t *testing.T) {
	h := newHall(t, "Ana")
	coach := h.as(h.coach)
	path := "/athletes/" + h.athletes[0].AthleteID.String() + "/tests"
	for _, test := range []struct{ name, field, value, says string }{
		{"nothing counted", "rotations", "", "Rotations must be a whole number"},
		{"below zero", "rotations", "-3", "Rotations must be a whole number"},
		{"half a turn", "rotations", "80.5", "Rotations must be a whole number"},
		{"more than any rope", "rotations", "700", "more than any rope turns"},
		{"four digits", "rotations", "8000", "Rotations must be a whole number"},
		{"catches", "catches", "many", "Catches must be a whole number"},
		{"lost more than there was", "lost", "61", "must be less than the test's"},
		{"lost nothing readable", "lost", "NaN", "The seconds lost"},
		{"another step", "step", "moonwalk", "Choose a step from the list."},
		{"another rope", "rope", "elastic", "Choose a rope from the list."},
		{"another floor", "surface", "ice", "Choose a floor from the list."},
		{"another counter", "counted_by", "nobody", "Choose who counted."},
		{"another length", "test", "base 61", ""},
		{"tomorrow", "day", "2026-11-05", "Choose a day that is not in the future."},
		{"no day", "day", "yesterday", "Choose a day that is not in the future."},
	} {
		t.Run(test.name, func(t *testing.T) {
			f := coach.get(path + "/new").is(200).form(path)
			f.Set("test", "base 60")
			f.Set("rotations", "118")
			f.Set(test.field, test.value)
			a := coach.post(path, f).is(422)
			a.says("There is a problem", test.says)
			if kept := a.form(path); test.field != "test" && kept.Get("rotations") != f.Get("rotations") {
				t.Errorf("the typed rotations do not stay: %v", kept)
			}
		})
	}
	if got := h.history(0); len(got) != 0 {
		t.Errorf("%d results were kept", len(got))
	}
}

func TestRecordTheSameFormTwice(t *testing.T) {
	h := newHall(t, "Ana")
	coach := h.as(h.coach)
	path := "/athletes/" + h.athletes[0].AthleteID.String() + "/tests"
	f := coach.get(path + "/new").is(200).form(path)
	f.Set("test", "base 60")
	f.Set("rotations", "118")
	f.Set("day", "2026-11-02")
	for range 2 {
		coach.follow(coach.post(path, f)).is(200).says("Saved.", "Change it or take it out")
	}
	results := h.history(0)
	if len(results) != 1 || results[0].Day.Format(time.DateOnly) != "2026-11-02" {
		t.Errorf("results are %v, want one of 2 November", results)
	}
}

// An odd value is asked about and kept; the coach mends it, and the history
// keeps both.
func TestOddValueIsAskedKeptAndMended(t *testing.T) {
	for _, test := range []struct {
		name, do, rotations string
		status              int
		stands              int // rotations that count afterwards, 0 for none
	}{
		{"mended", "change", "80", 303, 80},
		{"right as it is", "keep", "", 303, 480},
		{"taken out", "void", "", 303, 0},
		{"mended wrongly", "change", "eighty", 422, 480},
		{"mended to nothing", "change", "", 422, 480},
	} {
		t.Run(test.name, func(t *testing.T) {
			h := newHall(t, "Ana", "Ben")
			h.counted(0, "base", 81, 60, 7)
			coach := h.as(h.coach)
			f := coach.get(h.path("/tests")).is(200).form(h.path("/tests"))
			f.Set("test", "base 60")
			f.Set("step", "bounce")
			f.Set("rope", "beaded")
			f.Set(h.of("rotations", 0), "480")
			coach.post(h.path("/tests"), f).is(200).says("Check: 480 rpm?")
			coach.get("/today").is(200).says("1 odd result")
			coach.get(h.path("")).says("1 result needs a look")
			odd := coach.get(h.path("/odd")).is(200).says("Ana", "480 in 60 s is 480 rpm.", "Before that: 81 rpm.")

			action := "/results/" + h.history(0)[0].ResultID.String() + "/correct"
			mend := odd.form(action)
			mend.Set("rotations", test.rotations)
			mend.Set("do", test.do)
			a := coach.post(action, mend).is(test.status)
			if test.status == 303 {
				coach.follow(a).is(200).says(map[string]string{"change": "Changed. The old count stays", "keep": "Kept as it is.", "void": "Taken out. It stays"}[test.do], "Nothing odd.")
				coach.get("/athletes/" + h.athletes[0].AthleteID.String()).says("replaced") // what stood before
				if n := len(h.history(0)); n != 3 {
					t.Errorf("the history has %d entries, want 3", n)
				}
				coach.post(action, mend).is(409).says("before you")
			} else {
				a.says("Rotations must be a whole number")
			}
			stands := 0
			var results []gym.Result
			h.read(h.id, store.ResultsOf(h.athletes[0].AthleteID, day(h.now), &results))
			for _, r := range results {
				stands = *r.Rotations
			}
			if stands != test.stands {
				t.Errorf("%d rotations stand, want %d", stands, test.stands)
			}
		})
	}
}

func TestASheetNeedsAthletes(t *testing.T) {
	h := newHall(t)
	h.as(h.coach).get(h.path("/tests")).is(200).says("This class has no athletes yet.", "Bring in names")
	h.as(h.coach).post(h.path("/tests"), nil).is(200)
}

// An assistant enters results; that a coach saw them is not hers to say.
func TestAssistantsRecord(t *testing.T) {
	h := newHall(t, "Ana")
	for n, who := range []gym.Who{h.assistant, h.coach} {
		b := h.as(who)
		f := b.get(h.path("/tests")).is(200).form(h.path("/tests"))
		f.Set("test", "base 60")
		f.Set("counted_by", "coach")
		f.Set(h.of("rotations", 0), strconv.Itoa(100+n))
		b.post(h.path("/tests"), f).is(200)
	}
	for _, r := range h.history(0) {
		if seen := *r.Rotations == 101; r.SeenByCoach != seen {
			t.Errorf("%d rotations: seen by a coach %t, want %t", *r.Rotations, r.SeenByCoach, seen)
		}
	}
}

// The days are the gym's: at half past midnight in summer it is still yesterday
// in UTC.
func TestDaysAreTheGyms(t *testing.T) {
	h := newHall(t, "Ana")
	h.now = time.Date(2026, time.July, 7, 23, 30, 0, 0, time.UTC)
	coach := h.as(h.coach)
	path := "/athletes/" + h.athletes[0].AthleteID.String() + "/tests"
	f := coach.get(path + "/new").is(200).form(path)
	if f.Get("day") != "2026-07-08" {
		t.Errorf("the form's day is %s, want 2026-07-08", f.Get("day"))
	}
	f.Set("test", "base 60")
	f.Set("rotations", "118")
	coach.post(path, f).is(303)
	if got := h.history(0)[0].Day.Format(time.DateOnly); got != "2026-07-08" {
		t.Errorf("kept under %s, want 2026-07-08", got)
	}
}
