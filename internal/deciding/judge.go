package deciding

import (
	"context"
	"slices"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// A Look is what a coach says of a point of how somebody jumps, or of a task
// that a gate leaves to the coach.
type Look struct {
	ID      uuid.UUID
	Athlete uuid.UUID
	Stage   string // key
	Task    string // a point of the stage's checks, or the task of a clause
	Good    bool
	Instead uuid.UUID // an earlier look at the same, taken back by this one; uuid.Nil for none
}

// Judge keeps looks, all or none, as of today. The same id again changes nothing.
func (d *Deciding) Judge(ctx context.Context, who gym.Who, looks ...Look) error {
	if !mayDecide(who.Role) {
		return problem.New(problem.Forbidden, "Only a coach judges how somebody jumps.")
	}
	now := d.Now()
	return d.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var g gym.Gym
		var ladders []gym.Ladder
		var stages []gym.Stage
		if err := tx.Read(ctx, store.TheGym(&g), store.LadderInUse(&ladders), store.Stages(&stages)); err != nil {
			return err
		}
		inUse, err := ladderOf(d.shelf(), ladders, stages)
		if err != nil {
			return err
		}
		for _, look := range looks {
			if !judged(inUse, look) {
				return problem.New(problem.Conflict, "The ladder changed meanwhile. Open the page again, then judge.")
			}
			kept := gym.Judgement{JudgementID: orNew(look.ID), AthleteID: look.Athlete, Stage: look.Stage, Task: look.Task,
				Good: look.Good, Day: g.DayOf(now), JudgedAt: now, JudgedBy: who.ID()}
			if err := keepLook(ctx, tx, kept, look.Instead); err != nil {
				return err
			}
		}
		return nil
	})
}

// keepLook keeps a look; one that stands instead of another takes that back. The
// same look again changes nothing.
func keepLook(ctx context.Context, tx *store.Tx, look gym.Judgement, instead uuid.UUID) error {
	added, err := tx.AddJudgement(ctx, look)
	if err != nil || !added || instead == uuid.Nil {
		return err
	}
	var looks []gym.Judgement
	if err := tx.Read(ctx, store.Judgements(store.Only(look.AthleteID), &looks)); err != nil {
		return err
	}
	if !slices.ContainsFunc(looks, func(j gym.Judgement) bool { return j.JudgementID == instead && j.Task == look.Task }) {
		return problem.New(problem.NotFound, "There is no such look to take back.")
	}
	look.JudgementID, look.Good, look.TakesBack = newID(), false, instead
	_, err = tx.AddJudgement(ctx, look)
	return err
}

// judged reports whether the stage has the point or the task that was looked at.
func judged(l ladder.Ladder, look Look) bool {
	stage, ok := l.Stage(look.Stage)
	return ok && (slices.ContainsFunc(stage.Checks, func(c ladder.Check) bool { return string(c.Point) == look.Task }) ||
		slices.ContainsFunc(stage.Gate.Clauses, func(c ladder.Clause) bool { return c.Measure == ladder.CoachJudges && c.Task == look.Task }))
}

// TakeBackLook undoes a look; the one before it counts again. Both are kept.
func (d *Deciding) TakeBackLook(ctx context.Context, who gym.Who, athlete, id uuid.UUID) error {
	if !mayDecide(who.Role) {
		return problem.New(problem.Forbidden, "Only a coach takes back what a coach saw.")
	}
	now := d.Now()
	return d.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var g gym.Gym
		var looks []gym.Judgement
		if err := tx.Read(ctx, store.TheGym(&g), store.Judgements(store.Only(athlete), &looks)); err != nil {
			return err
		}
		i := slices.IndexFunc(looks, func(j gym.Judgement) bool { return j.JudgementID == id && j.TakesBack == uuid.Nil })
		if i < 0 {
			return problem.New(problem.NotFound, "There is no such look to take back.")
		}
		_, err := tx.AddJudgement(ctx, gym.Judgement{JudgementID: newID(), AthleteID: athlete, Stage: looks[i].Stage, Task: looks[i].Task,
			Day: g.DayOf(now), TakesBack: id, JudgedAt: now, JudgedBy: who.ID()})
		return err
	})
}
