package demoseed

import (
	"context"
	"fmt"
	"math/rand/v2"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/deciding"
	"ropewalk.example/internal/demo"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/store"
)

// A word of the coach's on a stage, said after a session of the demo's term.
// Whoever is not named here stays where the term began; some of them are ready.
type word struct {
	week, athlete int
	up            bool
	reason        string // of a decision to stay
}

func words() []word {
	return []word{
		{week: 3, athlete: 2, up: true},
		{week: 4, athlete: 8, up: true},
		{week: 4, athlete: 6, reason: "The runs are there. The shoulders still rise; two more weeks."},
		{week: 4, athlete: 14, up: true},
		{week: 6, athlete: 6, up: true},
	}
}

// stageAfter returns where an athlete stands after the words of so many weeks.
func (f *filling) stageAfter(a demo.Athlete, week int) ladder.Stage {
	number := a.StartStage
	for _, w := range words() {
		if w.athlete == a.ID && w.up && w.week <= week {
			number++
		}
	}
	return f.shipped.Stages[number-1]
}

// watch keeps what a coach sees and says beside the tests of a session: looks at
// each one's stage, ropes checked, catches told of, and decisions.
func (f *filling) watch(ctx context.Context, session demo.Session, present map[uuid.UUID]bool) error {
	err := f.write(ctx, func(tx *store.Tx) error {
		for _, a := range f.g.Athletes {
			if a.Class != session.Class || !present[idOf("athlete", a.ID)] {
				continue
			}
			if err := f.looks(ctx, tx, session, a); err != nil {
				return err
			}
			if err := f.catches(ctx, tx, session, a); err != nil {
				return err
			}
		}
		return f.checkSteel(ctx, tx, session)
	})
	if err != nil {
		return err
	}
	return f.decide(ctx, session)
}

// looks are what the coach saw of each point of a stage, every third week, and
// of the tasks that gates leave to the coach.
func (f *filling) looks(ctx context.Context, tx *store.Tx, session demo.Session, a demo.Athlete) error {
	const layer = 23
	r := rand.New(rand.NewPCG(20260907+layer, uint64(a.ID*100+session.Week)))
	stage := f.stageAfter(a, session.Week-1)
	look := func(task string, good bool) error {
		at := session.StartsAt.Add(30 * time.Minute)
		_, err := tx.AddJudgement(ctx, gym.Judgement{JudgementID: idOf("look", fmt.Sprint(a.ID, " ", session.Week, " ", task)), AthleteID: idOf("athlete", a.ID),
			Stage: stage.Key, Task: task, Good: good, Day: dateOf(at), JudgedAt: at, JudgedBy: f.coach()})
		return err
	}
	if session.Week%3 == 0 {
		for _, check := range stage.Checks {
			seen, good := r.Float64() < 0.8, r.Float64() < 0.55+0.03*float64(session.Week)
			if !seen {
				continue
			}
			if err := look(string(check.Point), good); err != nil {
				return err
			}
		}
	}
	if session.Week != 3 {
		return nil
	}
	for _, clause := range stage.Gate.Clauses {
		if clause.Measure != ladder.CoachJudges {
			continue
		}
		if err := look(clause.Task, a.ID == 2); err != nil {
			return err
		}
	}
	return nil
}

// catches are what a few athletes tell their diary: mostly one thing each.
func (f *filling) catches(ctx context.Context, tx *store.Tx, session demo.Session, a demo.Athlete) error {
	const layer = 24
	mostly, writes := map[int]gym.CatchNote{
		5:  {Spot: "toes", Height: "low"},
		13: {Spot: "heels"},
		17: {Spot: "toes", Timing: "early"},
		22: {Spot: "shins", Timing: "early"},
	}[a.ID]
	if !writes {
		return nil
	}
	r := rand.New(rand.NewPCG(20260907+layer, uint64(a.ID*100+session.Week)))
	for i := range 2 {
		note := mostly
		if r.Float64() < 0.25 {
			note = gym.CatchNote{Spot: "arms", Hands: "wide"}
		}
		note.CatchNoteID = idOf("catch", fmt.Sprint(a.ID, " ", session.Week, " ", i))
		note.AthleteID, note.NotedBy = idOf("athlete", a.ID), idOf("athlete", a.ID)
		note.Stage = f.stageAfter(a, session.Week-1).Key
		note.NotedAt = session.StartsAt.Add(time.Duration(session.Minutes+i) * time.Minute)
		note.Day = dateOf(note.NotedAt)
		if _, err := tx.AddCatchNote(ctx, note); err != nil {
			return err
		}
	}
	return nil
}

