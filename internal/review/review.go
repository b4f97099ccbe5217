// Package review answers what a term changed for one athlete, for a class and
// for the gym: rates at both ends and whether the change is real, what came of
// fewer catches, clean runs, stages, attendance and load. Nobody is ranked. It
// is pure and imports the nouns of package gym, level, standing, finding and the
// pure packages.
package review

import (
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
)

// A Span is the part of a term that is looked at, in days of the gym's calendar.
type Span struct {
	Term gym.Term
	AsOf time.Time // the last day looked at, not after the term's end
}

// SpanOf returns the span of a term as seen on a day.
func SpanOf(term gym.Term, day time.Time) Span {
	if day.After(term.EndsOn) {
		day = term.EndsOn
	}
	return Span{Term: term, AsOf: day}
}

// Over reports whether the whole term is looked at.
func (s Span) Over() bool { return !s.AsOf.Before(s.Term.EndsOn) }

// Week returns the number of the term's week that a day lies in, from 1; weeks
// begin on Mondays.
func (s Span) Week(day time.Time) int {
	return int(day.Sub(monday(s.Term.StartsOn)).Hours()/(24*7)) + 1
}

// Weeks returns how many weeks the span has.
func (s Span) Weeks() int { return max(0, s.Week(s.AsOf)) }

// WeekStart returns the Monday of the term's week with a number from 1.
func (s Span) WeekStart(week int) time.Time {
	return monday(s.Term.StartsOn).AddDate(0, 0, 7*(week-1))
}

// monday returns the Monday of the week that day lies in.
func monday(day time.Time) time.Time {
	return day.AddDate(0, 0, -(int(day.Weekday())+6)%7)
}

// days returns the whole days from a to b, both midnight UTC.
func days(a, b time.Time) int { return int(b.Sub(a).Hours() / 24) }

// A Ground is what the reviews of all athletes share.
type Ground struct {
	Span
	AdultAge int                   // years
	Ladder   ladder.Ladder         // in use; without stages where the gym uses none
	Words    ladder.Words          // that name what its gates ask
	Titles   map[string]string     // of every stage that a ladder has or had, by key
	Scatters map[uuid.UUID]Scatter // by class, see [ScattersOf]
	Sweep    float64               // seconds of the rope under the feet in a double, the gym's
}

// Facts are what is known of one athlete.
type Facts struct {
	Athlete    gym.Athlete
	Results    []gym.Result // standing, within the span, oldest first
	Decisions  []gym.StageDecision
	Meetings   []gym.Meeting   // within the span, oldest first
	Debriefs   []gym.Debrief   // standing, within the span, oldest first
	Catches    []gym.CatchNote // not taken back
	Gates      []gym.Result    // standing, as gates look at them
	Judgements []gym.Judgement
	Comment    gym.Comment
}

// An Athlete is what a term changed for one person.
type Athlete struct {
	gym.Athlete
	Rates      Rates
	Runs       Runs
	Doubles    Doubles
	Climb      Climb
	Attendance Attendance
	Load       Load
	Catches    Catches
	Comment    string // the coach's words, "" where there are none
	Aim        Aim
	LeftOut    int // results of the span that still need a look, and count nowhere
}

// Of reviews one athlete.
func (g Ground) Of(f Facts) Athlete {
	counted, leftOut := g.sift(f.Results)
	climb := g.climbOf(f.Decisions)
	return Athlete{
		Athlete:    f.Athlete,
		Rates:      ratesOf(counted, g.scatterFor(f.Meetings)),
		Runs:       g.runsOf(counted),
		Doubles:    g.doublesOf(counted),
		Climb:      climb,
		Attendance: g.attendanceOf(f.Meetings),
		Load:       g.loadOf(f.Debriefs, counted),
		Catches:    g.catchesOf(f.Catches),
		Comment:    f.Comment.Comment,
		Aim:        g.aimOf(f, climb.End),
		LeftOut:    leftOut,
	}
}

// sift parts the results of the span that count from those that were kept as odd
// and still need a look.
func (g Ground) sift(results []gym.Result) (counted []gym.Result, leftOut int) {
	for _, r := range results {
		switch {
		case r.Day.Before(g.Term.StartsOn) || r.Day.After(g.AsOf):
		case r.KeptOdd:
			leftOut++
		default:
			counted = append(counted, r)
		}
	}
	return counted, leftOut
}
