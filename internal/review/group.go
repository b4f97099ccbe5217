package review

import (
	"cmp"
	"slices"
	"time"

	"ropewalk.example/internal/progress"
	"ropewalk.example/internal/stats"
)

// A Spread is a quantity over many athletes without their names.
type Spread struct {
	N                 int // athletes for whom it is known
	Low, Middle, High float64
}

// minSpread is the number of athletes below which a spread is not shown: with
// fewer, everybody could tell whose the numbers are. Our caution, no source.
const minSpread = 3

// Shown reports whether enough athletes are in it to be shown.
func (s Spread) Shown() bool { return s.N >= minSpread }

func spreadOf(values []float64) Spread {
	if len(values) == 0 {
		return Spread{}
	}
	return Spread{N: len(values), Low: slices.Min(values), Middle: stats.Median(values), High: slices.Max(values)}
}

// SpreadEnds is a spread at both ends of the term.
type SpreadEnds struct{ Start, End Spread }

// A Group is what a term changed for a class or for the whole gym.
type Group struct {
	Athletes   int
	Tested     int        // with a base test at least
	Whole      SpreadEnds // rpm
	Turning    SpreadEnds // rpm
	Burst      SpreadEnds // rpm
	PerMinute  SpreadEnds // catches in a minute of a base test
	Gain       Spread     // of the whole-test rate, rpm, of those tested at both ends
	Real       Verdicts   // changes of the whole-test rate
	BestRun    Spread     // reps
	Attendance Spread     // share of the meetings, 0–1
	Here       int        // attendances of all together
	Noted      int
	Weeks      []GroupWeek
	Stages     []StageCount
	Moves      int // stages up, of all together
	Movers     int // athletes who moved up
	Sessions   int // for which athletes said how they went
	Contacts   int
	Attention  []Attention // who needs a look, by name; for staff alone
}

// Verdicts count what became of a rate.
type Verdicts struct{ Faster, Slower, WithinError, TooFew int }

// A GroupWeek is one week of everybody's attendance.
type GroupWeek struct {
	Start       time.Time
	Here, Noted int
}

// Share returns the part of the noted attendances that were, 0–1.
func (w GroupWeek) Share() float64 {
	if w.Noted == 0 {
		return 0
	}
	return float64(w.Here) / float64(w.Noted)
}

// A StageCount is how many athletes stood on a stage at both ends of the term.
type StageCount struct {
	Rung
	AtStart, AtEnd int
}

// A Summing adds up a group athlete by athlete, so that a gym of any size needs
// no more memory than its numbers.
type Summing struct {
	ground Ground
	group  Group
	values map[string][]float64
	stages map[string]*StageCount
}

// Sum begins a group.
func (g Ground) Sum() *Summing {
	s := &Summing{ground: g, values: map[string][]float64{}, stages: map[string]*StageCount{}}
	s.group.Weeks = make([]GroupWeek, g.Weeks())
	for i := range s.group.Weeks {
		s.group.Weeks[i].Start = g.WeekStart(i + 1)
	}
	return s
}

// Add takes one more athlete in.
func (s *Summing) Add(a Athlete) {
	g := &s.group
	g.Athletes++
	if len(a.Rates.Tests) > 0 {
		g.Tested++
	}
	s.ends("whole", a.Rates.Whole)
	s.ends("turning", a.Rates.Turning)
	s.ends("burst", a.Rates.Burst)
	if a.Rates.PerMinute.KnownStart {
		s.value("catches start", a.Rates.PerMinute.Start)
	}
	if a.Rates.PerMinute.KnownEnd {
		s.value("catches end", a.Rates.PerMinute.End)
	}
	if a.Rates.Whole.Judged() {
		s.value("gain", a.Rates.Whole.Gain())
	}
	g.Real.count(a.Rates.Whole)
	if a.Runs.Best.Reps > 0 {
		s.value("run", float64(a.Runs.Best.Reps))
	}
	s.attendance(a.Attendance)
	s.stage(a.Climb.Start, func(c *StageCount) { c.AtStart++ })
	s.stage(a.Climb.End, func(c *StageCount) { c.AtEnd++ })
	ups := a.Climb.Ups()
	g.Moves += ups
	if ups > 0 {
		g.Movers++
	}
	g.Sessions += a.Load.Sessions
	g.Contacts += a.Load.Contacts
	if reasons := s.ground.reasons(a); len(reasons) > 0 {
		g.Attention = append(g.Attention, Attention{Athlete: a.Athlete, Reasons: reasons})
	}
}

func (v *Verdicts) count(m Movement) {
	switch {
	case !m.Judged():
		v.TooFew++
	case m.Change.Verdict == progress.WithinError:
		v.WithinError++
	case m.Change.Difference > 0:
		v.Faster++
	default:
		v.Slower++
	}
}

func (s *Summing) value(name string, v float64) { s.values[name] = append(s.values[name], v) }

func (s *Summing) ends(name string, m Movement) {
	if m.Start.Known() {
		s.value(name+" start", m.Start.RPM)
	}
	if m.End.Known() {
		s.value(name+" end", m.End.RPM)
	}
}

func (s *Summing) attendance(a Attendance) {
	g := &s.group
	g.Here += a.Here
	g.Noted += a.Noted
	if a.Noted > 0 {
		s.value("attendance", a.Share())
	}
	for _, p := range a.Meetings {
		week := s.ground.Week(p.Day) - 1
		if !p.Noted || week < 0 || week >= len(g.Weeks) {
			continue
		}
		g.Weeks[week].Noted++
		if p.Here {
			g.Weeks[week].Here++
		}
	}
}

func (s *Summing) stage(r Rung, count func(*StageCount)) {
	if !r.Known() {
		return
	}
	if s.stages[r.Key] == nil {
		s.stages[r.Key] = &StageCount{Rung: r}
	}
	count(s.stages[r.Key])
}

// Group returns what was added up.
func (s *Summing) Group() Group {
	g := s.group
	both := func(name string) SpreadEnds {
		return SpreadEnds{Start: spreadOf(s.values[name+" start"]), End: spreadOf(s.values[name+" end"])}
	}
	g.Whole, g.Turning, g.Burst, g.PerMinute = both("whole"), both("turning"), both("burst"), both("catches")
	g.Gain, g.BestRun, g.Attendance = spreadOf(s.values["gain"]), spreadOf(s.values["run"]), spreadOf(s.values["attendance"])
	for _, count := range s.stages {
		g.Stages = append(g.Stages, *count)
	}
	slices.SortStableFunc(g.Attention, func(a, b Attention) int { return cmp.Compare(a.Reasons[0].rank(), b.Reasons[0].rank()) })
	slices.SortFunc(g.Stages, func(a, b StageCount) int {
		return cmp.Or(cmp.Compare(a.Number, b.Number), cmp.Compare(a.Key, b.Key))
	})
	return g
}
