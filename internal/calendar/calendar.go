// Package calendar answers when a class meets: its terms, holidays, weekly times
// and changes put together, with test days and lighter weeks. It is pure and
// imports the nouns of package gym and package planner; it also writes meetings
// as an iCalendar feed.
package calendar

import (
	"fmt"
	"slices"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/planner"
)

// LooksBack is how far a Year reaches behind the day that it is asked about: more
// than the longest term, and a year of meetings that are over.
const LooksBack = 2 * 400 * 24 * time.Hour

// Year is everything that the meetings of a gym's classes follow from.
type Year struct {
	Zone     *time.Location
	Terms    []gym.Term
	Holidays []gym.Holiday
	Times    []gym.ClassTime
	Changes  []gym.MeetingChange // oldest first
}

// A Meeting is one session of a class. Day and StartsAt name it as the weekly
// times give it, or as an extra meeting's own: a change of it says these.
type Meeting struct {
	planner.Meeting
	ClassID  uuid.UUID
	Term     gym.Term // the zero Term outside of all terms
	Day      time.Time
	StartsAt time.Duration
	Change   *gym.MeetingChange // the newest, nil where there is none
}

// Moved reports whether the meeting is at another time than its own.
func (m Meeting) Moved() bool { return m.Change != nil && m.Change.Kind == gym.Moved }

// On returns the day on which the meeting is, as midnight UTC.
func (m Meeting) On() time.Time { return midnight(m.Slot.Date) }

// Minutes returns how long it lasts.
func (m Meeting) Minutes() int { return m.Slot.Minutes }

// Class returns the meetings of a class in every term, in order.
//
// A change that names no meeting any more, because weekly times or holidays
// changed after it, says nothing. A term that cannot be read as a calendar has
// no meetings; that is an error of the planner.
func (y Year) Class(class uuid.UUID) ([]Meeting, error) {
	var all []Meeting
	for _, term := range y.Terms {
		some, err := y.inTerm(class, term)
		if err != nil {
			return nil, fmt.Errorf("meetings in %s: %w", term.Name, err)
		}
		all = append(all, some...)
	}
	slices.SortStableFunc(all, func(a, b Meeting) int { return a.Starts.Compare(b.Starts) })
	return all, nil
}

// inTerm puts one term together for the planner and reads its meetings back.
func (y Year) inTerm(class uuid.UUID, term gym.Term) ([]Meeting, error) {
	t := planner.Term{First: planner.DateOf(term.StartsOn), Last: planner.DateOf(term.EndsOn)}
	for _, h := range y.Holidays {
		t.Holidays = append(t.Holidays, planner.Span{From: planner.DateOf(h.StartsOn), To: planner.DateOf(h.EndsOn)})
	}
	for _, c := range y.Times {
		if c.ClassID == class {
			t.Weekly = append(t.Weekly, planner.Weekly{Weekday: time.Weekday(c.Weekday % 7), Start: clockOf(c.StartsAt), Minutes: c.Minutes})
		}
	}
	newest, applied := y.newest(class), map[name]gym.MeetingChange{}
	for key, change := range newest {
		if put, ok := y.apply(&t, key, change); ok {
			applied[key] = put
		}
	}
	slices.SortFunc(t.Changes, func(a, b planner.Change) int { return b.Date.Until(a.Date) })
	slices.SortFunc(t.Extra, func(a, b planner.Slot) int { return b.Date.Until(a.Date) })
	meetings, err := t.Meetings(y.Zone)
	if err != nil {
		return nil, err
	}
	named := make([]Meeting, len(meetings))
	for i, m := range meetings {
		named[i] = y.named(m, class, term, newest, applied)
	}
	return named, nil
}

// A name tells a meeting apart: the day and time of its own.
type name struct {
	day      time.Time
	startsAt time.Duration
}

// newest returns the newest change of each meeting of a class.
func (y Year) newest(class uuid.UUID) map[name]gym.MeetingChange {
	found := map[name]gym.MeetingChange{}
	for _, c := range y.Changes {
		if c.ClassID == class {
			found[name{c.Day, c.StartsAt}] = c
		}
	}
	return found
}

