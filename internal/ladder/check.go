package ladder

import (
	"cmp"
	"slices"
	"strings"
)

// A Check is something that a coach looks at in a stage.
type Check struct {
	Point Point  `json:"point"`
	Text  string `json:"text"` // what it looks like when it is right here
}

// A Point is a part of how somebody jumps.
type Point string

// The points that a coach judges (common practice, no source).
const (
	Posture   Point = "posture"
	Landing   Point = "landing"
	Hands     Point = "hands"
	Breathing Point = "breathing"
	Eyes      Point = "eyes"
)

// Points lists the points in the order in which a coach goes through them.
func Points() []Point { return []Point{Posture, Landing, Hands, Breathing, Eyes} }

// A Look is where a check stands.
type Look string

// The looks.
const (
	NotLooked   Look = "not_looked"
	LooksGood   Look = "good"
	LooksNotYet Look = "not_yet"
)

// A CheckState is a check with the coach's newest judgement of it.
type CheckState struct {
	Check Check
	Look  Look
	ID    string // of that judgement, to take it back by
	Day   Day
}

// CheckStates returns where each check of s stands, in s's order: the newest
// judgement of the point at this stage counts, and one taken back counts no more.
// Judgements are [Evidence] of protocol [Judged] with Stage the stage's key and
// Task the point.
func (s Stage) CheckStates(evidence []Evidence) []CheckState {
	gone := replaced(evidence)
	states := make([]CheckState, len(s.Checks))
	for i, check := range s.Checks {
		states[i] = CheckState{Check: check, Look: NotLooked}
		judged := func(e Evidence) bool {
			return e.Protocol == Judged && e.Stage == s.Key && e.Task == string(check.Point) && !gone[e.ID]
		}
		newest, ok := latest(evidence, judged)
		if !ok {
			continue
		}
		states[i].Look, states[i].ID, states[i].Day = LooksNotYet, newest.ID, newest.Day
		if newest.Good {
			states[i].Look = LooksGood
		}
	}
	return states
}

// latest returns the newest of the evidence that is wanted, and whether there is
// one.
func latest(evidence []Evidence, wanted func(Evidence) bool) (newest Evidence, ok bool) {
	for _, e := range evidence {
		if wanted(e) && (!ok || later(e, newest) > 0) {
			newest, ok = e, true
		}
	}
	return newest, ok
}

// later orders by day, then time, then id.
func later(a, b Evidence) int {
	return cmp.Or(cmp.Compare(a.Day, b.Day), a.At.Compare(b.At), strings.Compare(a.ID, b.ID))
}

// A CheckCount says of how many athletes of a class a check is good, not yet, and
// not looked at.
type CheckCount struct {
	Point                   Point
	Good, NotYet, NotLooked int
}

// CountChecks counts the states of many athletes by point, in the order of
// [Points]; a point that nobody has is left out.
func CountChecks(athletes [][]CheckState) []CheckCount {
	var counts []CheckCount
	for _, p := range Points() {
		count := CheckCount{Point: p}
		for _, states := range athletes {
			for _, s := range states {
				switch {
				case s.Check.Point != p:
				case s.Look == LooksGood:
					count.Good++
				case s.Look == LooksNotYet:
					count.NotYet++
				default:
					count.NotLooked++
				}
			}
		}
		if count.Good+count.NotYet+count.NotLooked > 0 {
			counts = append(counts, count)
		}
	}
	return slices.Clip(counts)
}
