package review

import (
	"math"
	"time"

	"ropewalk.example/internal/finding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/progress"
)

// A Load is how much an athlete trained over the span, by the athlete's own word.
type Load struct {
	Weeks    []LoadWeek // every week of the span, in order
	Sessions int        // for which somebody said how they went
	Minutes  float64
	Contacts int     // jumps of sessions as told, and of tests
	Effort   float64 // mean of 0–10; NaN where nobody said
	Total    float64 // arbitrary units
}

// A LoadWeek is one week's load.
type LoadWeek struct {
	Start    time.Time // a Monday
	Sessions int
	Total    float64 // arbitrary units, effort × minutes
	Monotony float64 // NaN where all days are alike
	Contacts int
}

func (g Ground) loadOf(debriefs []gym.Debrief, results []gym.Result) Load {
	l := Load{Effort: math.NaN()}
	weeks := g.Weeks()
	daily := make([][7]float64, weeks)
	l.Weeks = make([]LoadWeek, weeks)
	for i := range l.Weeks {
		l.Weeks[i].Start = g.WeekStart(i + 1)
	}
	efforts, said := 0.0, 0
	for _, d := range debriefs {
		week := g.Week(d.Day) - 1
		if d.Day.Before(g.Term.StartsOn) || d.Day.After(g.AsOf) || week < 0 || week >= weeks {
			continue
		}
		if d.Effort != nil {
			efforts += float64(*d.Effort)
			said++
		}
		if d.Effort == nil || d.Minutes == nil {
			continue
		}
		load, err := progress.SessionLoad(float64(*d.Effort), *d.Minutes)
		if err != nil {
			continue
		}
		l.Sessions++
		l.Minutes += *d.Minutes
		l.Weeks[week].Sessions++
		daily[week][days(l.Weeks[week].Start, d.Day)] += load
	}
	for day, jumps := range finding.JumpsByDay(finding.Record{Results: results, Debriefs: debriefs}) {
		if week := g.Week(day) - 1; !day.Before(g.Term.StartsOn) && !day.After(g.AsOf) && week < weeks {
			l.Contacts += jumps.Contacts()
			l.Weeks[week].Contacts += jumps.Contacts()
		}
	}
	for i, loads := range daily {
		w, err := progress.WeekOf(loads[:])
		if err != nil {
			continue
		}
		l.Weeks[i].Total, l.Weeks[i].Monotony = w.Total, w.Monotony
		l.Total += w.Total
	}
	if said > 0 {
		l.Effort = efforts / float64(said)
	}
	return l
}
