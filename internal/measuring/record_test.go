package measuring_test

import (
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/measuring"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/store"
	"ropewalk.example/internal/testdb"
)

var now = time.Date(2026, time.November, 4, 12, 0, 0, 0, time.UTC)

// A floor is a gym with two athletes, and whoever records there.
type floor struct {
	*measuring.Measuring
	t        *testing.T
	who      gym.Who
	ana, ben uuid.UUID
}

func newFloor(t *testing.T) *floor {
	t.Helper()
	st, err := store.Open(t.Context(), testdb.New(t).AppURL)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(st.Close)
	f := &floor{Measuring: &measuring.Measuring{Store: st, Now: func() time.Time { return now }}, t: t, ana: uuid.New(), ben: uuid.New(),
		who: gym.Who{GymID: uuid.New(), PersonID: uuid.New(), Role: gym.Coach, Name: "Cleo"}}
	err = st.Write(t.Context(), f.who.GymID, func(tx *store.Tx) error {
		if err := tx.AddGym(t.Context(), gym.Gym{Name: "Hall", TimeZone: "UTC", AdultAge: 16, CreatedAt: now}); err != nil {
			return err
		}
		_, _, err := tx.AddAthletes(t.Context(), []store.NewAthlete{
			{Athlete: gym.Athlete{AthleteID: f.ana, Name: "Ana", BirthYear: 1990}, NameKey: "ana"},
			{Athlete: gym.Athlete{AthleteID: f.ben, Name: "Ben", BirthYear: 1991}, NameKey: "ben"}}, now)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// minute returns a base test of a minute, some days ago.
func minute(athlete uuid.UUID, rotations, daysAgo int) gym.Result {
	r := sound(rate.Base)
	at := now.AddDate(0, 0, -daysAgo)
	r.ResultID, r.AthleteID, r.TakenAt, r.Day = uuid.New(), athlete, at, gym.DayIn(at, time.UTC)
	r.Rotations, r.Seconds = &rotations, ptr(60.0)
	return r
}

func (f *floor) record(r gym.Result) measuring.Answer {
	f.t.Helper()
	answer, err := f.Record(f.t.Context(), f.who, r)
	if err != nil {
		f.t.Fatal(err)
	}
	return answer
}

func (f *floor) standing(athlete uuid.UUID) []gym.Result {
	f.t.Helper()
	var results []gym.Result
	if err := f.Store.Read(f.t.Context(), f.who.GymID, store.ResultsOf(athlete, time.Time{}, &results)); err != nil {
		f.t.Fatal(err)
	}
	return results
}

func TestOneWrongResultStopsNoOther(t *testing.T) {
	f := newFloor(t)
	wrong := minute(f.ben, 2000, 0)
	answers, err := f.RecordAll(t.Context(), f.who, []gym.Result{minute(f.ana, 100, 0), wrong, minute(f.ben, 90, 0)}, nil)
	if err != nil || len(answers) != 3 {
		t.Fatalf("%v, %v", answers, err)
	}
	for i, kept := range []bool{true, false, true} {
		if answers[i].Added != kept || (answers[i].Problem == nil) != kept {
			t.Errorf("answer %d: %+v, want kept %t", i, answers[i], kept)
		}
	}
	if n := len(f.standing(f.ana)) + len(f.standing(f.ben)); n != 2 {
		t.Errorf("%d results stand, want 2", n)
	}
}

func TestOddIsAskedAndKept(t *testing.T) {
	f := newFloor(t)
	if answer := f.record(minute(f.ana, 100, 7)); len(answer.Odd) != 0 {
		t.Errorf("the first test is asked about: %v", answer.Odd)
	}
	if answer := f.record(minute(f.ana, 103, 3)); len(answer.Odd) != 0 {
		t.Errorf("a test like the one before is asked about: %v", answer.Odd)
	}
	odd := minute(f.ana, 180, 0)
	if answer := f.record(odd); len(answer.Odd) == 0 || !answer.Added {
		t.Errorf("far from the level: %+v, want it asked about and kept", answer)
	}
	if newest := f.standing(f.ana)[0]; !newest.KeptOdd || newest.RecordedBy != f.who.PersonID || !newest.RecordedAt.Equal(now) {
		t.Errorf("kept as %+v", newest)
	}
	looked := odd
	looked.ResultID, looked.Corrects = uuid.New(), odd.ResultID
	if err := f.Keep(t.Context(), f.who, looked); err != nil {
		t.Fatal(err)
	}
	if newest := f.standing(f.ana)[0]; newest.KeptOdd || *newest.Rotations != 180 {
		t.Errorf("after a look it is %+v, want the same count, no longer odd", newest)
	}
	if err := f.Keep(t.Context(), f.who, minuteInPlaceOf(odd, 180)); problem.KindOf(err) != problem.Conflict {
		t.Errorf("a second look at one result: %v, want a conflict", err)
	}
}

// minuteInPlaceOf corrects old.
func minuteInPlaceOf(old gym.Result, rotations int) gym.Result {
	r := old
	r.ResultID, r.Corrects, r.Rotations = uuid.New(), old.ResultID, &rotations
	return r
}

func TestCorrections(t *testing.T) {
	f := newFloor(t)
	first := minute(f.ana, 100, 0)
	f.record(first)
	if _, err := f.Correct(t.Context(), f.who, minuteInPlaceOf(first, 110)); err != nil {
		t.Fatal(err)
	}
	if stand := f.standing(f.ana); len(stand) != 1 || *stand[0].Rotations != 110 {
		t.Errorf("standing are %+v, want the correction", stand)
	}
	others := minuteInPlaceOf(first, 90)
	others.AthleteID = f.ben
	if _, err := f.Correct(t.Context(), f.who, others); problem.KindOf(err) != problem.NotFound {
		t.Errorf("a result put in the place of another athlete's: %v", err)
	}
	var history []gym.Result
	if err := f.Store.Read(t.Context(), f.who.GymID, store.ResultHistory(f.ana, time.Time{}, &history)); err != nil || len(history) != 2 {
		t.Errorf("the history has %d entries, %v; want both", len(history), err)
	}

	gone := minuteInPlaceOf(f.standing(f.ana)[0], 110)
	gone.Void = true
	if _, err := f.Correct(t.Context(), f.who, gone); err != nil {
		t.Fatal(err)
	}
	if stand := f.standing(f.ana); len(stand) != 0 {
		t.Errorf("a result that was taken out stands: %+v", stand)
	}
}

func TestTheSameResultTwice(t *testing.T) {
	f := newFloor(t)
	r := minute(f.ana, 100, 0)
	if first, again := f.record(r), f.record(r); !first.Added || again.Added || again.Problem != nil {
		t.Errorf("first %+v, then %+v; want it added once and no complaint", first, again)
	}
}