// apply tells the planner of a change that names one of the term's meetings. It
// returns the change that puts a meeting at another time than its own, if one
// does.
func (y Year) apply(t *planner.Term, key name, c gym.MeetingChange) (put gym.MeetingChange, ok bool) {
	date := planner.DateOf(key.day)
	weekly := t.First.Until(date) >= 0 && date.Until(t.Last) >= 0 && !holiday(t, date) &&
		slices.ContainsFunc(t.Weekly, func(w planner.Weekly) bool { return w.Weekday == date.Weekday() && w.Start == clockOf(key.startsAt) })
	own, extra := y.extra(key, c.ClassID)
	if extra && !weekly && c.Kind == gym.Restored {
		c = own
	}
	switch {
	case c.Kind == gym.Extra || !weekly && c.Kind == gym.Moved && extra:
		slot, ok := slotOf(c, t)
		if ok {
			t.Extra = append(t.Extra, slot)
		}
		return c, ok
	case !weekly:
	case c.Kind == gym.Cancelled:
		t.Changes = append(t.Changes, planner.Change{Date: date, Start: clockOf(key.startsAt)})
	case c.Kind == gym.Moved:
		slot, ok := slotOf(c, t)
		if ok {
			t.Changes = append(t.Changes, planner.Change{Date: date, Start: clockOf(key.startsAt), To: &slot})
		}
		return c, ok
	}
	return c, false
}

func holiday(t *planner.Term, date planner.Date) bool {
	return slices.ContainsFunc(t.Holidays, func(h planner.Span) bool { return h.From.Until(date) >= 0 && date.Until(h.To) >= 0 })
}

// extra returns the change that made a meeting as an extra one, if one did.
func (y Year) extra(key name, class uuid.UUID) (gym.MeetingChange, bool) {
	i := slices.IndexFunc(y.Changes, func(c gym.MeetingChange) bool {
		return c.ClassID == class && c.Kind == gym.Extra && c.Day.Equal(key.day) && c.StartsAt == key.startsAt
	})
	if i < 0 {
		return gym.MeetingChange{}, false
	}
	return y.Changes[i], true
}

// Extra reports whether a meeting is beside the weekly ones.
func (y Year) Extra(m Meeting) bool {
	_, extra := y.extra(name{m.Day, m.StartsAt}, m.ClassID)
	return extra
}

// slotOf returns when a changed meeting is, if that is within the term.
func slotOf(c gym.MeetingChange, t *planner.Term) (planner.Slot, bool) {
	if c.ToDay == nil || c.ToStartsAt == nil || c.ToMinutes == nil {
		return planner.Slot{}, false
	}
	date := planner.DateOf(*c.ToDay)
	return planner.Slot{Date: date, Start: clockOf(*c.ToStartsAt), Minutes: *c.ToMinutes}, t.First.Until(date) >= 0 && date.Until(t.Last) >= 0
}

// named finds the change that put a meeting where it is, and so its own time.
func (y Year) named(m planner.Meeting, class uuid.UUID, term gym.Term, newest, applied map[name]gym.MeetingChange) Meeting {
	found := Meeting{Meeting: m, ClassID: class, Term: term, Day: midnight(m.Slot.Date), StartsAt: sinceMidnight(m.Slot.Start)}
	for key, c := range applied {
		if c.ToDay.Equal(found.Day) && *c.ToStartsAt == found.StartsAt {
			found.Day, found.StartsAt, found.Change = key.day, key.startsAt, &c
			return found
		}
	}
	if c, changed := newest[name{found.Day, found.StartsAt}]; changed {
		found.Change = &c
	}
	return found
}

