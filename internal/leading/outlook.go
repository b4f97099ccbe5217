package leading

import (
	"context"
	"strings"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/calendar"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// Year reads everything that the meetings of a gym's classes around a day follow
// from, and those after it.
func (lead *Leading) Year(ctx context.Context, who gym.Who, day time.Time) (calendar.Year, gym.Gym, error) {
	var y calendar.Year
	var g gym.Gym
	err := lead.Store.Read(ctx, who.GymID, append(YearReadings(day, &y), store.TheGym(&g))...)
	y.Zone = g.Zone()
	return y, g, err
}

// YearReadings reads a Year along with a page that asks about a day, or others
// after it; its Zone is the gym's.
func YearReadings(day time.Time, y *calendar.Year) []store.Reading {
	since := day.Add(-calendar.LooksBack)
	return []store.Reading{store.TermsSince(since, &y.Terms), store.HolidaysSince(since, &y.Holidays), store.ClassTimes(&y.Times),
		store.MeetingChanges(since, &y.Changes)}
}

// earlier returns the one of two moments that comes first.
func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}

// An Outlook is what a change of the calendar would do to a class: shown before
// anything is kept.
type Outlook struct {
	Class gym.Class
	calendar.Shift
	Replanned int // plans that would be made again for another day
	Left      int // plans of a day on which the class would not meet
}

// ForeseeTerm returns what making or changing a term does to each class that it
// does anything to.
func (lead *Leading) ForeseeTerm(ctx context.Context, who gym.Who, t gym.Term) ([]Outlook, error) {
	t.Name = strings.TrimSpace(t.Name)
	return lead.foresee(ctx, who, t.StartsOn, calendar.SetTerm(t), func(y calendar.Year) error { return checkTerm(y.Terms, t) })
}

// ForeseeHoliday returns what making or changing a holiday does.
func (lead *Leading) ForeseeHoliday(ctx context.Context, who gym.Who, h gym.Holiday) ([]Outlook, error) {
	h.Name = strings.TrimSpace(h.Name)
	return lead.foresee(ctx, who, h.StartsOn, calendar.SetHoliday(h), func(calendar.Year) error { return checkHoliday(h) })
}

// ForeseeWithout returns what removing a term or a holiday does.
func (lead *Leading) ForeseeWithout(ctx context.Context, who gym.Who, termOrHoliday uuid.UUID) ([]Outlook, error) {
	edit := func(y calendar.Year) calendar.Year {
		return calendar.DropHoliday(termOrHoliday)(calendar.DropTerm(termOrHoliday)(y))
	}
	return lead.foresee(ctx, who, lead.Now(), edit, func(calendar.Year) error { return nil })
}

// foresee looks at every class, in two round trips. What is edited begins on a day.
func (lead *Leading) foresee(ctx context.Context, who gym.Who, day time.Time, edit calendar.Edit, check func(calendar.Year) error) ([]Outlook, error) {
	var y calendar.Year
	var g gym.Gym
	var classes []gym.Class
	if err := lead.Store.Read(ctx, who.GymID, append(YearReadings(earlier(day, lead.Now()), &y), store.TheGym(&g), store.Classes(&classes))...); err != nil {
		return nil, err
	}
	y.Zone = g.Zone()
	if err := check(y); err != nil {
		return nil, err
	}
	var outlooks []Outlook
	for _, class := range classes {
		shift, err := y.Foresee(edit, class.ClassID, lead.Now())
		if err != nil {
			return nil, err
		}
		if shift.Any() {
			outlooks = append(outlooks, Outlook{Class: class, Shift: shift})
		}
	}
	return outlooks, lead.countPlans(ctx, who, outlooks)
}

// countPlans adds what becomes of the plans that were made for days to come.
func (lead *Leading) countPlans(ctx context.Context, who gym.Who, outlooks []Outlook) error {
	if len(outlooks) == 0 {
		return nil
	}
	planned := make([][]gym.Plan, len(outlooks))
	var readings []store.Reading
	for i, o := range outlooks {
		readings = append(readings, store.RecentPlansOfClass(o.Class.ClassID, lead.Now().AddDate(0, 0, -1), &planned[i]))
	}
	if err := lead.Store.Read(ctx, who.GymID, readings...); err != nil {
		return err
	}
	for i := range outlooks {
		outlooks[i].Left, outlooks[i].Replanned = plansOn(planned[i], outlooks[i].Shift)
	}
	return nil
}

// plansOn counts plans of days that a class loses and of days that move.
func plansOn(plans []gym.Plan, s calendar.Shift) (lost, moved int) {
	on := map[time.Time]int{}
	for _, plan := range plans {
		on[plan.Day]++
	}
	for _, p := range s.Changed {
		if !p.Was.On().Equal(p.Is.On()) {
			moved += on[p.Was.On()]
			delete(on, p.Was.On())
		}
	}
	for _, day := range s.Emptied() {
		lost += on[day]
	}
	return lost, moved
}

// withdraw takes plans off the phones for days on which classes do not meet any
// more, in the transaction that keeps the change.
func withdraw(ctx context.Context, tx *store.Tx, outlooks ...Outlook) error {
	for _, o := range outlooks {
		days := o.Emptied()
		if len(days) == 0 {
			continue
		}
		if err := tx.WithdrawPlans(ctx, o.ClassID, days); err != nil {
			return err
		}
	}
	return nil
}
