package coaching_test

import (
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/progress"
	"ropewalk.example/internal/store"
	"ropewalk.example/internal/testdb"
)

// A ward is a gym with one athlete and a clock that the test moves.
type ward struct {
	*coaching.Coaching
	t              *testing.T
	now            time.Time
	coach, athlete gym.Who
}

func newWard(t *testing.T) *ward {
	t.Helper()
	st, err := store.Open(t.Context(), testdb.New(t).AppURL)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(st.Close)
	gymID := uuid.New()
	w := &ward{t: t, now: time.Date(2026, time.November, 4, 18, 0, 0, 0, time.UTC),
		coach:   gym.Who{GymID: gymID, PersonID: uuid.New(), Role: gym.Coach, Name: "Cleo"},
		athlete: gym.Who{GymID: gymID, AthleteID: uuid.New(), Role: gym.Jumper, Name: "Ana"}}
	w.Coaching = &coaching.Coaching{Store: st, Now: func() time.Time { return w.now }}
	err = st.Write(t.Context(), gymID, func(tx *store.Tx) error {
		if err := tx.AddGym(t.Context(), gym.Gym{Name: "Hall", TimeZone: "UTC", AdultAge: 16, CreatedAt: w.now}); err != nil {
			return err
		}
		_, _, err := tx.AddAthletes(t.Context(), []store.NewAthlete{{Athlete: gym.Athlete{AthleteID: w.athlete.AthleteID, Name: "Ana", BirthYear: 1990}, NameKey: "ana"}}, w.now)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// hurts tells of pain after a session.
func (w *ward) hurts(score int, place string, signs ...string) coaching.Heard {
	w.t.Helper()
	heard, err := w.Debrief(w.t.Context(), w.athlete, gym.Debrief{DebriefID: uuid.New(), AthleteID: w.athlete.AthleteID,
		Day: gym.DayIn(w.now, time.UTC), Pain: score, PainPlace: place, PainSigns: signs})
	if err != nil {
		w.t.Fatal(err)
	}
	return heard
}

func (w *ward) care() progress.State {
	w.t.Helper()
	var debriefs []gym.Debrief
	var holds []gym.Hold
	if err := w.Store.Read(w.t.Context(), w.coach.GymID, store.DebriefsOf(w.athlete.AthleteID, time.Time{}, &debriefs), store.HoldsOf(w.athlete.AthleteID, &holds)); err != nil {
		w.t.Fatal(err)
	}
	return coaching.CareOf(debriefs, holds).State
}

func TestWhatHoldsImpactWork(t *testing.T) {
	for _, test := range []struct {
		name  string
		score int
		place string
		signs []string
		want  progress.State
	}{
		{"no pain", 0, "", nil, progress.Clear},
		{"a little", 2, "calf", nil, progress.Clear},
		{"the bound of the hold", 3, "calf", nil, progress.Held},
		{"a little, but limping", 1, "knee", []string{"limping"}, progress.Held},
		{"sharp", 1, "shin", []string{"sharp"}, progress.Held},
		{"unwell", 0, "chest", []string{"unwell"}, progress.Held},
	} {
		t.Run(test.name, func(t *testing.T) {
			w := newWard(t)
			heard := w.hurts(test.score, test.place, test.signs...)
			if got := w.care(); got != test.want || (len(heard.Reasons) > 0) != (test.want == progress.Held) {
				t.Errorf("state %q with reasons %v, want %q", got, heard.Reasons, test.want)
			}
		})
	}
}

// Only a coach ends a hold, with a reason, after two days without pain.
func TestReleaseOfAHold(t *testing.T) {
	w := newWard(t)
	release := coaching.Release{Athlete: w.athlete.AthleteID, Reason: "no pain since Monday", Day: gym.DayIn(w.now, time.UTC)}
	tries := func(who gym.Who, r coaching.Release, want problem.Kind) {
		t.Helper()
		if err := w.Release(t.Context(), who, r); err == nil || problem.KindOf(err) != want {
			t.Errorf("released with %v, want kind %d", err, want)
		}
	}
	tries(w.coach, release, problem.Conflict) // nothing is held
	w.hurts(5, "calf")
	tries(w.coach, release, problem.Invalid) // too soon
	w.now = w.now.Add(49 * time.Hour)
	tries(w.athlete, release, problem.Forbidden)
	silent := release
	silent.Reason = ""
	tries(w.coach, silent, problem.Invalid)
	sore := release
	sore.LastPain = w.now.Add(-time.Hour)
	tries(w.coach, sore, problem.Invalid)
	if got := w.care(); got != progress.Held {
		t.Fatalf("after refused releases the state is %q", got)
	}
	if err := w.Release(t.Context(), w.coach, release); err != nil {
		t.Fatal(err)
	}
	if got := w.care(); got != progress.Restarting {
		t.Errorf("after a release the state is %q, want a careful restart", got)
	}
	tries(w.coach, release, problem.Conflict) // released already
}

// Pain of some kinds asks for a professional's advice before it is let go.
func TestAdviceComesFirst(t *testing.T) {
	w := newWard(t)
	w.hurts(6, "shin", "bone")
	w.now = w.now.Add(72 * time.Hour)
	release := coaching.Release{Athlete: w.athlete.AthleteID, Reason: "fine again", Day: gym.DayIn(w.now, time.UTC)}
	if err := w.Release(t.Context(), w.coach, release); problem.FieldsOf(err)["advised"] == "" {
		t.Errorf("released without advice: %v", err)
	}
	release.Advised = true
	if err := w.Release(t.Context(), w.coach, release); err != nil {
		t.Errorf("with advice: %v", err)
	}
}

func TestDebriefThatCannotBe(t *testing.T) {
	w := newWard(t)
	n := func(i int) *int { return &i }
	minutes := 601.0
	for field, d := range map[string]gym.Debrief{
		"sets":         {SetsDone: n(100)},
		"bursts":       {Bursts: n(-1)},
		"clean_bursts": {Bursts: n(3), CleanBursts: n(4)},
		"catches":      {Catches: n(1000)},
		"minutes":      {Minutes: &minutes},
		"effort":       {Effort: n(11)},
		"pain":         {Pain: 11, PainPlace: "knee"},
		"pain_place":   {Pain: 2},
		"pain_signs":   {Pain: 2, PainPlace: "knee", PainSigns: []string{"odd"}},
	} {
		d.DebriefID, d.AthleteID, d.Day = uuid.New(), w.athlete.AthleteID, gym.DayIn(w.now, time.UTC)
		if _, err := w.Debrief(t.Context(), w.athlete, d); problem.FieldsOf(err)[field] == "" {
			t.Errorf("%s: %v", field, err)
		}
	}
}
