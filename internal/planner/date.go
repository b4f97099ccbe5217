package planner

import (
	"fmt"
	"time"
)

// A Date is a day on the gym's calendar, without a time or a zone. In JSON it
// is written 2026-09-07.
type Date struct {
	Year  int
	Month time.Month
	Day   int
}

// DateOf returns the calendar day of t in t's zone.
func DateOf(t time.Time) Date {
	y, m, d := t.Date()
	return Date{y, m, d}
}

// midnight returns the start of d as if the gym stood in UTC.
func (d Date) midnight() time.Time { return time.Date(d.Year, d.Month, d.Day, 0, 0, 0, 0, time.UTC) }

// real reports whether d is on the calendar: 29 February only in leap years.
func (d Date) real() bool { return d.Year > 0 && d.Year < 10_000 && DateOf(d.midnight()) == d }

// Plus returns the date the given days later.
func (d Date) Plus(days int) Date { return DateOf(d.midnight().AddDate(0, 0, days)) }

// Until returns the days from d to e, negative where e is earlier.
func (d Date) Until(e Date) int { return int(e.midnight().Sub(d.midnight()) / (24 * time.Hour)) }

// Weekday returns the day of the week.
func (d Date) Weekday() time.Weekday { return d.midnight().Weekday() }

// monday returns the Monday of d's week.
func (d Date) monday() Date { return d.Plus(-(int(d.Weekday()) + 6) % 7) }

func (d Date) String() string { return d.midnight().Format(time.DateOnly) }

// MarshalText writes d as 2026-09-07.
func (d Date) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads a date written as 2026-09-07.
func (d *Date) UnmarshalText(text []byte) error {
	t, err := time.Parse(time.DateOnly, string(text))
	if err != nil {
		return fmt.Errorf("date %q must read like 2026-09-07", text)
	}
	*d = DateOf(t)
	return nil
}

// A Clock is a time of day as a wall clock shows it.
type Clock struct {
	Hour   int `json:"hour"`   // 0–23
	Minute int `json:"minute"` // 0–59
}

func (c Clock) real() bool { return c.Hour >= 0 && c.Hour < 24 && c.Minute >= 0 && c.Minute < 60 }

// At returns the moment at which clocks in zone show d and c. A time that the
// clocks skip is taken as much later as they skip; one that they show twice is
// the first of the two.
func (d Date) At(c Clock, zone *time.Location) time.Time {
	wall := d.midnight().Add(time.Duration(60*c.Hour+c.Minute) * time.Minute)
	before := offset(wall.Add(-24*time.Hour), zone)
	first := wall.Add(-before)
	after := offset(first, zone)
	if after == before {
		return first.In(zone)
	}
	second := wall.Add(-after)
	if offset(second, zone) == after {
		return second.In(zone)
	}
	return first.In(zone)
}

// offset returns how far zone's clocks are ahead of UTC at t.
func offset(t time.Time, zone *time.Location) time.Duration {
	_, seconds := t.In(zone).Zone()
	return time.Duration(seconds) * time.Second
}
