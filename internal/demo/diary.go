package demo

import (
	"fmt"
	"math"
	"slices"
	"time"
)

// A diary is one athlete's term, ready to be written down as records. Each
// method draws from its own layer for every week, met or missed, so that a
// story about one week leaves the others alone.
type diary struct {
	athlete Athlete
	class   Class
	place   int // in the line of the class, from 0
	zone    *time.Location
	weeks   []week
}

// Ladder stages from which a thing is done (the ladder that ships).
const (
	paceStage   = 6  // changes of pace: needs a base and a burst of one step
	doubleStage = 10 // double unders
)

// burstWeeks are the weeks with a burst test.
func burstWeeks() []int { return []int{3, 7, 11} }

// write adds all the records of d to g.
func (g *Gym) write(d diary) {
	g.Attendance = append(g.Attendance, d.attendance()...)
	tests := slices.Concat(d.bounceTests(), d.bursts(), d.minutes(), d.storyTests())
	g.Tests = append(g.Tests, tests...)
	g.Taps = append(g.Taps, d.taps(tests)...)
	g.Doubles = append(g.Doubles, d.doubles()...)
	g.Feedback = append(g.Feedback, d.feedback()...)
	g.Feedback = append(g.Feedback, d.storyFeedback()...)
	g.Unsent = append(g.Unsent, d.unsent()...)
}

// at returns the instant some time into the session of week number.
func (d diary) at(number int, into time.Duration) time.Time {
	return d.class.meets(number, d.zone).Add(into)
}

// turn returns how long the athlete waits when each one before takes every.
func (d diary) turn(every time.Duration) time.Duration { return time.Duration(d.place) * every }

func (d diary) attendance() []Attendance {
	var all []Attendance
	for _, w := range d.weeks {
		if w.number < d.athlete.JoinedWeek {
			continue
		}
		all = append(all, Attendance{Athlete: d.athlete.ID, Class: d.class.Code, Week: w.number,
			StartsAt: d.at(w.number, 0), Present: w.present})
	}
	return all
}

// test returns a test of the athlete in the session of week number, with what
// all of them share.
func (d diary) test(name string, number int, into time.Duration) Test {
	return Test{
		Key:       fmt.Sprintf("%s-%02d-w%02d", name, d.athlete.ID, number),
		Athlete:   d.athlete.ID,
		Week:      number,
		Kind:      Base,
		Step:      Bounce,
		TakenAt:   d.at(number, into),
		Rope:      d.athlete.Rope,
		CountedBy: ByPartner,
		Device:    "hall-tablet",
		InSession: true,
	}
}

// bounceTests are the regular 30 s tests that partners count for each other.
func (d diary) bounceTests() []Test {
	var all []Test
	for _, w := range d.weeks {
		if !w.tested() {
			continue
		}
		t := d.test("bounce30", w.number, 12*time.Minute+d.turn(45*time.Second))
		t.Seconds, t.Rotations = bounceSeconds, w.count
		t.lose(w.lost, w.turning)
		all = append(all, t)
	}
	return all
}

// lose notes the catches of t, whose rope turned for turning seconds.
func (t *Test) lose(lost []float64, turning float64) {
	t.Catches = len(lost)
	t.LostSeconds = tenths(t.Seconds - turning)
	for _, l := range lost {
		t.LongestRestart = max(t.LongestRestart, tenths(l))
	}
}

// tenths rounds seconds as a stopwatch shows them.
func tenths(seconds float64) float64 { return math.Round(seconds*10) / 10 }

// bursts are the 10 s tests in the alternate step (layer 1): nobody goes all
// out before changes of pace.
func (d diary) bursts() []Test {
	s := layer(1, d.athlete.ID)
	var all []Test
	for _, w := range d.weeks {
		if !slices.Contains(burstWeeks(), w.number) {
			continue
		}
		above := s.within(1.20, 0.05, 1.08, 1.35)
		if !w.tested() || d.athlete.StartStage < paceStage {
			continue
		}
		t := d.test("burst10", w.number, 32*time.Minute+d.turn(30*time.Second))
		t.Kind, t.Step, t.CountedBy = Burst, Alternate, ByCoach
		t.Seconds, t.Rotations = 10, rotations(w.rate*above, 10)
		all = append(all, t)
	}
	return all
}

// minutes are the 60 s base tests in the alternate step (layer 5): only like is
// compared with like, so a burst needs a base in its own step. The steadier
// rate catches half as often, which the double length makes up for.
func (d diary) minutes() []Test {
	s := layer(5, d.athlete.ID)
	var all []Test
	for _, w := range d.weeks {
		if !slices.Contains(burstWeeks(), w.number) {
			continue
		}
		against := s.within(1.02, 0.03, 0.94, 1.10) // the bounce step
		lost := s.losses(w.expected, 1.8)
		if !w.tested() || d.athlete.StartStage < paceStage {
			continue
		}
		t := d.test("alternate60", w.number, 22*time.Minute+d.turn(45*time.Second))
		t.Step, t.Seconds = Alternate, 60
		turned := turning(t.Seconds, lost)
		t.Rotations = rotations(w.rate*against, turned)
		t.lose(lost, turned)
		all = append(all, t)
	}
	return all
}
