package planner

import (
	"cmp"
	"slices"
	"strconv"
	"time"
)

// Term is what a class's meetings follow from.
type Term struct {
	First    Date     `json:"first"`
	Last     Date     `json:"last"` // included; at most 400 days after First
	Weekly   []Weekly `json:"weekly"`
	Holidays []Span   `json:"holidays,omitempty"`
	Changes  []Change `json:"changes,omitempty"`
	Extra    []Slot   `json:"extra,omitempty"` // meetings beside the weekly ones, holiday or not
}

// Weekly is a class's time on one day of the week.
type Weekly struct {
	Weekday time.Weekday `json:"weekday"` // 0 is Sunday
	Start   Clock        `json:"start"`
	Minutes int          `json:"minutes"`
}

// A Span is a run of days, both ends included.
type Span struct {
	From Date `json:"from"`
	To   Date `json:"to"`
}

// A Slot is a time for one meeting.
type Slot struct {
	Date    Date  `json:"date"`
	Start   Clock `json:"start"`
	Minutes int   `json:"minutes"`
}

// A Change moves a meeting, or cancels it where To is nil. Date and Start name
// the meeting as the weekly times give it.
type Change struct {
	Date  Date  `json:"date"`
	Start Clock `json:"start"`
	To    *Slot `json:"to,omitzero"`
}

// A Meeting is one session of the class.
type Meeting struct {
	Slot     Slot // as the calendar has it
	Starts   time.Time
	Ends     time.Time
	Week     int  // of the term, 1 for the week of its first day, Monday to Sunday
	Teaching int  // 1 for the first week with a meeting, 2 for the second, …
	Lighter  bool // two sets in five fewer
	Tests    []Test
}

// Meetings lists a term's meetings in order, with their tests and lighter weeks.
//
// Weeks with at least one meeting count as teaching weeks. The first and every
// third after it has base and burst tests, every sixth the pair of all-out
// tests, every fourth is lighter. Tests fall on the week's first meeting. So a
// holiday loses no test, and a changed day changes only what comes after it.
//
// zone is the gym's. Meetings keep their time on the wall clock when clocks
// change; see [Date.At] for times that a change skips or repeats.
//
// It returns an [*InputError] for dates or times that are on no calendar or
// clock, a term that ends before it begins, and a change that names no meeting.
func (t Term) Meetings(zone *time.Location) ([]Meeting, error) {
	if err := t.check(zone); err != nil {
		return nil, err
	}
	slots, err := t.slots()
	if err != nil {
		return nil, err
	}
	meetings := make([]Meeting, len(slots))
	for i, s := range slots {
		starts := s.Date.At(s.Start, zone)
		meetings[i] = Meeting{
			Slot: s, Starts: starts, Ends: starts.Add(time.Duration(s.Minutes) * time.Minute),
			Week: 1 + t.First.monday().Until(s.Date.monday())/7,
		}
	}
	slices.SortStableFunc(meetings, func(a, b Meeting) int {
		return cmp.Or(a.Starts.Compare(b.Starts), cmp.Compare(a.Slot.Minutes, b.Slot.Minutes))
	})
	number(meetings)
	return meetings, nil
}

// From returns the meetings that are not before a day.
func From(meetings []Meeting, day Date) []Meeting {
	i := slices.IndexFunc(meetings, func(m Meeting) bool { return day.Until(m.Slot.Date) >= 0 })
	if i < 0 {
		return nil
	}
	return meetings[i:]
}

// number counts teaching weeks and sets what falls on each.
func number(meetings []Meeting) {
	teaching := 0
	for i := range meetings {
		m := &meetings[i]
		first := i == 0 || m.Week != meetings[i-1].Week
		if first {
			teaching++
		}
		m.Teaching = teaching
		m.Lighter = teaching%lighterEvery == 0
		switch {
		case first && teaching%testEvery == 1:
			m.Tests = []Test{TestBase, TestBurst}
		case first && teaching%allOutEvery == 0:
			m.Tests = []Test{TestAllOut30, TestAllOut180}
		}
	}
}

// slots returns the weekly times that are no holiday, changed where a change
// says so, and the extra ones.
func (t *Term) slots() ([]Slot, error) {
	var slots []Slot
	changed := make([]bool, len(t.Changes))
	for day := t.First; day.Until(t.Last) >= 0; day = day.Plus(1) {
		for _, w := range t.Weekly {
			if w.Weekday != day.Weekday() || t.holiday(day) {
				continue
			}
			slot := Slot{day, w.Start, w.Minutes}
			i := slices.IndexFunc(t.Changes, func(c Change) bool { return c.Date == day && c.Start == w.Start })
			if i >= 0 {
				changed[i] = true
				if t.Changes[i].To == nil {
					continue
				}
				slot = *t.Changes[i].To
			}
			slots = append(slots, slot)
		}
	}
	if i := slices.Index(changed, false); i >= 0 {
		return nil, &InputError{Field: "changes[" + strconv.Itoa(i) + "]", Problem: "names no meeting of this class"}
	}
	return append(slots, t.Extra...), nil
}

func (t *Term) holiday(day Date) bool {
	return slices.ContainsFunc(t.Holidays, func(h Span) bool { return h.From.Until(day) >= 0 && day.Until(h.To) >= 0 })
}

// longestTerm bounds the days between a term's first and last.
const longestTerm = 400

func (t *Term) check(zone *time.Location) error {
	switch {
	case zone == nil:
		return &InputError{Field: "zone", Problem: "must be the gym's time zone"}
	case !t.First.real():
		return &InputError{Field: "first", Problem: "must be a day on the calendar"}
	case !t.Last.real() || t.First.Until(t.Last) < 0 || t.First.Until(t.Last) > longestTerm:
		return &InputError{Field: "last", Problem: "must be a day on the calendar, 0 to 400 days after the first"}
	}
	for i, w := range t.Weekly {
		if w.Weekday < time.Sunday || w.Weekday > time.Saturday || !w.Start.real() || !lasts(w.Minutes) {
			return &InputError{Field: "weekly[" + strconv.Itoa(i) + "]", Problem: "must have a weekday, a time and 1 to 1440 minutes"}
		}
	}
	for i, h := range t.Holidays {
		if !h.From.real() || !h.To.real() || h.From.Until(h.To) < 0 {
			return &InputError{Field: "holidays[" + strconv.Itoa(i) + "]", Problem: "must have two days on the calendar, in order"}
		}
	}
	for i, s := range t.Extra {
		if !t.real(s) {
			return &InputError{Field: "extra[" + strconv.Itoa(i) + "]", Problem: "must have a day in the term, a time and 1 to 1440 minutes"}
		}
	}
	for i, c := range t.Changes {
		if c.To != nil && !t.real(*c.To) {
			return &InputError{Field: "changes[" + strconv.Itoa(i) + "].to", Problem: "must have a day in the term, a time and 1 to 1440 minutes"}
		}
	}
	return nil
}

// real reports whether s is a time within the term.
func (t *Term) real(s Slot) bool {
	return s.Date.real() && t.First.Until(s.Date) >= 0 && s.Date.Until(t.Last) >= 0 && s.Start.real() && lasts(s.Minutes)
}

func lasts(minutes int) bool { return minutes >= 1 && minutes <= 1440 }
