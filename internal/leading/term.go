package leading

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/google/uuid"

	"ropewalk.example/internal/calendar"
	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// longestTerm bounds a term's days, as the planner does.
const longestTerm = 400

const longestName = 80

// SetTerm makes a term, or changes the one with its id.
func (lead *Leading) SetTerm(ctx context.Context, who gym.Who, t gym.Term) error {
	t.Name = strings.TrimSpace(t.Name)
	wrong := span(t.Name, t.StartsOn, t.EndsOn, "Give the term a name, like “Autumn 2026”.")
	if t.EndsOn.Sub(t.StartsOn) > longestTerm*24*time.Hour {
		wrong["ends_on"] = "A term lasts at most 400 days."
	}
	if err := problem.Form(wrong); err != nil {
		return err
	}
	return lead.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var terms []gym.Term
		if err := tx.Read(ctx, store.Terms(&terms)); err != nil {
			return err
		}
		known := false
		for _, other := range terms {
			known = known || other.TermID == t.TermID
			if other.TermID != t.TermID && !t.StartsOn.After(other.EndsOn) && !t.EndsOn.Before(other.StartsOn) {
				return problem.Form(map[string]string{"starts_on": fmt.Sprintf("%s has some of these days. Terms may not overlap.", other.Name)})
			}
		}
		set := tx.AddTerm
		if known {
			set = tx.SetTerm
		}
		if err := set(ctx, t); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), lead.Now(), who.ID(), "set a term", "term", t.TermID)
	})
}

// DropTerm removes a term. What happened in it stays.
func (lead *Leading) DropTerm(ctx context.Context, who gym.Who, term uuid.UUID) error {
	return lead.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.DropTerm(ctx, term); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), lead.Now(), who.ID(), "removed a term", "term", term)
	})
}

// AddHoliday adds a span of days without classes.
func (lead *Leading) AddHoliday(ctx context.Context, who gym.Who, holiday gym.Holiday) error {
	holiday.Name = strings.TrimSpace(holiday.Name)
	if err := problem.Form(span(holiday.Name, holiday.StartsOn, holiday.EndsOn, "Give the holiday a name, like “Half term”.")); err != nil {
		return err
	}
	return lead.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.AddHoliday(ctx, holiday); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), lead.Now(), who.ID(), "added a holiday", "holiday", holiday.HolidayID)
	})
}

// DropHoliday removes a holiday.
func (lead *Leading) DropHoliday(ctx context.Context, who gym.Who, holiday uuid.UUID) error {
	return lead.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.DropHoliday(ctx, holiday); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), lead.Now(), who.ID(), "removed a holiday", "holiday", holiday)
	})
}

// span returns a message for each part of a named run of days that needs mending.
func span(name string, from, to time.Time, askName string) map[string]string {
	wrong := map[string]string{}
	switch {
	case name == "":
		wrong["name"] = askName
	case utf8.RuneCountInString(name) > longestName:
		wrong["name"] = "This name is too long. Shorten it to 80 characters."
	}
	switch {
	case from.IsZero():
		wrong["starts_on"] = "Choose the first day."
	case to.IsZero():
		wrong["ends_on"] = "Choose the last day."
	case to.Before(from):
		wrong["ends_on"] = "The last day must not be before the first."
	}
	return wrong
}

// Year reads everything that the meetings of a gym's classes follow from.
func (lead *Leading) Year(ctx context.Context, who gym.Who) (calendar.Year, gym.Gym, error) {
	var y calendar.Year
	var g gym.Gym
	err := lead.Store.Read(ctx, who.GymID, append(YearReadings(&y), store.TheGym(&g))...)
	y.Zone = g.Zone()
	return y, g, err
}

// YearReadings reads a Year along with a page; its Zone is the gym's.
func YearReadings(y *calendar.Year) []store.Reading {
	return []store.Reading{store.Terms(&y.Terms), store.Holidays(&y.Holidays), store.ClassTimes(&y.Times), store.MeetingChanges(&y.Changes)}
}

// longestReason bounds why a meeting is other than usual.
const longestReason = 200

