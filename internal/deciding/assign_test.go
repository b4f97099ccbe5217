package deciding

import (
	"slices"
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

func (h *hall) work(athlete uuid.UUID) []Work {
	h.t.Helper()
	var set []gym.Assignment
	var results []gym.Result
	if err := h.Store.Read(h.t.Context(), h.gym, store.Assignments(store.Only(athlete), time.Time{}, &set), store.ResultsOf(athlete, time.Time{}, &results)); err != nil {
		h.t.Fatal(err)
	}
	return WorkOf(set, results, today)
}

func TestADrillForAClass(t *testing.T) {
	h := newHall(t)
	h.place("first-jumps", h.ana)
	h.place("steady-minute", h.ben)
	ask := Setting{Batch: uuid.New(), Whom: store.InClass(h.class), Kind: SetDrill, Note: "twice a week"}
	for range 2 { // the form sent twice
		done, err := h.Set(t.Context(), h.coach, ask)
		if err != nil {
			t.Fatal(err)
		}
		if done.Kept != 2 || !slices.Equal(done.Names, []string{"Cleo"}) {
			t.Errorf("%+v", done)
		}
	}
	work := h.work(h.ben)
	if len(work) != 1 || work[0].Stage != "steady-minute" || work[0].Note != "twice a week" {
		t.Errorf("%+v", work)
	}
	h.now = h.now.Add(time.Minute)
	if _, err := h.Set(t.Context(), h.coach, Setting{Whom: store.Only(h.ben), Kind: SetDrill, Stage: "first-jumps"}); err != nil {
		t.Fatal(err)
	}
	if work = h.work(h.ben); len(work) != 1 || work[0].Stage != "first-jumps" {
		t.Errorf("the newest drill alone is set: %+v", work)
	}
	if err := h.TakeOff(t.Context(), h.coach, h.ben, work[0].AssignmentID); err != nil {
		t.Fatal(err)
	}
	if work = h.work(h.ben); len(work) != 1 || work[0].Stage != "steady-minute" {
		t.Errorf("after taking off: %+v", work)
	}
	if err := h.TakeOff(t.Context(), h.coach, h.ana, work[0].AssignmentID); problem.KindOf(err) != problem.Conflict {
		t.Errorf("another athlete's drill taken off: %v", err)
	}
}

func TestTheTestThatEachGateLacks(t *testing.T) {
	h := newHall(t)
	h.place("changes-of-pace", h.ben)
	h.place("first-jumps", h.ana) // its gate is the coach's look
	done, err := h.Set(t.Context(), h.coach, Setting{Whom: store.InClass(h.class), Athletes: []uuid.UUID{h.ana, h.ben}, Kind: SetTest})
	if err != nil {
		t.Fatal(err)
	}
	if done.Kept != 1 || !slices.Equal(done.Names, []string{"Ana"}) {
		t.Errorf("%+v", done)
	}
	work := h.work(h.ben)
	if len(work) != 1 || work[0].Protocol != "burst" || work[0].Seconds != 10 || work[0].Clause != "burst" || !work[0].Done.IsZero() {
		t.Fatalf("%+v", work)
	}
	h.record(h.ben, 0, gym.Result{Protocol: "burst", Rotations: ptr(25), Seconds: ptr(5.0)})
	if h.work(h.ben)[0].Done != (time.Time{}) {
		t.Error("a burst of another length does it")
	}
	h.record(h.ben, 0, gym.Result{Protocol: "burst", Rotations: ptr(25), Seconds: ptr(10.0)})
	if !h.work(h.ben)[0].Done.Equal(today) {
		t.Error("the burst asked for does not do it")
	}
}

func TestATestByName(t *testing.T) {
	h := newHall(t)
	ask := Setting{Whom: store.Only(h.cleo), Kind: SetTest, Test: Test{Protocol: "tries", Task: "one-double-stop"}}
	for range 2 {
		ask.Batch = uuid.New()
		if _, err := h.Set(t.Context(), h.coach, ask); err != nil {
			t.Fatal(err)
		}
	}
	if work := h.work(h.cleo); len(work) != 1 || work[0].Task != "one-double-stop" {
		t.Errorf("one test set twice: %+v", work)
	}
}

func TestAStageForSome(t *testing.T) {
	h := newHall(t)
	h.place("first-jumps", h.ana)
	ask := Setting{Batch: uuid.New(), Whom: store.InClass(h.class), Athletes: []uuid.UUID{h.ana, h.cleo}, Kind: SetStage, Stage: "first-jumps", Note: "Seen today."}
	for range 2 {
		done, err := h.Set(t.Context(), h.coach, ask)
		if err != nil {
			t.Fatal(err)
		}
		if slices.Contains(done.Names, "Ben") || !slices.Contains(done.Names, "Ana") {
			t.Errorf("%+v", done)
		}
	}
	_, cleo := h.load(h.cleo)
	_, ana := h.load(h.ana)
	if cleo.Place.Stage != "first-jumps" || len(cleo.Decisions) != 1 || cleo.Decisions[0].Reason != "Seen today." || len(ana.Decisions) != 1 {
		t.Errorf("Cleo %+v, Ana %d decisions", cleo.Decisions, len(ana.Decisions))
	}
}

func TestSettingsThatAreRefused(t *testing.T) {
	h := newHall(t)
	whole := store.InClass(h.class)
	for _, test := range []struct {
		name  string
		who   gym.Who
		ask   Setting
		field string
	}{
		{"nobody ticked", h.coach, Setting{Whom: whole, Athletes: []uuid.UUID{}, Kind: SetDrill}, "athlete"},
		{"nothing chosen", h.coach, Setting{Whom: whole}, "kind"},
		{"a stage without a reason", h.coach, Setting{Whom: whole, Kind: SetStage, Stage: "first-jumps"}, "note"},
		{"a stage that is not there", h.coach, Setting{Whom: whole, Kind: SetStage, Stage: "flying", Note: "why"}, "stage"},
		{"a drill of no stage", h.coach, Setting{Whom: whole, Kind: SetDrill, Stage: "flying"}, "drill"},
		{"an unknown test", h.coach, Setting{Whom: whole, Kind: SetTest, Test: Test{Protocol: "guess"}}, "test"},
		{"a note of a page", h.coach, Setting{Whom: whole, Kind: SetDrill, Note: string(make([]rune, 600))}, "note"},
	} {
		t.Run(test.name, func(t *testing.T) {
			if _, err := h.Set(t.Context(), test.who, test.ask); problem.FieldsOf(err)[test.field] == "" {
				t.Errorf("%v says nothing of %s", err, test.field)
			}
		})
	}
	if _, err := h.Set(t.Context(), h.helper, Setting{Whom: whole, Kind: SetDrill}); problem.KindOf(err) != problem.Forbidden {
		t.Errorf("by a helper: %v", err)
	}
}

func TestWhatWasSetEndsByItself(t *testing.T) {
	set := []gym.Assignment{{Kind: SetDrill, Day: today.AddDate(0, 0, -SetDays)}, {Kind: SetTest, Protocol: "base", Day: today.AddDate(0, 0, 1-SetDays)}}
	if work := WorkOf(set, nil, today); len(work) != 1 || work[0].Kind != SetTest {
		t.Errorf("%+v", work)
	}
}
