package store_test

import (
	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// id returns the same id for the same number, in every gym: ids of two gyms
// may be alike.
func id(n byte) uuid.UUID { return uuid.UUID{0: 1, 6: 0x70, 8: 0x80, 15: n} }

// The two gyms of the tests and what the first holds.
var (
	gymA, gymB = uuid.UUID{0: 0xa, 6: 0x70, 8: 0x80}, uuid.UUID{0: 0xb, 6: 0x70, 8: 0x80}
	person     = id(1)
	class      = id(2)
	ana, ben   = id(3), id(4)
	session    = id(5)
	rope       = id(6)
	first      = id(7) // Ana's result, corrected by second
	second     = id(8)
	ladder     = id(9)
	decision   = id(10)
	oldPlan    = id(11)
	newPlan    = id(12)
	debrief    = id(13)
	hold       = id(14)
	term       = id(15)
	holiday    = id(16)
)

func ptr[T any](v T) *T { return &v }

func resultOf(athlete, result uuid.UUID, rotations int) gym.Result {
	return gym.Result{ResultID: result, AthleteID: athlete, SessionID: session, Protocol: "base", Day: today, TakenAt: now,
		Rotations: ptr(rotations), Seconds: ptr(60.0), Catches: 2, LostSeconds: ptr(4.5), LongestRestartSeconds: ptr(2.5),
		StoppedClean: true, Successes: ptr(3), Attempts: ptr(5), Bouts: []int32{40, 38}, RestSeconds: ptr(30.0), FlightSeconds: ptr(0.4),
		Taps: []float64{0.5, 1, 1.5}, RotationsPerTap: ptr(2), RPMFromTaps: ptr(120.5), StandardErrorRPM: ptr(1.5),
		Step: "bounce", RopeKind: "beaded", RopeID: rope, Surface: "wood", CountedBy: "coach", SeenByCoach: true, Timing: "app",
		Note: "counted twice", KeptOdd: true, RecordedAt: now, RecordedBy: person, DeviceAt: &now}
}

func planOf(athlete, plan uuid.UUID) gym.Plan {
	return gym.Plan{PlanID: plan, AthleteID: athlete, ClassID: class, SessionID: session, Day: today,
		Input: []byte(`{"base_rpm": 118.50}`), Output: []byte(`{"sets":3}`), Notes: []string{"burst_other_step"}, MadeAt: now, MadeBy: person}
}

func debriefOf(athlete, debrief uuid.UUID) gym.Debrief {
	return gym.Debrief{DebriefID: debrief, AthleteID: athlete, PlanID: newPlan, SessionID: session, Day: today, SetsDone: ptr(3),
		Bursts: ptr(9), CleanBursts: ptr(7), Catches: ptr(2), Contacts: ptr(300), Minutes: ptr(45.0), Effort: ptr(6), Pain: 3,
		PainPlace: "shin", PainSigns: []string{"sharp"}, Note: "wet floor", RecordedAt: now, RecordedBy: person}
}

// fill makes gym A with at least one row in each of its tables.
func (b *base) fill() {
	b.t.Helper()
	ctx := b.t.Context()
	b.write(gymA, func(tx *store.Tx) error {
		for _, step := range []func() error{
			func() error {
				return tx.AddGym(ctx, gym.Gym{Name: "Hall A", TimeZone: "Europe/London", AdultAge: 16, CreatedAt: now})
			},
			func() error {
				return tx.AddPerson(ctx, gym.Person{PersonID: person, SignInName: "mara@hall.example", Name: "Mara", Lang: "en", PasswordHash: "hash", CreatedAt: now})
			},
			func() error {
				return tx.AddMembership(ctx, gym.Membership{PersonID: person, Role: gym.Owner, Since: now})
			},
			func() error {
				return tx.AddTerm(ctx, gym.Term{TermID: term, Name: "Autumn", StartsOn: today, EndsOn: today.AddDate(0, 3, 0)})
			},
			func() error {
				return tx.AddHoliday(ctx, gym.Holiday{HolidayID: holiday, Name: "Half term", StartsOn: today, EndsOn: today.AddDate(0, 0, 4)})
			},
			func() error {
				return tx.AddClass(ctx, gym.Class{ClassID: class, Name: "Starters", Code: "ABC-234", CreatedAt: now}, "starters", "ABC234")
			},
			func() error {
				return tx.SetClassTimes(ctx, class, []gym.ClassTime{{ClassID: class, Weekday: 2, StartsAt: 61200e9, Minutes: 60}})
			},
			func() error {
				_, _, err := tx.AddAthletes(ctx, []store.NewAthlete{
					{Athlete: gym.Athlete{AthleteID: ana, Name: "Ana", SortName: "ana", Lang: "pt", BirthYear: 2014, StartedOn: today}, NameKey: "ana", PINHash: "pin"},
					{Athlete: gym.Athlete{AthleteID: ben, Name: "Ben"}, NameKey: "ben"}}, now)
				return err
			},
			func() error { _, err := tx.Enrol(ctx, class, []uuid.UUID{ben, ana}, today); return err },
			func() error {
				return tx.AddRope(ctx, gym.Rope{RopeID: rope, Label: "B1", Kind: "beaded", LengthM: 2.6, Handle: "short", Note: "red", AthleteID: ana}, now)
			},
			func() error {
				_, err := tx.EnsureSession(ctx, gym.Session{SessionID: session, ClassID: class, Day: today, StartsAt: now, Minutes: 60, Note: "hall 2", OpenedAt: &now, ClosedAt: &now})
				return err
			},
			func() error {
				return tx.SetAttendance(ctx, session, []uuid.UUID{ana, ben}, []bool{true, false}, now, person)
			},
			func() error { return b.fillFacts(tx) },
		} {
			if err := step(); err != nil {
				return err
			}
		}
		return nil
	})
}

// fillFacts adds what was measured, planned and decided.
func (b *base) fillFacts(tx *store.Tx) error {
	ctx := b.t.Context()
	corrected := resultOf(ana, second, 131)
	corrected.Corrects = first
	for _, r := range []gym.Result{resultOf(ana, first, 13), corrected} {
		if _, err := tx.AddResult(ctx, r); err != nil {
			return err
		}
	}
	if err := tx.AddLadder(ctx, gym.Ladder{LadderID: ladder, Key: "house", Name: "House ladder", Lang: "en", InUse: true, CreatedAt: now}); err != nil {
		return err
	}
	stages := []gym.Stage{{LadderID: ladder, Version: 1, Number: 1, Key: "rope-swing", Title: "Rope swing", Body: []byte(`{"a": 1}`)}}
	if err := tx.AddLadderVersion(ctx, gym.LadderVersion{LadderID: ladder, Version: 1, PublishedAt: now, PublishedBy: person}, stages); err != nil {
		return err
	}
	if _, err := tx.AddDecision(ctx, gym.StageDecision{DecisionID: decision, AthleteID: ana, Verdict: "start", StageTo: "rope-swing", LadderID: ladder,
		Version: 1, Reason: "first day", Evidence: []byte(`[]`), DecidedOn: today, DecidedAt: now, DecidedBy: person}); err != nil {
		return err
	}
	earlier := planOf(ana, oldPlan)
	earlier.Day, earlier.MadeAt, earlier.SentAt = today.AddDate(0, 0, -7), now.AddDate(0, 0, -7), &now
	if err := tx.AddPlans(ctx, []gym.Plan{earlier, planOf(ana, newPlan)}); err != nil {
		return err
	}
	if _, err := tx.AddDebrief(ctx, debriefOf(ana, debrief)); err != nil {
		return err
	}
	if err := tx.AddHold(ctx, gym.Hold{HoldID: hold, AthleteID: ana, Opened: true, Code: "pain", Reason: "shin", DebriefID: debrief, At: now, Day: today, By: person}); err != nil {
		return err
	}
	return tx.Note(ctx, id(40), now, person, "made the gym", "gym", gymA)
}

// twin copies every row of gym A to gym B under the same ids, past the
// policies: two gyms of one shape. Tables that fill leaves empty get a row.
func (b *base) twin() {
	b.t.Helper()
	b.fillEmpty()
	tx, err := b.owner.Begin(b.t.Context())
	if err != nil {
		b.t.Fatal(err)
	}
	if _, err := tx.Exec(b.t.Context(), `SET LOCAL session_replication_role = replica`); err != nil { // in any order
		b.t.Fatal(err)
	}
	for _, table := range b.gymTables() {
		_, err := tx.Exec(b.t.Context(), `
			INSERT INTO `+table+` SELECT (jsonb_populate_record(t, jsonb_build_object('gym_id', $2::uuid))).*
			FROM `+table+` t WHERE gym_id = $1`, gymA, gymB)
		if err != nil {
			b.t.Fatalf("copying %s: %v", table, err)
		}
	}
	if err := tx.Commit(b.t.Context()); err != nil {
		b.t.Fatal(err)
	}
}

// ownerDoes runs a statement as the schema's owner.
func (b *base) ownerDoes(sql string, args ...any) {
	b.t.Helper()
	if _, err := b.owner.Exec(b.t.Context(), sql, args...); err != nil {
		b.t.Fatalf("%s: %v", sql, err)
	}
}
