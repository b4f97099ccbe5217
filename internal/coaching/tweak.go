package coaching

import (
	"context"
	"encoding/json"
	"fmt"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// A Tweak is a coach's change to one athlete's plan. What is nil or 0 stays as
// the planner has it.
type Tweak struct {
	Plan    uuid.UUID
	StepRPM *float64       // of the bursts above base, rpm
	Split   *planner.Split // instead of the one that was earned
	Sets    planner.Tweak
}

// Bounds of a tweak.
const (
	mostStep   = 100.0 // rpm above base
	mostCycles = 60
	mostSets   = 60
	mostRest   = 600.0 // s
)

func (t Tweak) check() error {
	wrong := map[string]string{}
	if t.StepRPM != nil && !(*t.StepRPM >= 0 && *t.StepRPM <= mostStep) {
		wrong["step"] = fmt.Sprintf("The step must be from 0 to %.0f rpm.", mostStep)
	}
	if t.Sets.MostCycles < 0 || t.Sets.MostCycles > mostCycles {
		wrong["cycles"] = fmt.Sprintf("Cycles must be a whole number from 1 to %d.", mostCycles)
	}
	if t.Sets.MostSets < 0 || t.Sets.MostSets > mostSets {
		wrong["sets"] = fmt.Sprintf("Sets must be a whole number from 1 to %d.", mostSets)
	}
	if !(t.Sets.LeastRestSeconds >= 0 && t.Sets.LeastRestSeconds <= mostRest) {
		wrong["rest"] = fmt.Sprintf("Rest must be from 0 to %.0f seconds.", mostRest)
	}
	return problem.Form(wrong)
}

// Tweaked is a plan before and after a tweak.
type Tweaked struct {
	Kept   gym.Plan // as it is
	Before Again
	After  Planned
}

// TryTweak works out what a tweak would come to and keeps nothing.
func (c *Coaching) TryTweak(ctx context.Context, who gym.Who, t Tweak) (Tweaked, error) {
	var g gym.Gym
	var kept gym.Plan
	if err := c.Store.Read(ctx, who.GymID, store.TheGym(&g), store.Plan(t.Plan, &kept)); err != nil {
		return Tweaked{}, err
	}
	return c.tweaked(g, kept, t)
}

func (c *Coaching) tweaked(g gym.Gym, kept gym.Plan, t Tweak) (Tweaked, error) {
	before, err := WorkAgain(kept)
	if err != nil {
		return Tweaked{}, err
	}
	out := Tweaked{Kept: kept, Before: before}
	if kept.Day.Before(g.DayOf(c.Now())) {
		return out, problem.New(problem.Conflict, "The day of this plan is over. Make new plans for the next meeting.")
	}
	if before.Plan.Kind == planner.KindHold {
		return out, problem.New(problem.Conflict, "Impact work is on hold because of pain. There is nothing to change until a coach lets it go on.")
	}
	if err := t.check(); err != nil {
		return out, err
	}
	if err := out.apply(t); err != nil {
		return out, fmt.Errorf("changing plan %s: %w", kept.PlanID, err)
	}
	out.After.Kept.AthleteID, out.After.Kept.ClassID, out.After.Kept.SessionID = kept.AthleteID, kept.ClassID, kept.SessionID
	out.After.Kept.Day, out.After.Kept.Notes = kept.Day, kept.Notes
	return out, nil
}

// apply composes the hour once more with the coach's word in it.
func (t *Tweaked) apply(ask Tweak) error {
	if t.Kept.Hour == nil {
		var in planner.Input
		if err := json.Unmarshal(t.Kept.Input, &in); err != nil {
			return err
		}
		ask.into(&in)
		return t.After.solve(in)
	}
	var hour planner.Hour
	if err := json.Unmarshal(t.Kept.Hour, &hour); err != nil {
		return err
	}
	ask.into(&hour.Athlete)
	return t.After.compose(hour)
}

func (t Tweak) into(in *planner.Input) { in.StepRPM, in.Split, in.Tweak = t.StepRPM, t.Split, t.Sets }

// KeepTweak makes the tweaked plan the athlete's for that day, under id. Where
// the athlete could see the old one, the new one takes its place at once.
func (c *Coaching) KeepTweak(ctx context.Context, who gym.Who, id uuid.UUID, t Tweak) (Tweaked, error) {
	tweaked, err := c.TryTweak(ctx, who, t)
	if err != nil {
		return tweaked, err
	}
	now := c.Now()
	made := &tweaked.After.Kept
	made.PlanID, made.MadeAt, made.MadeBy = id, now, who.ID()
	if tweaked.Kept.SentAt != nil {
		made.SentAt = &now
	}
	return tweaked, c.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.AddPlans(ctx, []gym.Plan{*made}); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), now, who.ID(), "changed a plan", "plan", id)
	})
}
