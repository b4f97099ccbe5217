package server

import (
	"context"
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/roster"
	"ropewalk.example/internal/store"
)

// A hall is a gym in a site: an owner, a coach, an assistant, one class and
// its athletes.
type hall struct {
	*site
	id                      uuid.UUID
	owner, coach, assistant gym.Who
	class                   uuid.UUID
	code                    string
	athletes                []gym.Athlete
}

const pin = "4711"

// newHall makes a site with one gym whose class has the named athletes; it
// meets on Thursdays at 18:30 for an hour.
func newHall(t *testing.T, names ...string) *hall {
	t.Helper()
	return newSite(t).addHall("Ash Lane", names...)
}

func (s *site) addHall(name string, names ...string) *hall {
	s.t.Helper()
	h := &hall{site: s, id: newID(), class: newID(), code: account.NewCode(6)}
	h.owner = gym.Who{GymID: h.id, PersonID: newID(), Role: gym.Owner, Name: "Mara"}
	h.coach = gym.Who{GymID: h.id, PersonID: newID(), Role: gym.Coach, Name: "Cleo"}
	h.assistant = gym.Who{GymID: h.id, PersonID: newID(), Role: gym.Assistant, Name: "Asa"}
	s.write(h.id, func(ctx context.Context, tx *store.Tx) error {
		if err := tx.AddGym(ctx, gym.Gym{Name: name, TimeZone: "Europe/London", AdultAge: 16, CreatedAt: s.now}); err != nil {
			return err
		}
		if err := tx.PostponeSecondFactor(ctx, true); err != nil { // its own tests ask for it
			return err
		}
		for _, who := range []gym.Who{h.owner, h.coach, h.assistant} {
			if err := tx.AddPerson(ctx, gym.Person{PersonID: who.PersonID, SignInName: who.PersonID.String() + "@gym.example", Name: who.Name, CreatedAt: s.now}); err != nil {
				return err
			}
			if err := tx.AddMembership(ctx, gym.Membership{PersonID: who.PersonID, Role: who.Role, Since: s.now}); err != nil {
				return err
			}
		}
		if err := tx.AddClass(ctx, gym.Class{ClassID: h.class, Name: "Thursday Open", Code: h.code, CreatedAt: s.now}, "thursday open", h.code); err != nil {
			return err
		}
		return tx.SetClassTimes(ctx, h.class, []gym.ClassTime{{Weekday: 4, StartsAt: 18*time.Hour + 30*time.Minute, Minutes: 60}})
	})
	h.addAthletes(names...)
	return h
}

// addAthletes puts athletes into the class.
func (h *hall) addAthletes(names ...string) {
	h.t.Helper()
	var fresh []store.NewAthlete
	var ids []uuid.UUID
	for _, name := range names {
		athlete := gym.Athlete{AthleteID: newID(), Name: name, BirthYear: 2012, HasPIN: true, StartedOn: day(h.now).AddDate(0, 0, -60)}
		hash, err := h.server.Accounts.Hasher.HashPIN(h.t.Context(), pin)
		if err != nil {
			h.t.Fatal(err)
		}
		fresh = append(fresh, store.NewAthlete{Athlete: athlete, NameKey: roster.NameKey(name), PINHash: hash})
		ids = append(ids, athlete.AthleteID)
		h.athletes = append(h.athletes, athlete)
	}
	h.write(h.id, func(ctx context.Context, tx *store.Tx) error {
		if _, _, err := tx.AddAthletes(ctx, fresh, h.now); err != nil {
			return err
		}
		_, err := tx.Enrol(ctx, h.class, ids, day(h.now))
		return err
	})
}

func day(at time.Time) time.Time { return gym.DayIn(at, time.UTC) }

// jumper is the identity of the n-th athlete.
func (h *hall) jumper(n int) gym.Who {
	return gym.Who{GymID: h.id, AthleteID: h.athletes[n].AthleteID, Role: gym.Jumper, Name: h.athletes[n].Name}
}

// counted keeps a timed test of the n-th athlete, some days ago.
func (h *hall) counted(n int, protocol string, rotations int, seconds float64, daysAgo int) gym.Result {
	h.t.Helper()
	at := h.now.AddDate(0, 0, -daysAgo)
	r := gym.Result{ResultID: newID(), AthleteID: h.athletes[n].AthleteID, Protocol: protocol, Day: day(at), TakenAt: at, Rotations: &rotations,
		Seconds: &seconds, Step: "bounce", RopeKind: "beaded", CountedBy: "coach", SeenByCoach: true, Timing: "hand", RecordedAt: at, RecordedBy: h.coach.PersonID}
	h.write(h.id, func(ctx context.Context, tx *store.Tx) error {
		_, err := tx.AddResult(ctx, r)
		return err
	})
	return r
}

// plan makes and sends the class's plans for a day, as the coach does.
func (h *hall) plan(on string) {
	h.t.Helper()
	coach := h.as(h.coach)
	plans := h.path("/plans")
	coach.post(plans, form("day", on, "minutes", "20", "do", "make")).is(303)
	coach.post(plans, form("day", on, "do", "send")).is(303)
}

// letIn lets a phone of the n-th athlete in and returns its id.
func (h *hall) letIn(n int) uuid.UUID {
	h.t.Helper()
	who, err := h.server.Accounts.LetIn(h.t.Context(), h.id, h.athletes[n], "Safari on iPhone", false)
	if err != nil {
		h.t.Fatal(err)
	}
	return who.DeviceID
}

// guardian adds a guardian of the n-th athlete and returns the id.
func (h *hall) guardian(n int) uuid.UUID {
	h.t.Helper()
	id := newID()
	h.write(h.id, func(ctx context.Context, tx *store.Tx) error {
		return tx.AddGuardian(ctx, gym.Guardianship{GuardianID: id, AthleteID: h.athletes[n].AthleteID, Name: "Gus", AddedAt: h.now}, h.coach.PersonID)
	})
	return id
}

// path is an address below the class.
func (h *hall) path(below string) string { return "/classes/" + h.class.String() + below }