// Cancelled returns the meetings of a class that are cancelled, as they would
// have been, in order. What weekly times or holidays take away anyway is none.
func (y Year) Cancelled(class uuid.UUID) ([]Meeting, error) {
	newest := y.newest(class)
	off := func(day time.Time, startsAt time.Duration) bool {
		return newest[name{day, startsAt}].Kind == gym.Cancelled
	}
	held := y
	held.Changes = without(y.Changes, func(c gym.MeetingChange) bool {
		return c.ClassID == class && (c.Kind == gym.Cancelled || c.Kind == gym.Restored) && off(c.Day, c.StartsAt)
	})
	all, err := held.Class(class)
	all = slices.DeleteFunc(all, func(m Meeting) bool { return !off(m.Day, m.StartsAt) })
	for i, m := range all {
		c := newest[name{m.Day, m.StartsAt}]
		all[i].Change = &c
	}
	return all, err
}

// Next returns the first meeting of a class that has not ended by now. Outside
// of all terms it goes by the weekly times alone; a class without any meets now.
func (y Year) Next(class uuid.UUID, now time.Time) (Meeting, error) {
	meetings, err := y.Class(class)
	if err != nil {
		return Meeting{}, err
	}
	for _, m := range meetings {
		if m.Ends.After(now) {
			return m, nil
		}
	}
	return y.withoutTerm(class, now), nil
}

// usualMinutes is how long a meeting lasts that no weekly time tells of.
const usualMinutes = 60

// withoutTerm goes by the weekly times alone, past the last term's end.
func (y Year) withoutTerm(class uuid.UUID, now time.Time) Meeting {
	day := gym.NextMeeting(now.In(y.Zone), class, y.Times, y.Holidays)
	for _, t := range y.Times {
		if t.ClassID != class || time.Weekday(t.Weekday%7) != day.Weekday() {
			continue
		}
		m := y.meeting(class, day, t.StartsAt, t.Minutes)
		if m.Ends.After(now) {
			return m
		}
	}
	local := now.In(y.Zone)
	return y.meeting(class, gym.DayIn(now, y.Zone), time.Duration(60*local.Hour()+local.Minute())*time.Minute, usualMinutes)
}

func (y Year) meeting(class uuid.UUID, day time.Time, startsAt time.Duration, minutes int) Meeting {
	slot := planner.Slot{Date: planner.DateOf(day), Start: clockOf(startsAt), Minutes: minutes}
	starts := slot.Date.At(slot.Start, y.Zone)
	return Meeting{Meeting: planner.Meeting{Slot: slot, Starts: starts, Ends: starts.Add(time.Duration(minutes) * time.Minute)},
		ClassID: class, Day: day, StartsAt: startsAt}
}

// On returns the meeting of a class on a day, if it has one.
func (y Year) On(class uuid.UUID, day time.Time) (Meeting, bool, error) {
	meetings, err := y.Class(class)
	if err != nil {
		return Meeting{}, false, err
	}
	i := slices.IndexFunc(meetings, func(m Meeting) bool { return m.On().Equal(day) })
	if i < 0 {
		return Meeting{}, false, nil
	}
	return meetings[i], true, nil
}

// At returns the meeting of a class that starts at a moment; where the calendar
// has none, one of an hour beside it.
func (y Year) At(class uuid.UUID, starts time.Time) (Meeting, error) {
	meetings, err := y.Class(class)
	if err != nil {
		return Meeting{}, err
	}
	i := slices.IndexFunc(meetings, func(m Meeting) bool { return m.Starts.Equal(starts) })
	if i >= 0 {
		return meetings[i], nil
	}
	if m := y.withoutTerm(class, starts); m.Starts.Equal(starts) {
		return m, nil
	}
	local := starts.In(y.Zone)
	return y.meeting(class, gym.DayIn(starts, y.Zone), time.Duration(60*local.Hour()+local.Minute())*time.Minute, usualMinutes), nil
}

func clockOf(sinceMidnight time.Duration) planner.Clock {
	minutes := int(sinceMidnight / time.Minute)
	return planner.Clock{Hour: minutes / 60, Minute: minutes % 60}
}

func sinceMidnight(c planner.Clock) time.Duration {
	return time.Duration(60*c.Hour+c.Minute) * time.Minute
}

func midnight(d planner.Date) time.Time {
	return time.Date(d.Year, d.Month, d.Day, 0, 0, 0, 0, time.UTC)
}
