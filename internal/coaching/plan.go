package coaching

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// Planned is one athlete of a planned class.
type Planned struct {
	Athlete   gym.Athlete
	Kept      gym.Plan     // zero where there is none
	Plan      planner.Plan // what Kept holds
	Notes     []Note
	Test      planner.Test // the test to do first, where there is no plan
	NoConsent bool         // a guardian has not agreed, so nothing is planned
}

// Report is what planning a class came to, in the order people stand in.
type Report struct {
	Class    gym.Class
	Day      time.Time
	Minutes  int // of the meeting
	Athletes []Planned
}

// ClassPlan asks for plans for a class.
type ClassPlan struct {
	Class   uuid.UUID
	Only    []uuid.UUID // these athletes of it; none: everybody
	Day     time.Time   // on the gym's calendar
	Minutes float64     // of the whole meeting, 10–240; 0: as the class meets on that day, else an hour
}

// Bounds of a meeting's minutes, and what it lasts where no weekly time says so.
const (
	shortestMeeting = 10
	longestMeeting  = 240
	usualMeeting    = 60
)

// PlanClass composes and keeps the hour of each athlete of a class that has the
// tests for one; the others are listed with the test to do. All plans or none
// are kept. It reads with one query set however many athletes there are.
func (c *Coaching) PlanClass(ctx context.Context, who gym.Who, ask ClassPlan) (Report, error) {
	whole := ask.Minutes == float64(int(ask.Minutes))
	if ask.Minutes != 0 && !(whole && ask.Minutes >= shortestMeeting && ask.Minutes <= longestMeeting) {
		return Report{}, problem.Form(map[string]string{"minutes": "Minutes of the class must be a whole number from 10 to 240."})
	}
	class, err := c.readClass(ctx, who, ask)
	if err != nil {
		return Report{}, err
	}
	now, began := c.Now(), time.Now() // began is the real clock: what is counted is how long it takes
	report := Report{Class: class.class, Day: ask.Day, Minutes: class.occasion.Minutes, Athletes: make([]Planned, len(class.facts))}
	err = each(len(class.facts), func(i int) (err error) {
		facts := class.facts[i]
		if !class.allows(facts.Athlete.AthleteID) {
			report.Athletes[i] = Planned{Athlete: facts.Athlete, NoConsent: true}
			return nil
		}
		if report.Athletes[i], err = planOne(facts, class.occasion); err != nil {
			return fmt.Errorf("planning athlete %s: %w", facts.Athlete.AthleteID, err)
		}
		return nil
	})
	if err != nil {
		return Report{}, err
	}
	var plans []gym.Plan
	for i := range report.Athletes {
		kept := &report.Athletes[i].Kept
		if kept.Output != nil {
			kept.PlanID, kept.ClassID, kept.Day, kept.MadeAt, kept.MadeBy = newID(), ask.Class, ask.Day, now, who.ID()
			plans = append(plans, *kept)
		}
	}
	if c.Planned != nil {
		c.Planned(len(plans), time.Since(began))
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

// planOne composes one athlete's hour, with what it rests on as JSON in Kept.
func planOne(f Facts, o Occasion) (Planned, error) {
	planned := Planned{Athlete: f.Athlete}
	in, notes, err := InputOf(f, o)
	if err == nil {
		planned.Notes = notes
		err = planned.compose(HourOf(f, o, in))
	}
	if test, missing := missingTest(err); missing {
		planned.Test = test
		return planned, nil
	}
	if problem, ok := tooShort(err); ok {
		return Planned{}, problem
	}
	planned.Kept.AthleteID = f.Athlete.AthleteID
	for _, note := range notes {
		planned.Kept.Notes = append(planned.Kept.Notes, string(note))
	}
	return planned, err
}

// parts are a composed hour without its plan, as kept.
type parts struct {
	Parts []planner.Part   `json:"parts"`
	Why   []planner.Reason `json:"why"`
}

// compose solves hour and puts it into Kept.
func (p *Planned) compose(hour planner.Hour) error {
	composed, err := planner.Compose(hour)
	if err != nil {
		return err
	}
	p.Plan = composed.Plan
	for _, row := range []struct {
		into  *[]byte
		value any
	}{{&p.Kept.Hour, hour}, {&p.Kept.Input, composed.Athlete}, {&p.Kept.Output, composed.Plan}, {&p.Kept.Parts, parts{composed.Parts, composed.Why}}} {
		if *row.into, err = json.Marshal(row.value); err != nil {
			return fmt.Errorf("keeping a plan: %w", err)
		}
	}
	return nil
}

// tooShort returns what to tell a coach whose meeting is too short for the tests
// that fall on it.
func tooShort(err error) (*problem.Error, bool) {
	if e, ok := asInput(err); ok && e.Field == "minutes" {
		form, _ := problem.Form(map[string]string{"minutes": "This is too short for the tests of the day. Give the class more minutes."}).(*problem.Error)
		return form, true
	}
	return nil, false
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
