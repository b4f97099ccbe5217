package calendar

import (
	"slices"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
)

// A Shift is what an edit does to the meetings of a class that are not over.
type Shift struct {
	ClassID uuid.UUID
	Before  int // meetings that were still to come
	After   int
	Lost    []Meeting
	Gained  []Meeting
	Changed []Pair
}

// A Pair is one meeting before an edit and after it: at another time, with other
// tests, or lighter on one side alone.
type Pair struct{ Was, Is Meeting }

// Moved reports whether the meeting is at another time after the edit.
func (p Pair) Moved() bool { return p.Was.Slot != p.Is.Slot }

// Any reports whether the edit does anything.
func (s Shift) Any() bool { return len(s.Lost)+len(s.Gained)+len(s.Changed) > 0 }

// Emptied returns the days on which the class met and now does not: lost
// meetings' days and those that meetings moved from, in order.
func (s Shift) Emptied() []time.Time {
	var days []time.Time
	filled := map[time.Time]bool{}
	for _, m := range s.Lost {
		days = append(days, m.On())
	}
	for _, m := range s.Gained {
		filled[m.On()] = true
	}
	for _, p := range s.Changed {
		days = append(days, p.Was.On())
		filled[p.Is.On()] = true
	}
	days = slices.DeleteFunc(days, func(day time.Time) bool { return filled[day] })
	slices.SortFunc(days, time.Time.Compare)
	return slices.Compact(days)
}

// Foresee returns what an edit does to a class from now on. Meetings are told
// apart by their own day and time, so a moved one is changed, not lost.
func (y Year) Foresee(edit Edit, class uuid.UUID, now time.Time) (Shift, error) {
	was, err := y.toCome(class, now)
	if err != nil {
		return Shift{}, err
	}
	is, err := edit(y).toCome(class, now)
	if err != nil {
		return Shift{}, err
	}
	shift := Shift{ClassID: class, Before: len(was), After: len(is)}
	after := map[name]Meeting{}
	for _, m := range is {
		after[name{m.Day, m.StartsAt}] = m
	}
	for _, old := range was {
		key := name{old.Day, old.StartsAt}
		m, still := after[key]
		delete(after, key)
		switch {
		case !still:
			shift.Lost = append(shift.Lost, old)
		case m.Slot != old.Slot || m.Lighter != old.Lighter || !slices.Equal(m.Tests, old.Tests):
			shift.Changed = append(shift.Changed, Pair{old, m})
		}
	}
	for _, m := range is {
		if _, fresh := after[name{m.Day, m.StartsAt}]; fresh {
			shift.Gained = append(shift.Gained, m)
		}
	}
	return shift, nil
}

// toCome returns the meetings of a class that are not over.
func (y Year) toCome(class uuid.UUID, now time.Time) ([]Meeting, error) {
	all, err := y.Class(class)
	return slices.DeleteFunc(all, func(m Meeting) bool { return !m.Ends.After(now) }), err
}

// Alike returns the change of a meeting again for every later one of its term
// that has the same weekly time and is as the weekly times give it: the rest of
// the term follows a day. id names each change. A meeting that is no weekly one
// has none that follow it.
func (y Year) Alike(c gym.MeetingChange, id func(n int) uuid.UUID) ([]gym.MeetingChange, error) {
	all := []gym.MeetingChange{c}
	meetings, err := y.Class(c.ClassID)
	if err != nil {
		return nil, err
	}
	i := slices.IndexFunc(meetings, func(m Meeting) bool { return m.Day.Equal(c.Day) && m.StartsAt == c.StartsAt })
	if i < 0 || y.Extra(meetings[i]) {
		return all, nil
	}
	own := meetings[i]
	for _, m := range meetings {
		if m.Term.TermID != own.Term.TermID || !m.Day.After(own.Day) || m.Day.Weekday() != own.Day.Weekday() ||
			m.StartsAt != own.StartsAt || m.Moved() {
			continue
		}
		next := c
		next.ChangeID, next.Day = id(len(all)), m.Day
		if c.ToDay != nil {
			day := m.Day.Add(c.ToDay.Sub(c.Day))
			next.ToDay = &day
		}
		all = append(all, next)
	}
	return all, nil
}
