// Package demoseed fills an empty database with the invented gym of package
// demo, week by week, through the same use cases that people use, so that plans
// rest on what was known on their day. It imports demo, the use cases, the
// pure packages and the store.
package demoseed

import (
	"context"
	"fmt"
	"log/slog"
	"slices"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/demo"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/roster"
	"ropewalk.example/internal/standing"
	"ropewalk.example/internal/store"
)

// space makes the demo's ids, the same in every install.
var space = uuid.MustParse("6f1a6f5e-7d7a-5f0e-9a3b-2026000d3e30")

func idOf(kind string, key any) uuid.UUID {
	return uuid.NewSHA1(space, fmt.Appendf(nil, "%s %v", kind, key))
}

// GymID is the demo gym's id.
func GymID() uuid.UUID { return idOf("gym", "tallowmere") }

// A SignIn is one way into the demo.
type SignIn struct {
	Who, Name, Secret string
	Athlete           bool // Name is the class code, Secret the PIN
}

// SignIns lists ways into the demo: owner, coach, assistant, and an athlete of
// each class with class code and PIN.
func SignIns() ([]SignIn, error) {
	g, err := demo.Generate(demo.Now())
	if err != nil {
		return nil, err
	}
	list := []SignIn{{Who: "Owner, " + g.Owner.Name, Name: g.Owner.Email, Secret: g.Owner.Password}}
	for _, coach := range g.Coaches {
		who := "Coach, "
		if coach.Role == "assistant" {
			who = "Assistant, "
		}
		list = append(list, SignIn{Who: who + coach.Name, Name: coach.Email, Secret: coach.Password})
	}
	for _, id := range []int{1, 19} {
		athlete := g.Athletes[id-1]
		list = append(list, SignIn{Who: "Athlete, " + athlete.Name, Name: athlete.Class, Secret: athlete.PIN, Athlete: true})
	}
	return list, nil
}

// Seeder fills the demo. All fields are required.
type Seeder struct {
	Store  *store.Store
	Hasher *account.Hasher
	Log    *slog.Logger
}

// Fill makes the demo gym as of until unless it is there, and reports whether
// it did. A fill that broke off is completed: every row has its own fixed id.
func (s *Seeder) Fill(ctx context.Context, until time.Time) (bool, error) {
	g, err := demo.Generate(until)
	if err != nil {
		return false, fmt.Errorf("generating the demo: %w", err)
	}
	shipped, err := ladder.Shipped("en")
	if err != nil {
		return false, err
	}
	f := &filling{Seeder: s, g: g, until: until, owner: idOf("person", g.Owner.Email), shipped: shipped}
	if done, err := f.done(ctx); err != nil || done {
		return false, err
	}
	for _, step := range []func(context.Context) error{f.setUp, f.sessions, f.term, f.homework, f.ahead, f.takeBack} {
		if err := step(ctx); err != nil {
			return false, fmt.Errorf("filling the demo: %w", err)
		}
	}
	return true, nil
}

func heldSessions(g demo.Gym) []demo.Session {
	var held []demo.Session
	for _, session := range g.Sessions {
		if session.Held {
			held = append(held, session)
		}
	}
	slices.SortStableFunc(held, func(a, b demo.Session) int { return a.StartsAt.Compare(b.StartsAt) })
	return held
}

// done reports whether the last step left what it makes: plans for the next
// session. At the end of the term there is none; doing it all again is harmless.
func (f *filling) done(ctx context.Context) (bool, error) {
	next, ahead := f.next()
	if !ahead {
		return false, nil
	}
	var plans []gym.Plan
	err := f.Store.Read(ctx, GymID(), store.PlansOfClass(idOf("class", next.Class), dateOf(next.StartsAt), &plans))
	return len(plans) > 0, err
}

