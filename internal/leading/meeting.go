package leading

import (
	"context"
	"fmt"
	"slices"
	"time"
	"unicode/utf8"

	"github.com/google/uuid"

	"ropewalk.example/internal/calendar"
	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// longestReason bounds why a meeting is other than usual.
const longestReason = 200

// A Change is one change of a class's meetings.
type Change struct {
	gym.MeetingChange
	Rest bool // every later meeting of the term like it changes alike
}

// Change keeps that a meeting of a class is moved, cancelled, restored or added,
// takes the plans of its old day off the phones, and has them made again for the
// new one. The
// rest of the term follows by itself: test days and lighter weeks are counted
// from the meetings. replanned is how many plans were made again. The same
// change again changes nothing.
func (lead *Leading) Change(ctx context.Context, who gym.Who, c Change) (replanned int, err error) {
	year, class, err := lead.yearOf(ctx, who, c.ClassID, c.Day)
	if err != nil {
		return 0, err
	}
	if slices.ContainsFunc(year.Changes, func(kept gym.MeetingChange) bool { return kept.ChangeID == c.ChangeID }) {
		return 0, nil
	}
	c.MadeAt, c.MadeBy = lead.Now(), who.ID()
	changes, err := checkChanges(year, c)
	if err != nil {
		return 0, err
	}
	shift, err := year.Foresee(calendar.AddChanges(changes...), class.ClassID, lead.Now())
	if err != nil {
		return 0, err
	}
	moved := slices.DeleteFunc(slices.Clone(shift.Changed), func(p calendar.Pair) bool { return p.Was.On().Equal(p.Is.On()) })
	plans := make([][]gym.Plan, len(moved)) // of the old days, as they are before they are taken off the phones
	var readings []store.Reading
	for i, p := range moved {
		readings = append(readings, store.PlansOfClass(class.ClassID, p.Was.On(), &plans[i]))
	}
	if err := lead.Store.Read(ctx, who.GymID, readings...); err != nil {
		return 0, err
	}
	err = lead.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		for _, change := range changes {
			if err := tx.AddMeetingChange(ctx, change); err != nil {
				return err
			}
		}
		if err := withdraw(ctx, tx, Outlook{Class: class, Shift: shift}); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), c.MadeAt, who.ID(), string(c.Kind)+" a meeting", "class", c.ClassID)
	})
	if err != nil {
		return 0, err
	}
	for i, p := range moved {
		made, err := lead.replan(ctx, who, c.ClassID, plans[i], p.Is.On())
		if err != nil {
			return replanned, err
		}
		replanned += made
	}
	return replanned, nil
}

// ForeseeChange returns what a change does, and keeps nothing.
func (lead *Leading) ForeseeChange(ctx context.Context, who gym.Who, c Change) (Outlook, error) {
	year, class, err := lead.yearOf(ctx, who, c.ClassID, c.Day)
	if err != nil {
		return Outlook{}, err
	}
	changes, err := checkChanges(year, c)
	if err != nil {
		return Outlook{}, err
	}
	shift, err := year.Foresee(calendar.AddChanges(changes...), c.ClassID, lead.Now())
	outlook := []Outlook{{Class: class, Shift: shift}}
	if err != nil {
		return outlook[0], err
	}
	err = lead.countPlans(ctx, who, outlook)
	return outlook[0], err
}

// yearOf reads the year around a day and now together with a class, which must be
// there.
func (lead *Leading) yearOf(ctx context.Context, who gym.Who, id uuid.UUID, day time.Time) (y calendar.Year, class gym.Class, err error) {
	var g gym.Gym
	err = lead.Store.Read(ctx, who.GymID, append(YearReadings(earlier(day, lead.Now()), &y), store.TheGym(&g), store.Class(id, &class))...)
	y.Zone = g.Zone()
	return y, class, err
}

// checkChanges returns the change with those that follow it, each of which must
// be possible after the ones before. Where several change, a message about a
// later one names its day.
func checkChanges(year calendar.Year, c Change) ([]gym.MeetingChange, error) {
	changes := []gym.MeetingChange{c.MeetingChange}
	if _, err := checkChange(year, c.MeetingChange); err != nil || !c.Rest {
		return changes, err
	}
	changes, err := year.Alike(c.MeetingChange, func(n int) uuid.UUID { return uuid.NewSHA1(c.ChangeID, []byte{byte(n)}) })
	if err != nil {
		return nil, err
	}
	year = calendar.AddChanges(changes[0])(year)
	for _, next := range changes[1:] {
		if _, err := checkChange(year, next); err != nil {
			if fields := problem.FieldsOf(err); fields["to_day"] != "" {
				fields["to_day"] = next.Day.Format("2 Jan") + ": " + fields["to_day"]
				return nil, problem.Form(fields)
			}
			return nil, err
		}
		year = calendar.AddChanges(next)(year)
	}
	return changes, nil
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
	if c.Kind == gym.Restored && slices.ContainsFunc(meetings, func(m calendar.Meeting) bool {
		return m.On().Equal(c.Day) && !(m.Day.Equal(c.Day) && m.StartsAt == c.StartsAt)
	}) {
		return was, problem.New(problem.Conflict, "Another meeting of this class is on that day now. Move or cancel it first.")
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

// replan makes plans again for another day, for whoever had one, and sends them
// where they were sent.
func (lead *Leading) replan(ctx context.Context, who gym.Who, class uuid.UUID, plans []gym.Plan, to time.Time) (int, error) {
	if len(plans) == 0 {
		return 0, nil
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
