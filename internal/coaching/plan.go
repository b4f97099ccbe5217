package coaching

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/measuring"
	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// Planned is one athlete of a planned class.
type Planned struct {
	Athlete gym.Athlete
	Kept    gym.Plan     // zero where there is none
	Plan    planner.Plan // what Kept holds
	Notes   []Note
	Test    planner.Test // the test to do first, where there is no plan
}

// Report is what planning a class came to, in the order people stand in.
type Report struct {
	Class    gym.Class
	Day      time.Time
	Athletes []Planned
}

// ClassPlan asks for plans for everybody in a class.
type ClassPlan struct {
	Class   uuid.UUID
	Day     time.Time // on the gym's calendar
	Minutes float64   // for the sets, 5–120
}

// PlanClass makes and keeps a plan for each athlete of a class that has the
// tests for one; the others are listed with the test to do. All plans or none
// are kept. It reads with one query set however many athletes there are.
func (c *Coaching) PlanClass(ctx context.Context, who gym.Who, ask ClassPlan) (Report, error) {
	if !(ask.Minutes >= 5 && ask.Minutes <= 120) {
		return Report{}, problem.Form(map[string]string{"minutes": "Minutes for the sets must be from 5 to 120."})
	}
	class, err := c.readClass(ctx, who, ask)
	if err != nil {
		return Report{}, err
	}
	now := c.Now()
	report := Report{Class: class.class, Day: ask.Day}
	var plans []gym.Plan
	for _, facts := range class.facts {
		planned, err := planOne(facts, class.occasion)
		if err != nil {
			return Report{}, fmt.Errorf("planning athlete %s: %w", facts.Athlete.AthleteID, err)
		}
		if planned.Kept.Output != nil {
			planned.Kept.PlanID, planned.Kept.ClassID = newID(), ask.Class
			planned.Kept.Day, planned.Kept.MadeAt, planned.Kept.MadeBy = ask.Day, now, who.ID()
			plans = append(plans, planned.Kept)
		}
		report.Athletes = append(report.Athletes, planned)
	}
	if len(plans) == 0 {
		return report, nil
	}
	err = c.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.AddPlans(ctx, plans); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), now, who.ID(), "planned a class", "class", ask.Class)
	})
	return report, err
}

// planOne computes one athlete's plan with its input, both as JSON in Kept.
func planOne(f Facts, o Occasion) (Planned, error) {
	planned := Planned{Athlete: f.Athlete}
	in, notes, err := InputOf(f, o)
	if err == nil {
		planned.Notes = notes
		planned.Plan, err = planner.Solve(in)
	}
	if test, missing := missingTest(err); missing {
		planned.Test = test
		return planned, nil
	}
	if err != nil {
		return Planned{}, err
	}
	planned.Kept.AthleteID = f.Athlete.AthleteID
	if planned.Kept.Input, err = json.Marshal(in); err != nil {
		return Planned{}, fmt.Errorf("keeping the input: %w", err)
	}
	if planned.Kept.Output, err = json.Marshal(planned.Plan); err != nil {
		return Planned{}, fmt.Errorf("keeping the plan: %w", err)
	}
	return planned, nil
}

// classFacts is everything that planning a class rests on.
type classFacts struct {
	class    gym.Class
	facts    []Facts
	occasion Occasion
}

func (c *Coaching) readClass(ctx context.Context, who gym.Who, ask ClassPlan) (classFacts, error) {
	var g gym.Gym
	var read classFacts
	var athletes []gym.Athlete
	var results []gym.Result
	var places []gym.StageDecision
	var plans []gym.Plan
	var debriefs []gym.Debrief
	var holds []gym.Hold
	since := ask.Day.Add(-lookback)
	err := c.Store.Read(ctx, who.GymID, store.TheGym(&g), store.Class(ask.Class, &read.class), store.AthletesOf(ask.Class, &athletes),
		store.ResultsOfClass(ask.Class, ask.Day.Add(-measuring.Lookback), &results), store.PlacesOfClass(ask.Class, &places),
		store.Stages(&read.occasion.Stages), store.RecentPlansOfClass(ask.Class, since, &plans),
		store.DebriefsOfClass(ask.Class, since, &debriefs), store.AllHoldsOfClass(ask.Class, &holds))
	if err != nil {
		return classFacts{}, err
	}
	read.occasion.Day, read.occasion.Minutes, read.occasion.AdultAge, read.occasion.Attended = ask.Day, ask.Minutes, g.AdultAge, true
	byAthlete := make(map[uuid.UUID]*Facts, len(athletes))
	read.facts = make([]Facts, len(athletes))
	for i, athlete := range athletes {
		read.facts[i].Athlete = athlete
		byAthlete[athlete.AthleteID] = &read.facts[i]
	}
	for _, r := range results {
		if f := byAthlete[r.AthleteID]; f != nil {
			f.Results = append(f.Results, r)
		}
	}
	for i, p := range places {
		if f := byAthlete[p.AthleteID]; f != nil {
			f.Place = &places[i]
		}
	}
	for _, p := range plans {
		if f := byAthlete[p.AthleteID]; f != nil {
			f.Plans = append(f.Plans, p)
		}
	}
	for _, d := range debriefs {
		if f := byAthlete[d.AthleteID]; f != nil {
			f.Debriefs = append(f.Debriefs, d)
		}
	}
	for _, h := range holds {
		if f := byAthlete[h.AthleteID]; f != nil {
			f.Holds = append(f.Holds, h)
		}
	}
	return read, nil
}

// SendPlans lets the athletes of a class see their newest plan for a day, and
// returns how many can now see one that they could not.
func (c *Coaching) SendPlans(ctx context.Context, who gym.Who, class uuid.UUID, day time.Time) (int, error) {
	sent := 0
	err := c.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var there gym.Class
		if err := tx.Read(ctx, store.Class(class, &there)); err != nil {
			return err
		}
		var err error
		if sent, err = tx.SendPlans(ctx, class, day, c.Now()); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), c.Now(), who.ID(), "sent plans", "class", class)
	})
	return sent, err
}

// Recompute solves a kept plan's input again. same tells whether it comes to
// what was kept, to the last byte.
func Recompute(kept gym.Plan) (plan planner.Plan, same bool, err error) {
	var in planner.Input
	if err := json.Unmarshal(kept.Input, &in); err != nil {
		return planner.Plan{}, false, fmt.Errorf("reading a plan's input: %w", err)
	}
	if plan, err = planner.Solve(in); err != nil {
		return planner.Plan{}, false, fmt.Errorf("solving a kept plan again: %w", err)
	}
	output, err := json.Marshal(plan)
	if err != nil {
		return planner.Plan{}, false, fmt.Errorf("writing a plan: %w", err)
	}
	return plan, string(output) == string(kept.Output), nil
}