// checkSteel logs the weekly look at the steel ropes. One of them was left out
// lately, so that its check is due.
func (f *filling) checkSteel(ctx context.Context, tx *store.Tx, session demo.Session) error {
	const leftOut, since = "C3", 7
	if session.Class != f.g.Classes[len(f.g.Classes)-1].Code {
		return nil // the other class uses no steel
	}
	for _, rope := range f.g.Ropes {
		if !rope.CheckedWeekly || rope.Label == leftOut && session.Week >= since {
			continue
		}
		at := session.StartsAt.Add(-10 * time.Minute)
		if err := tx.AddRopeCheck(ctx, gym.RopeCheck{RopeCheckID: idOf("rope check", fmt.Sprint(rope.Label, " ", session.Week)),
			RopeID: idOf("rope", rope.Label), Sound: true, Day: dateOf(at), CheckedAt: at, CheckedBy: f.coach()}); err != nil {
			return err
		}
	}
	return nil
}

func (f *filling) coach() uuid.UUID { return idOf("person", f.g.Coaches[0].Email) }

// decide says the coach's words of a session, with the evidence of the day.
func (f *filling) decide(ctx context.Context, session demo.Session) error {
	after := session.StartsAt.Add(time.Duration(session.Minutes)*time.Minute + 10*time.Minute)
	_, who := f.coachAt(after)
	d := deciding.Deciding{Store: f.Store, Now: func() time.Time { return after }}
	for _, w := range words() {
		a := f.g.Athletes[w.athlete-1]
		if w.week != session.Week || a.Class != session.Class {
			continue
		}
		ask := deciding.Decision{ID: idOf("word", fmt.Sprint(a.ID, " ", w.week)), Athlete: idOf("athlete", a.ID),
			From: f.stageAfter(a, w.week-1).Key, To: f.stageAfter(a, w.week).Key, Reason: w.reason}
		if _, err := d.Decide(ctx, who, ask); err != nil {
			return fmt.Errorf("a decision on athlete %d: %w", a.ID, err)
		}
	}
	return nil
}

// rack says which ropes a class uses and who took which from the rack. A rope
// that two people use is written down for the younger class.
func (f *filling) rack(ctx context.Context, tx *store.Tx) error {
	for _, class := range f.g.Classes {
		if err := tx.SetClassRopeKinds(ctx, idOf("class", class.Code), class.RopeKinds); err != nil {
			return err
		}
	}
	taken := map[string]bool{}
	for _, class := range f.g.Classes {
		for _, a := range f.g.Athletes {
			if a.Class != class.Code || a.Rope == "" || taken[a.Rope] {
				continue
			}
			taken[a.Rope] = true
			at := f.g.Terms[0].StartsOn.Add(17 * time.Hour)
			if err := tx.AddRopeLoan(ctx, gym.RopeLoan{RopeLoanID: idOf("loan", a.ID), RopeID: idOf("rope", a.Rope), AthleteID: idOf("athlete", a.ID),
				Lent: true, Day: dateOf(at), LentAt: at, LentBy: f.coach()}); err != nil {
				return err
			}
		}
	}
	return nil
}

// homework sets the drill of their stage for everybody of the class that met last.
func (f *filling) homework(ctx context.Context) error {
	held := heldSessions(f.g)
	if len(held) == 0 {
		return nil
	}
	last := held[len(held)-1]
	at := last.StartsAt.Add(time.Duration(last.Minutes) * time.Minute)
	var set []gym.Assignment
	for _, a := range f.g.Athletes {
		if a.Class != last.Class {
			continue
		}
		set = append(set, gym.Assignment{AssignmentID: idOf("set", fmt.Sprint(a.ID, " ", last.Week)), BatchID: idOf("batch", last.Week),
			AthleteID: idOf("athlete", a.ID), Kind: deciding.SetDrill, Stage: f.stageAfter(a, last.Week).Key, Note: "Twice before we meet again.",
			Day: dateOf(at), SetAt: at, SetBy: f.coach()})
	}
	return f.write(ctx, func(tx *store.Tx) error { return tx.AddAssignments(ctx, set) })
}
