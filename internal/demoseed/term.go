package demoseed

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/demo"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/store"
)

// term plays the sessions held so far, in order: plans first, then who came,
// what was counted and how it went.
func (f *filling) term(ctx context.Context) error {
	for _, session := range heldSessions(f.g) {
		if err := f.play(ctx, session); err != nil {
			return fmt.Errorf("%s, week %d: %w", session.Class, session.Week, err)
		}
	}
	return f.rest(ctx)
}

func (f *filling) play(ctx context.Context, session demo.Session) error {
	before := session.StartsAt.Add(-time.Hour)
	coach, who := f.coachAt(before)
	class, day := idOf("class", session.Class), dateOf(session.StartsAt)
	var there []gym.Plan
	var noted []store.Attendance
	plans := store.PlansOfClass(class, day, &there)
	if err := f.Store.Read(ctx, GymID(), plans, store.AttendanceOf(class, day, &noted)); err != nil {
		return err
	}
	if !slices.ContainsFunc(noted, func(a store.Attendance) bool { return a.SessionID == f.sessionOf(session).SessionID }) {
		// Nobody came yet, so nothing is known that was not known before.
		if len(there) == 0 {
			if _, err := coach.PlanClass(ctx, who, coaching.ClassPlan{Class: class, Day: day}); err != nil {
				return err
			}
		}
		if _, err := coach.SendPlans(ctx, who, class, day); err != nil {
			return err
		}
		if err := f.Store.Read(ctx, GymID(), plans); err != nil {
			return err
		}
	}
	present, err := f.attend(ctx, session, who)
	if err != nil {
		return err
	}
	if err := f.record(ctx, session.StartsAt.Add(-24*time.Hour), session.StartsAt.Add(24*time.Hour), session.Class); err != nil {
		return err
	}
	tested, err := f.further(ctx, session, present)
	if err != nil {
		return err
	}
	if err := f.watch(ctx, session, present); err != nil {
		return err
	}
	return f.debrief(ctx, session, present, there, tested)
}

func (f *filling) attend(ctx context.Context, session demo.Session, who gym.Who) (map[uuid.UUID]bool, error) {
	present := map[uuid.UUID]bool{}
	var ids []uuid.UUID
	var here []bool
	for _, a := range f.g.Attendance {
		if a.Class == session.Class && a.Week == session.Week {
			id := idOf("athlete", a.Athlete)
			ids, here = append(ids, id), append(here, a.Present)
			present[id] = a.Present
		}
	}
	return present, f.write(ctx, func(tx *store.Tx) error {
		return tx.SetAttendance(ctx, f.sessionOf(session).SessionID, ids, here, session.StartsAt, who.PersonID)
	})
}

// record keeps the tests of a class taken between two times.
func (f *filling) record(ctx context.Context, from, to time.Time, class string) error {
	return f.write(ctx, func(tx *store.Tx) error {
		for _, test := range f.g.Tests {
			athlete := f.g.Athletes[test.Athlete-1]
			if athlete.Class != class || test.TakenAt.Before(from) || !test.TakenAt.Before(to) {
				continue
			}
			if _, err := tx.AddResult(ctx, f.resultOf(test, athlete)); err != nil {
				return err
			}
		}
		return nil
	})
}

func (f *filling) resultOf(test demo.Test, athlete demo.Athlete) gym.Result {
	rotations, seconds := test.Rotations, test.Seconds
	r := gym.Result{ResultID: idOf("test", test.Key), AthleteID: idOf("athlete", athlete.ID), Protocol: test.Kind, Day: dateOf(test.TakenAt),
		TakenAt: test.TakenAt, Rotations: &rotations, Seconds: &seconds, Catches: test.Catches, Step: test.Step, RopeKind: f.ropeKind(test.Rope),
		RopeID: idOf("rope", test.Rope), Surface: f.g.Surface, CountedBy: test.CountedBy, SeenByCoach: test.CountedBy == demo.ByCoach,
		Timing: "hand", RecordedAt: test.TakenAt.Add(time.Minute), RecordedBy: idOf("athlete", athlete.ID)}
	if test.Catches > 0 {
		lost, restart := test.LostSeconds, test.LongestRestart
		r.LostSeconds, r.LongestRestartSeconds = &lost, &restart
	}
	if test.InSession {
		r.SessionID = idOf("session", fmt.Sprint(athlete.Class, test.Week))
	}
	if test.ClashesWith != "" {
		r.Note = "Two phones gave different counts of this test."
		r.KeptOdd = true
	}
	r.KeptOdd = r.KeptOdd || 60*float64(rotations)/seconds > oddRPM
	return r
}

// oddRPM is above everything that somebody in this gym turns.
const oddRPM = 300

func (f *filling) ropeKind(label string) string {
	for _, r := range f.g.Ropes {
		if r.Label == label {
			return r.Kind
		}
	}
	return ""
}