// next returns the session that is held next.
func (f *filling) next() (next demo.Session, found bool) {
	for _, session := range f.g.Sessions {
		if !session.Held && (!found || session.StartsAt.Before(next.StartsAt)) {
			next, found = session, true
		}
	}
	return next, found
}

// filling is one run of Fill.
type filling struct {
	*Seeder
	g     demo.Gym
	until time.Time
	owner uuid.UUID

	shipped ladder.Ladder
}

func (f *filling) write(ctx context.Context, do func(tx *store.Tx) error) error {
	return f.Store.Write(ctx, GymID(), do)
}

// start is when the demo gym began, a week before its term.
func (f *filling) start() time.Time { return f.g.Terms[0].StartsOn.AddDate(0, 0, -7) }

func dateOf(t time.Time) time.Time { return gym.DayIn(t, t.Location()) }

// setUp makes the gym with everybody in it, all at once or not at all.
func (f *filling) setUp(ctx context.Context) error {
	var there gym.Gym
	err := f.Store.Read(ctx, GymID(), store.TheGym(&there))
	if problem.KindOf(err) != problem.NotFound {
		return err // nil where a fill that broke off got this far
	}
	return f.write(ctx, func(tx *store.Tx) error {
		for _, step := range []func(context.Context, *store.Tx) error{f.gym, f.people, f.roster, f.consents, f.ropes, f.ladder, f.rack} {
			if err := step(ctx, tx); err != nil {
				return err
			}
		}
		return nil
	})
}

func (f *filling) gym(ctx context.Context, tx *store.Tx) error {
	err := tx.AddGym(ctx, gym.Gym{Name: f.g.Name, TimeZone: f.g.TimeZone, Invented: true, AdultAge: 16, CreatedAt: f.start()})
	if err != nil {
		return err
	}
	if err := tx.PostponeSecondFactor(ctx, true); err != nil { // whoever tries the demo has no app for it
		return err
	}
	for i, term := range f.g.Terms {
		if err := tx.AddTerm(ctx, gym.Term{TermID: idOf("term", i), Name: term.Name, StartsOn: dateOf(term.StartsOn), EndsOn: dateOf(term.EndsOn)}); err != nil {
			return err
		}
		if err := tx.AddHoliday(ctx, gym.Holiday{HolidayID: idOf("holiday", i), Name: term.HolidayName, StartsOn: dateOf(term.HolidayFrom), EndsOn: dateOf(term.HolidayTo)}); err != nil {
			return err
		}
	}
	return nil
}

func (f *filling) people(ctx context.Context, tx *store.Tx) error {
	for _, person := range append([]demo.Person{f.g.Owner}, f.g.Coaches...) {
		hash, err := f.Hasher.Hash(ctx, person.Password)
		if err != nil {
			return err
		}
		id := idOf("person", person.Email)
		if err := tx.AddPerson(ctx, gym.Person{PersonID: id, SignInName: account.FoldSignIn(person.Email), Name: person.Name, PasswordHash: hash, CreatedAt: f.start()}); err != nil {
			return err
		}
		if err := tx.AddMembership(ctx, gym.Membership{PersonID: id, Role: gym.Role(person.Role), Since: f.start()}); err != nil {
			return err
		}
	}
	return nil
}

