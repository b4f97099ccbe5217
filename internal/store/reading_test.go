package store_test

import (
	"reflect"
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// same compares what was read with what was kept, as JSON: times from the
// database are of another zone.
func same(t *testing.T, what string, got, want any) {
	t.Helper()
	if g, w := asJSON(t, got), asJSON(t, want); g != w {
		t.Errorf("%s\n got %s\nwant %s", what, g, w)
	}
}

// outlined is a plan without what it was made from.
func outlined(p gym.Plan) gym.Plan {
	p.Input, p.Hour, p.Parts = nil, nil, nil
	return p
}

func TestReadingsFindWhatWasKept(t *testing.T) {
	b := open(t)
	b.fill()
	theGym := gym.Gym{GymID: gymA, Name: "Hall A", TimeZone: "Europe/London", AdultAge: 16, CreatedAt: now}
	anaKept := gym.Athlete{AthleteID: ana, Name: "Ana", SortName: "ana", Lang: "pt", BirthYear: 2014, HasPIN: true, StartedOn: today}
	benKept := gym.Athlete{AthleteID: ben, Name: "Ben"}
	starters := gym.Class{ClassID: class, Name: "Starters", Code: "ABC-234", Athletes: 2, CreatedAt: now}
	meeting := gym.Session{SessionID: session, ClassID: class, Day: today, StartsAt: now, Minutes: 60, Note: "hall 2", OpenedAt: &now, ClosedAt: &now}
	wrong, right := resultOf(ana, first, 13), resultOf(ana, second, 131)
	right.Corrects = first
	planned, older := planOf(ana, newPlan), planOf(ana, oldPlan)
	older.Day, older.MadeAt, older.SentAt = today.AddDate(0, 0, -7), now.AddDate(0, 0, -7), &now
	said := debriefOf(ana, debrief)
	held := gym.Hold{HoldID: hold, AthleteID: ana, Opened: true, Code: "pain", Reason: "shin", DebriefID: debrief, At: now, Day: today, By: person}
	start := gym.StageDecision{DecisionID: decision, AthleteID: ana, Verdict: "start", StageTo: "rope-swing", LadderID: ladder, Version: 1,
		Reason: "first day", Evidence: []byte(`[]`), DecidedOn: today, DecidedAt: now, DecidedBy: person}

	check(b, "the gym", theGym, store.TheGym)
	check(b, "one athlete", anaKept, func(into *gym.Athlete) store.Reading { return store.Athlete(ana, into) })
	check(b, "athletes in the order they stand in", []gym.Athlete{benKept, anaKept}, func(into *[]gym.Athlete) store.Reading { return store.AthletesOf(class, into) })
	check(b, "athletes by name", []gym.Athlete{anaKept, benKept}, store.Athletes)
	check(b, "classes", []gym.Class{starters}, store.Classes)
	check(b, "one class", starters, func(into *gym.Class) store.Reading { return store.Class(class, into) })
	check(b, "classes of an athlete", []gym.Class{starters}, func(into *[]gym.Class) store.Reading { return store.ClassesOf(ana, into) })
	check(b, "class times", []gym.ClassTime{{ClassID: class, Weekday: 2, StartsAt: 17 * time.Hour, Minutes: 60}}, store.ClassTimes)
	check(b, "terms", []gym.Term{{TermID: term, Name: "Autumn", StartsOn: today, EndsOn: today.AddDate(0, 3, 0)}}, store.Terms)
	check(b, "holidays", []gym.Holiday{{HolidayID: holiday, Name: "Half term", StartsOn: today, EndsOn: today.AddDate(0, 0, 4)}}, store.Holidays)
	check(b, "sessions of a class", []gym.Session{meeting}, func(into *[]gym.Session) store.Reading { return store.Sessions(class, today, today, into) })
	check(b, "sessions of a day", []gym.Session{meeting}, func(into *[]gym.Session) store.Reading { return store.SessionsOn(today, today, into) })
	check(b, "one session", meeting, func(into *gym.Session) store.Reading { return store.Session(session, into) })
	check(b, "results of a class that stand", []gym.Result{right}, func(into *[]gym.Result) store.Reading { return store.ResultsOfClass(class, today, into) })
	check(b, "results of an athlete that stand", []gym.Result{right}, func(into *[]gym.Result) store.Reading { return store.ResultsOf(ana, today, into) })
	check(b, "results since tomorrow", []gym.Result{}, func(into *[]gym.Result) store.Reading { return store.ResultsOf(ana, today.AddDate(0, 0, 1), into) })
	check(b, "history keeps both", []gym.Result{right, wrong}, func(into *[]gym.Result) store.Reading { return store.ResultHistory(ana, time.Time{}, into) })
	check(b, "one result that was corrected", wrong, func(into *gym.Result) store.Reading { return store.Result(first, into) })
	check(b, "plans of a class", []gym.Plan{planned}, func(into *[]gym.Plan) store.Reading { return store.PlansOfClass(class, today, into) })
	check(b, "recent plans of a class", []gym.Plan{outlined(planned), outlined(older)}, func(into *[]gym.Plan) store.Reading {
		return store.RecentPlansOfClass(class, today.AddDate(0, 0, -30), into)
	})
	check(b, "plans of an athlete", []gym.Plan{outlined(planned), outlined(older)}, func(into *[]gym.Plan) store.Reading {
		return store.RecentPlansOf(ana, today.AddDate(0, 0, -30), into)
	})
	check(b, "one plan", planned, func(into *gym.Plan) store.Reading { return store.Plan(newPlan, into) })
	check(b, "all plans", []gym.Plan{older, planned}, store.AllPlans)
	check(b, "debriefs of a class", []gym.Debrief{said}, func(into *[]gym.Debrief) store.Reading { return store.DebriefsOfClass(class, today, into) })
	check(b, "debriefs of an athlete", []gym.Debrief{said}, func(into *[]gym.Debrief) store.Reading { return store.DebriefsOf(ana, today, into) })
	check(b, "holds of a class", []gym.Hold{held}, func(into *[]gym.Hold) store.Reading { return store.HoldsOfClass(class, into) })
	check(b, "all holds of a class", []gym.Hold{held}, func(into *[]gym.Hold) store.Reading { return store.AllHoldsOfClass(class, into) })
	check(b, "holds of an athlete", []gym.Hold{held}, func(into *[]gym.Hold) store.Reading { return store.HoldsOf(ana, into) })
	check(b, "stages of the ladder in use", []gym.Stage{{LadderID: ladder, Version: 1, Number: 1, Key: "rope-swing", Title: "Rope swing", Body: []byte(`{"a": 1}`)}}, store.Stages)
	check(b, "places of a class", []gym.StageDecision{start}, func(into *[]gym.StageDecision) store.Reading { return store.PlacesOfClass(class, into) })
	check(b, "decisions on an athlete", []gym.StageDecision{start}, func(into *[]gym.StageDecision) store.Reading { return store.DecisionsOf(ana, into) })
	check(b, "ropes", []gym.Rope{{RopeID: rope, Label: "B1", Kind: "beaded", LengthM: 2.6, Handle: "short", Note: "red", AthleteID: ana}}, store.Ropes)
	check(b, "attendance", []store.Attendance{{SessionID: session, AthleteID: ana, Here: true}, {SessionID: session, AthleteID: ben}},
		func(into *[]store.Attendance) store.Reading { return store.AttendanceOf(class, today, into) })
	check(b, "staff", []store.Staff{{PersonID: person, Name: "Mara", Lang: "en", Role: gym.Owner}}, store.StaffOf)
}

// check reads one thing in gym A and compares it with what was kept.
func check[T any](b *base, what string, want T, reading func(into *T) store.Reading) {
	b.t.Helper()
	var got T
	b.read(gymA, reading(&got))
	same(b.t, what, got, want)
	var glanced T
	unknown := store.Glance{Known: func(store.Print) bool { return false }}
	if err := b.Read(store.Glancing(b.t.Context(), &unknown), gymA, reading(&glanced)); err != nil {
		b.t.Errorf("%s, after a glance: %v", what, err)
	}
	same(b.t, what+", after a glance", glanced, want)
}

func TestNothingFoundIsAnEmptyList(t *testing.T) {
	b := open(t)
	var athletes []gym.Athlete
	b.read(gymA, store.AthletesOf(class, &athletes))
	if athletes == nil || len(athletes) != 0 {
		t.Errorf("no athletes read as %#v", athletes)
	}
}

func TestOneThatIsNotThereIsNotFound(t *testing.T) {
	b := open(t)
	b.fill()
	nowhere := uuid.New()
	for what, reading := range map[string]store.Reading{
		"gym":     store.TheGym(&gym.Gym{}),
		"athlete": store.Athlete(nowhere, &gym.Athlete{}),
		"class":   store.Class(nowhere, &gym.Class{}),
		"session": store.Session(nowhere, &gym.Session{}),
		"result":  store.Result(nowhere, &gym.Result{}),
		"plan":    store.Plan(nowhere, &gym.Plan{}),
	} {
		in := gymA
		if what == "gym" {
			in = nowhere
		}
		if err := b.Read(t.Context(), in, reading); problem.KindOf(err) != problem.NotFound {
			t.Errorf("%s that is not there: %v, want NotFound", what, err)
		}
	}
}

// Plans keep their bytes, so that a plan worked out again can be compared.
func TestPlansKeepTheirBytes(t *testing.T) {
	b := open(t)
	b.fill()
	var plan gym.Plan
	b.read(gymA, store.Plan(newPlan, &plan))
	if want := planOf(ana, newPlan); !reflect.DeepEqual(plan.Input, want.Input) || !reflect.DeepEqual(plan.Output, want.Output) {
		t.Errorf("kept as %s and %s", plan.Input, plan.Output)
	}
}