// Change keeps that a meeting of a class is moved, cancelled, restored or added,
// and has plans that were made for the old day made again for the new one. The
// rest of the term follows by itself: test days and lighter weeks are counted
// from the meetings. replanned is how many plans were made again.
func (lead *Leading) Change(ctx context.Context, who gym.Who, c gym.MeetingChange) (replanned int, err error) {
	year, _, err := lead.Year(ctx, who)
	if err != nil {
		return 0, err
	}
	was, err := checkChange(year, c)
	if err != nil {
		return 0, err
	}
	c.MadeAt, c.MadeBy = lead.Now(), who.ID()
	err = lead.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var class gym.Class
		if err := tx.Read(ctx, store.Class(c.ClassID, &class)); err != nil {
			return err
		}
		if err := tx.AddMeetingChange(ctx, c); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), c.MadeAt, who.ID(), string(c.Kind)+" a meeting", "class", c.ClassID)
	})
	if err != nil || c.Kind != gym.Moved || was.On().Equal(*c.ToDay) {
		return 0, err
	}
	return lead.replan(ctx, who, c.ClassID, was.On(), *c.ToDay)
}

// checkChange returns the meeting that is changed, as it stands.
func checkChange(year calendar.Year, c gym.MeetingChange) (calendar.Meeting, error) {
	if utf8.RuneCountInString(c.Reason) > longestReason {
		return calendar.Meeting{}, problem.Form(map[string]string{"reason": "This is too long. Shorten it to 200 characters."})
	}
	meetings, err := year.Class(c.ClassID)
	if err != nil {
		return calendar.Meeting{}, err
	}
	i := slices.IndexFunc(meetings, func(m calendar.Meeting) bool { return m.Day.Equal(c.Day) && m.StartsAt == c.StartsAt })
	if i < 0 && (c.Kind == gym.Moved || c.Kind == gym.Cancelled) {
		return calendar.Meeting{}, problem.New(problem.Conflict, "This class has no such meeting any more. Look at the calendar again.")
	}
	var was calendar.Meeting
	if i >= 0 {
		was = meetings[i]
	}
	if c.Kind != gym.Moved && c.Kind != gym.Extra {
		return was, nil
	}
	return was, checkTo(year, meetings, was, c)
}

// checkTo looks at when a moved or extra meeting is to be.
func checkTo(year calendar.Year, meetings []calendar.Meeting, was calendar.Meeting, c gym.MeetingChange) error {
	wrong := map[string]string{}
	if c.ToDay == nil || c.ToDay.IsZero() {
		wrong["to_day"] = "Choose the day."
	}
	if c.ToStartsAt == nil || *c.ToStartsAt < 0 || *c.ToStartsAt >= 24*time.Hour {
		wrong["to_starts_at"] = "Choose when it starts, like 17:30."
	}
	if c.ToMinutes == nil || *c.ToMinutes < 10 || *c.ToMinutes > 240 {
		wrong["to_minutes"] = "A meeting lasts from 10 to 240 minutes."
	}
	if len(wrong) > 0 {
		return problem.Form(wrong)
	}
	within := func(t gym.Term) bool { return !c.ToDay.Before(t.StartsOn) && !c.ToDay.After(t.EndsOn) }
	switch {
	case c.Kind == gym.Moved && !within(was.Term):
		return problem.Form(map[string]string{"to_day": fmt.Sprintf("Choose a day within %s.", was.Term.Name)})
	case c.Kind == gym.Extra && !slices.ContainsFunc(year.Terms, within):
		return problem.Form(map[string]string{"to_day": "Choose a day within a term."})
	}
	for _, m := range meetings {
		same := m.Day.Equal(c.Day) && m.StartsAt == c.StartsAt && c.Kind == gym.Moved
		if !same && m.On().Equal(*c.ToDay) {
			return problem.Form(map[string]string{"to_day": "This class meets on that day already."})
		}
	}
	return nil
}

// replan makes the plans of a day again for another, for whoever had one, and
// sends them where they were sent.
func (lead *Leading) replan(ctx context.Context, who gym.Who, class uuid.UUID, from, to time.Time) (int, error) {
	var plans []gym.Plan
	if err := lead.Store.Read(ctx, who.GymID, store.PlansOfClass(class, from, &plans)); err != nil || len(plans) == 0 {
		return 0, err
	}
	ask := coaching.ClassPlan{Class: class, Day: to}
	sent := false
	for _, plan := range plans {
		ask.Only = append(ask.Only, plan.AthleteID)
		sent = sent || plan.SentAt != nil
	}
	report, err := lead.Coaching.PlanClass(ctx, who, ask)
	if err != nil {
		return 0, err
	}
	made := 0
	for _, planned := range report.Athletes {
		if planned.Test == "" {
			made++
		}
	}
	if sent {
		_, err = lead.Coaching.SendPlans(ctx, who, class, to)
	}
	return made, err
}