func (f *filling) roster(ctx context.Context, tx *store.Tx) error {
	var athletes []store.NewAthlete
	byClass := map[string][]uuid.UUID{}
	for _, a := range f.g.Athletes {
		hash, err := f.Hasher.HashPIN(ctx, a.PIN)
		if err != nil {
			return err
		}
		id := idOf("athlete", a.ID)
		athletes = append(athletes, store.NewAthlete{NameKey: roster.NameKey(a.Name), PINHash: hash,
			Athlete: gym.Athlete{AthleteID: id, Name: a.Name, SortName: a.SortName, Lang: a.Lang, BirthYear: a.BirthYear,
				StartedOn: dateOf(f.g.Terms[0].StartsOn).AddDate(0, 0, 7*(a.JoinedWeek-1))}})
		byClass[a.Class] = append(byClass[a.Class], id)
	}
	if _, _, err := tx.AddAthletes(ctx, athletes, f.start()); err != nil {
		return err
	}
	for _, class := range f.g.Classes {
		id := idOf("class", class.Code)
		if err := tx.AddClass(ctx, gym.Class{ClassID: id, Name: class.Name, Code: class.Code, CreatedAt: f.start()}, roster.NameKey(class.Name), account.FoldCode(class.Code)); err != nil {
			return err
		}
		weekday := (int(class.Weekday)+6)%7 + 1
		if err := tx.SetClassTimes(ctx, id, []gym.ClassTime{{ClassID: id, Weekday: weekday, StartsAt: class.StartsAt, Minutes: class.Minutes}}); err != nil {
			return err
		}
		if _, err := tx.Enrol(ctx, id, byClass[class.Code], dateOf(f.start())); err != nil {
			return err
		}
	}
	return nil
}

func (f *filling) ropes(ctx context.Context, tx *store.Tx) error {
	for _, r := range f.g.Ropes {
		if err := tx.AddRope(ctx, gym.Rope{RopeID: idOf("rope", r.Label), Label: r.Label, Kind: r.Kind, LengthM: r.LengthM, Note: r.Note}, f.start()); err != nil {
			return err
		}
	}
	return nil
}

func ladderID() uuid.UUID { return idOf("ladder", "shipped") }

// ladder puts the ladder that ships into use and everybody at their start.
func (f *filling) ladder(ctx context.Context, tx *store.Tx) error {
	kept, version, stages, err := standing.Shipped(ladderID(), f.start())
	if err != nil {
		return err
	}
	if err := tx.AddLadder(ctx, kept); err != nil {
		return err
	}
	if err := tx.AddLadderVersion(ctx, version, stages); err != nil {
		return err
	}
	for _, a := range f.g.Athletes {
		first := f.g.Terms[0].StartsOn.AddDate(0, 0, 7*(a.JoinedWeek-1)).Add(9*time.Hour + 40*time.Minute)
		if _, err := tx.AddDecision(ctx, gym.StageDecision{DecisionID: idOf("start", a.ID), AthleteID: idOf("athlete", a.ID), Verdict: "start",
			StageTo: stages[a.StartStage-1].Key, LadderID: ladderID(), Version: 1, Reason: "Where the athlete stood at the start.",
			DecidedOn: dateOf(first), DecidedAt: first, DecidedBy: f.owner}); err != nil {
			return err
		}
	}
	return nil
}

func (f *filling) sessions(ctx context.Context) error {
	return f.write(ctx, func(tx *store.Tx) error {
		for _, session := range f.g.Sessions {
			if _, err := tx.EnsureSession(ctx, f.sessionOf(session)); err != nil {
				return err
			}
		}
		return nil
	})
}

func (f *filling) sessionOf(session demo.Session) gym.Session {
	kept := gym.Session{SessionID: idOf("session", fmt.Sprint(session.Class, session.Week)), ClassID: idOf("class", session.Class),
		Day: dateOf(session.StartsAt), StartsAt: session.StartsAt, Minutes: session.Minutes}
	if session.Held {
		opened, closed := session.StartsAt, session.StartsAt.Add(time.Duration(session.Minutes)*time.Minute)
		kept.OpenedAt, kept.ClosedAt = &opened, &closed
	}
	return kept
}

// Planning a demo session takes a coach and a clock that stands at its time.
func (f *filling) coachAt(at time.Time) (*coaching.Coaching, gym.Who) {
	coach := f.g.Coaches[0]
	return &coaching.Coaching{Store: f.Store, Now: func() time.Time { return at }},
		gym.Who{GymID: GymID(), PersonID: idOf("person", coach.Email), Role: gym.Coach, Name: coach.Name}
}