// debrief lets everybody who came say how it went. The bursts are drawn from a
// stream of their own per athlete and week.
func (f *filling) debrief(ctx context.Context, session demo.Session, present map[uuid.UUID]bool, plans []gym.Plan, tested map[uuid.UUID]int) error {
	after := session.StartsAt.Add(time.Duration(session.Minutes) * time.Minute)
	coach, _ := f.coachAt(after)
	byAthlete := map[uuid.UUID]gym.Plan{}
	for _, plan := range plans {
		byAthlete[plan.AthleteID] = plan
	}
	for _, a := range f.g.Athletes {
		id := idOf("athlete", a.ID)
		if a.Class != session.Class || !present[id] {
			continue
		}
		d := gym.Debrief{DebriefID: idOf("debrief", fmt.Sprint(a.ID, " ", session.Week)), AthleteID: id, SessionID: f.sessionOf(session).SessionID, Day: dateOf(session.StartsAt)}
		minutes, effort := float64(session.Minutes), 4
		for _, word := range f.g.Feedback {
			if word.Athlete == a.ID && word.Week == session.Week && word.InSession {
				effort, d.Pain, d.PainPlace, d.Note = word.Effort, word.Pain, place(word.PainPlace), word.PainNote
			}
		}
		d.Minutes, d.Effort = &minutes, &effort
		if kept, planned := byAthlete[id]; planned {
			d.PlanID = kept.PlanID
			if err := jumped(&d, kept, a.ID, session.Week, tested[id]); err != nil {
				return err
			}
		}
		if _, err := coach.Debrief(ctx, gym.Who{GymID: GymID(), AthleteID: id, Role: gym.Jumper, Name: a.Name}, d); err != nil {
			return fmt.Errorf("debrief of athlete %d: %w", a.ID, err)
		}
	}
	return nil
}

// place takes a word of the demo for one of the form's.
func place(word string) string {
	for _, known := range coaching.PainPlaces() {
		if strings.Contains(word, known) {
			return known
		}
	}
	if word == "" {
		return ""
	}
	return "other"
}

// jumped fills in what was done of a plan: all sets but those whose jumps went
// into tests, with clean bursts more often as the weeks go by.
func jumped(d *gym.Debrief, kept gym.Plan, athlete, week, tested int) error {
	plan, _, err := coaching.Recompute(kept)
	if err != nil {
		return err
	}
	if plan.Kind == planner.KindHold || plan.Sets == 0 {
		return nil
	}
	perSet := plan.Contacts / plan.Sets
	sets := max(1, plan.Sets-(tested+perSet-1)/perSet)
	contacts := sets * perSet
	d.SetsDone, d.Contacts = &sets, &contacts
	if plan.Split.Burst == 0 {
		return nil
	}
	const layer = 20
	r := rand.New(rand.NewPCG(20260907+layer, uint64(athlete*100+week)))
	bursts, clean := sets*plan.Cycles, 0
	for range bursts {
		if r.Float64() < min(0.95, 0.72+0.02*float64(week)+0.03*float64(athlete%4)) {
			clean++
		}
	}
	catches := bursts - clean
	d.Bursts, d.CleanBursts, d.Catches = &bursts, &clean, &catches
	return nil
}

// ahead plans the next session of the class that meets first, and sends the
// plans, so that its athletes find theirs; the other class is left to the coach.
func (f *filling) ahead(ctx context.Context) error {
	next, ahead := f.next()
	if !ahead {
		return nil
	}
	coach, who := f.coachAt(f.until)
	class, day := idOf("class", next.Class), dateOf(next.StartsAt)
	var there []gym.Plan
	if err := f.Store.Read(ctx, GymID(), store.PlansOfClass(class, day, &there)); err != nil || len(there) > 0 {
		return err
	}
	if _, err := coach.PlanClass(ctx, who, coaching.ClassPlan{Class: class, Day: day}); err != nil {
		return err
	}
	_, err := coach.SendPlans(ctx, who, class, day)
	return err
}

// rest keeps what did not belong to a session: tests and words from home.
func (f *filling) rest(ctx context.Context) error {
	for _, class := range f.g.Classes {
		if err := f.record(ctx, time.Time{}, time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC), class.Code); err != nil {
			return err
		}
	}
	for _, word := range f.g.Feedback {
		if word.InSession || word.Pain == 0 {
			continue
		}
		a := f.g.Athletes[word.Athlete-1]
		coach, _ := f.coachAt(word.GivenAt)
		effort := word.Effort
		d := gym.Debrief{DebriefID: idOf("feedback", word.Key), AthleteID: idOf("athlete", a.ID), Day: dateOf(word.GivenAt),
			Effort: &effort, Pain: word.Pain, PainPlace: place(word.PainPlace), Note: word.PainNote}
		if _, err := coach.Debrief(ctx, gym.Who{GymID: GymID(), AthleteID: d.AthleteID, Role: gym.Jumper, Name: a.Name}, d); err != nil {
			return fmt.Errorf("word of athlete %d from home: %w", a.ID, err)
		}
	}
	return nil
}
