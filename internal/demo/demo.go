// Package demo answers what the invented gym of the demonstration holds: its
// people, ropes, classes and a term of results. Everything in it is made up;
// likeness to any person or place is accident. The same call gives the same
// gym, to the last rotation. It imports only the standard library.
package demo

import (
	"fmt"
	"time"
	_ "time/tzdata" // the gym's clock must not depend on the machine
)

// TimeZone is the IANA name of the gym's zone.
const TimeZone = "Europe/London"

// Now returns the demonstration's own present, Wednesday noon in week 9.
func Now() time.Time { return time.Date(2026, time.November, 4, 12, 0, 0, 0, time.UTC) }

// TermOver returns an instant after the last record of the term; Generate up to
// it gives all twelve weeks.
func TermOver() time.Time { return time.Date(2026, time.November, 30, 0, 0, 0, 0, time.UTC) }

// Generate returns the gym with every record made at or before until. All
// sessions of the term are listed; those that start later are not held yet.
// Times are in the gym's zone.
func Generate(until time.Time) (Gym, error) {
	return generate(athletes(), until)
}

// generate is Generate for a roster of one's own.
func generate(roster []Athlete, until time.Time) (Gym, error) {
	zone, err := time.LoadLocation(TimeZone)
	if err != nil {
		return Gym{}, fmt.Errorf("time zone of the demo gym: %w", err)
	}
	g := tallowmere(zone)
	g.Athletes = roster
	g.Sessions = sessions(g.Classes, zone)
	place := map[string]int{} // how many of the class stand before in the line
	for _, a := range roster {
		g.write(diary{athlete: a, class: g.class(a.Class), place: place[a.Class], zone: zone, weeks: retold(a, termOf(a))})
		place[a.Class]++
	}
	g.cut(until)
	return g, nil
}

// class returns the class with the given code.
func (g *Gym) class(code string) Class {
	for _, c := range g.Classes {
		if c.Code == code {
			return c
		}
	}
	return Class{}
}

// cut drops the records made after until and marks the sessions held by then.
func (g *Gym) cut(until time.Time) {
	for i := range g.Sessions {
		g.Sessions[i].Held = !g.Sessions[i].StartsAt.After(until)
	}
	g.Attendance = upTo(g.Attendance, until)
	g.Tests = upTo(g.Tests, until)
	g.Unsent = upTo(g.Unsent, until)
	g.Taps = upTo(g.Taps, until)
	g.Doubles = upTo(g.Doubles, until)
	g.Feedback = upTo(g.Feedback, until)
	for i := range g.Feedback {
		if g.Feedback[i].ReleasedAt.After(until) {
			g.Feedback[i].ReleasedAt = time.Time{}
		}
	}
}

// upTo returns the records made at or before until.
func upTo[T interface{ when() time.Time }](records []T, until time.Time) []T {
	var kept []T
	for _, r := range records {
		if !r.when().After(until) {
			kept = append(kept, r)
		}
	}
	return kept
}
