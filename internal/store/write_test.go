package store_test

import (
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// What a unique key refuses is said in a sentence, not in the database's words.
func TestTakenNamesAndCodesAreConflicts(t *testing.T) {
	b := open(t)
	b.fill()
	ctx := t.Context()
	later := resultOf(ana, id(60), 132)
	later.Corrects = first
	unknown := resultOf(uuid.New(), id(61), 100)
	again := debriefOf(ana, id(62))
	again.Corrects = debrief
	b.write(gymA, func(tx *store.Tx) error { _, err := tx.AddDebrief(ctx, again); return err })
	onceMore := debriefOf(ana, id(63))
	onceMore.Corrects = debrief
	for _, test := range []struct {
		name string
		do   func(tx *store.Tx) error
		want problem.Kind
	}{
		{"class name", func(tx *store.Tx) error {
			return tx.AddClass(ctx, gym.Class{ClassID: id(70), Name: "STARTERS"}, "starters", "NEW234")
		}, problem.Conflict},
		{"class code", func(tx *store.Tx) error {
			return tx.AddClass(ctx, gym.Class{ClassID: id(70), Name: "Open"}, "open", "ABC234")
		}, problem.Conflict},
		{"rope label", func(tx *store.Tx) error {
			return tx.AddRope(ctx, gym.Rope{RopeID: id(71), Label: "B1", Kind: "cord"}, now)
		}, problem.Conflict},
		{"sign-in name", func(tx *store.Tx) error {
			return tx.AddPerson(ctx, gym.Person{PersonID: id(72), SignInName: "mara@hall.example", Name: "Other", PasswordHash: "hash"})
		}, problem.Conflict},
		{"a second correction of one result", func(tx *store.Tx) error { _, err := tx.AddResult(ctx, later); return err }, problem.Conflict},
		{"a second correction of one debrief", func(tx *store.Tx) error { _, err := tx.AddDebrief(ctx, onceMore); return err }, problem.Conflict},
		{"a result of nobody", func(tx *store.Tx) error { _, err := tx.AddResult(ctx, unknown); return err }, problem.NotFound},
		{"a PIN of nobody", func(tx *store.Tx) error { return tx.SetPIN(ctx, uuid.New(), "pin") }, problem.NotFound},
	} {
		t.Run(test.name, func(t *testing.T) {
			if err := b.Write(ctx, gymA, test.do); problem.KindOf(err) != test.want {
				t.Errorf("%v is of kind %d, want %d", err, problem.KindOf(err), test.want)
			}
		})
	}
}

// Forms and phones repeat themselves: the same id again changes nothing.
func TestTheSameIDAgainChangesNothing(t *testing.T) {
	b := open(t)
	b.fill()
	ctx := t.Context()
	b.write(gymA, func(tx *store.Tx) error {
		if added, err := tx.AddResult(ctx, resultOf(ana, second, 999)); err != nil || added {
			t.Errorf("a result twice: added %t, %v", added, err)
		}
		if added, err := tx.AddDebrief(ctx, debriefOf(ben, debrief)); err != nil || added {
			t.Errorf("a debrief twice: added %t, %v", added, err)
		}
		if added, err := tx.AddDecision(ctx, gym.StageDecision{DecisionID: decision, AthleteID: ana, Verdict: "up", StageTo: "x", LadderID: ladder, Version: 1}); err != nil || added {
			t.Errorf("a decision twice: added %t, %v", added, err)
		}
		changed := planOf(ana, newPlan)
		changed.Output = []byte(`{"sets":99}`)
		if err := tx.AddPlans(ctx, []gym.Plan{changed}); err != nil {
			t.Error(err)
		}
		if err := tx.AddHold(ctx, gym.Hold{HoldID: hold, AthleteID: ben, Code: "released", At: now, Day: today}); err != nil {
			t.Error(err)
		}
		there, err := tx.EnsureSession(ctx, gym.Session{SessionID: uuid.New(), ClassID: class, Day: today, StartsAt: now, Minutes: 30})
		if err != nil || there != session {
			t.Errorf("a session at the same moment is %v, %v; want the one that is there", there, err)
		}
		return nil
	})
	var result gym.Result
	var plan gym.Plan
	b.read(gymA, store.Result(second, &result), store.Plan(newPlan, &plan))
	if *result.Rotations != 131 || string(plan.Output) != `{"sets":3}` {
		t.Errorf("the first answer did not stand: %d rotations, plan %s", *result.Rotations, plan.Output)
	}
}

func TestImportedTwiceAddsNobody(t *testing.T) {
	b := open(t)
	b.fill()
	ctx := t.Context()
	roster := []store.NewAthlete{
		{Athlete: gym.Athlete{AthleteID: uuid.New(), Name: "ANA", BirthYear: 2014}, NameKey: "ana"}, // here already
		{Athlete: gym.Athlete{AthleteID: uuid.New(), Name: "Ana", BirthYear: 2016}, NameKey: "ana"}, // another year
		{Athlete: gym.Athlete{AthleteID: uuid.New(), Name: "Chidi"}, NameKey: "chidi"},
	}
	for _, want := range []struct{ added, enrolled int }{{2, 2}, {0, 0}} {
		b.write(gymA, func(tx *store.Tx) error {
			ids, added, err := tx.AddAthletes(ctx, roster, now)
			if err != nil {
				return err
			}
			if added != want.added || len(ids) != 3 || ids[0] != ana {
				t.Errorf("%d added, ids %v; want %d, the first of them Ana's", added, ids, want.added)
			}
			enrolled, err := tx.Enrol(ctx, class, ids, today)
			if enrolled != want.enrolled {
				t.Errorf("%d enrolled, want %d", enrolled, want.enrolled)
			}
			return err
		})
	}
	var inLine []gym.Athlete
	b.read(gymA, store.AthletesOf(class, &inLine))
	if len(inLine) != 4 || inLine[0].AthleteID != ben || inLine[1].AthleteID != ana || inLine[3].Name != "Chidi" {
		t.Errorf("they stand in the order %v", inLine)
	}
}

// Whoever left a class and comes back keeps the old place.
func TestEnrolAgain(t *testing.T) {
	b := open(t)
	b.fill()
	b.ownerDoes(`UPDATE enrolment SET until = $1 WHERE athlete_id = $2`, today, ben)
	var athletes []gym.Athlete
	b.read(gymA, store.AthletesOf(class, &athletes))
	if len(athletes) != 1 {
		t.Fatalf("%d athletes after one left, want 1", len(athletes))
	}
	b.write(gymA, func(tx *store.Tx) error {
		n, err := tx.Enrol(t.Context(), class, []uuid.UUID{ana, ben}, today)
		if n != 1 {
			t.Errorf("%d enrolled, want the one who comes back", n)
		}
		return err
	})
	b.read(gymA, store.AthletesOf(class, &athletes))
	if len(athletes) != 2 {
		t.Errorf("%d athletes, want 2", len(athletes))
	}
}

func TestSendPlansSendsTheNewestOnce(t *testing.T) {
	b := open(t)
	b.fill()
	ctx := t.Context()
	newer := planOf(ana, id(80))
	newer.MadeAt = now.Add(time.Minute)
	b.write(gymA, func(tx *store.Tx) error { return tx.AddPlans(ctx, []gym.Plan{newer, planOf(ben, id(81))}) })
	for _, want := range []int{2, 0} {
		b.write(gymA, func(tx *store.Tx) error {
			n, err := tx.SendPlans(ctx, class, today, now)
			if n != want {
				t.Errorf("%d plans sent, want %d", n, want)
			}
			return err
		})
	}
	var old, sent gym.Plan
	b.read(gymA, store.Plan(newPlan, &old), store.Plan(id(80), &sent))
	if old.SentAt != nil || sent.SentAt == nil {
		t.Errorf("sent: the older plan %v, the newer one %v", old.SentAt, sent.SentAt)
	}
}

func TestClassTimesAreReplaced(t *testing.T) {
	b := open(t)
	b.fill()
	b.write(gymA, func(tx *store.Tx) error {
		return tx.SetClassTimes(t.Context(), class, []gym.ClassTime{{Weekday: 4, StartsAt: 18*time.Hour + 30*time.Minute, Minutes: 75}, {Weekday: 1, Minutes: 30}})
	})
	check(b, "times in the week's order", []gym.ClassTime{{ClassID: class, Weekday: 1, Minutes: 30},
		{ClassID: class, Weekday: 4, StartsAt: 18*time.Hour + 30*time.Minute, Minutes: 75}}, store.ClassTimes)
}

func TestAttendanceKeepsTheLastWord(t *testing.T) {
	b := open(t)
	b.fill()
	b.write(gymA, func(tx *store.Tx) error {
		return tx.SetAttendance(t.Context(), session, []uuid.UUID{ben}, []bool{true}, now.Add(time.Minute), person)
	})
	var noted []store.Attendance
	b.read(gymA, store.AttendanceOf(class, today, &noted))
	if len(noted) != 2 || !noted[1].Here {
		t.Errorf("attendance is %v, want both here", noted)
	}
}

func TestNewestPlaceAndHoldOfAClass(t *testing.T) {
	b := open(t)
	b.fill()
	ctx := t.Context()
	b.write(gymA, func(tx *store.Tx) error {
		if err := tx.AddHold(ctx, gym.Hold{HoldID: id(90), AthleteID: ana, Code: "released", Reason: "fine again", At: now.Add(time.Hour), Day: today, By: person}); err != nil {
			return err
		}
		_, err := tx.AddDecision(ctx, gym.StageDecision{DecisionID: id(91), AthleteID: ana, Verdict: "up", StageFrom: "rope-swing", StageTo: "two-feet",
			LadderID: ladder, Version: 1, DecidedOn: today, DecidedAt: now.Add(time.Hour), DecidedBy: person})
		return err
	})
	var holds, every []gym.Hold
	var places []gym.StageDecision
	b.read(gymA, store.HoldsOfClass(class, &holds), store.AllHoldsOfClass(class, &every), store.PlacesOfClass(class, &places))
	if len(holds) != 1 || holds[0].Opened || len(every) != 2 || !every[1].Opened {
		t.Errorf("newest holds %v, all %v", holds, every)
	}
	if len(places) != 1 || places[0].StageTo != "two-feet" {
		t.Errorf("places are %v, want the newest", places)
	}
}
