package ladder

import (
	"fmt"
	"time"
)

// A Day is a calendar day in the gym's zone, counted from 1 January 1970, day 0.
type Day int

// DayOf returns the calendar day of t in t's own location.
func DayOf(t time.Time) Day {
	year, month, day := t.Date()
	return Day(time.Date(year, month, day, 0, 0, 0, 0, time.UTC).Unix() / secondsPerDay)
}

const secondsPerDay = 24 * 60 * 60

// Time returns d as midnight UTC.
func (d Day) Time() time.Time { return time.Unix(int64(d)*secondsPerDay, 0).UTC() }

// String returns d as 2026-11-04.
func (d Day) String() string { return d.Time().Format(time.DateOnly) }

// MarshalText writes d as 2026-11-04.
func (d Day) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads a day such as 2026-11-04.
func (d *Day) UnmarshalText(text []byte) error {
	t, err := time.Parse(time.DateOnly, string(text))
	if err != nil {
		return fmt.Errorf("day %q: %w", text, err)
	}
	*d = DayOf(t)
	return nil
}

// Evidence is one dated result or a coach's judgement, as gates see it. Fields
// that a protocol does not have are zero.
type Evidence struct {
	ID       string   // unique for one athlete
	Replaces string   // id of the evidence that this one corrects or takes back; "" for none
	Protocol Protocol // "" when this only takes back
	Stage    string   // key of the stage that a check belongs to; gates do not ask
	Task     string   // key of what was tried or judged
	Day      Day
	At       time.Time // orders the judgements of one day

	Seconds   float64 // the window of a timed test
	RPM       float64 // the whole-test rate
	Reps      int     // clean reps, doubles, cycles or rounds in a row
	Successes int     // good tries
	Tries     int     // out of so many
	Catches   int

	// RestartWithinSeconds is the longest pause after a catch, in seconds; 0 when
	// nobody timed it.
	RestartWithinSeconds float64

	Step        string
	Rope        RopeKind
	CountedBy   string // self, partner or coach
	SeenByCoach bool
	Unattended  bool // no adult was present; for a minor such a result opens no gate
	Good        bool // a judgement: the coach saw it; false says not yet
}

// An Athlete is what gates and rules need to know of a person.
type Athlete struct {
	Age   int      // in years, 0 if unknown
	Minor bool     // by the gym's age; an unknown age counts as a minor
	Rope  RopeKind // the kind used now, "" if unknown
}

// replaced returns the ids of the evidence that other evidence replaces, nil if
// there is none.
func replaced(evidence []Evidence) map[string]bool {
	var gone map[string]bool
	for i := range evidence {
		if id := evidence[i].Replaces; id != "" {
			if gone == nil {
				gone = map[string]bool{}
			}
			gone[id] = true
		}
	}
	return gone
}
