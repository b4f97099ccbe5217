package review

import (
	"slices"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/progress"
)

// A Reason says why somebody needs a look.
type Reason string

// The reasons, what comes first to do first.
const (
	NoTest    Reason = "no test"    // no base test that planning could rest on
	AwayInRow Reason = "away"       // missed the last meetings in a row
	Seldom    Reason = "seldom"     // came to few of the meetings
	OddLeft   Reason = "odd"        // a result still needs a look
	NoStage   Reason = "no stage"   // nobody has decided where the athlete stands
	GateMet   Reason = "gate met"   // may move up; somebody is to decide
	SameStage Reason = "same stage" // long on one stage
	Slower    Reason = "slower"     // a real change downwards
)

// When an athlete comes to attention. Assumed, as starting points.
const (
	freshDays   = 42    // how long a base test counts for planning, as in package rate
	rowAway     = 2     // meetings missed in a row
	seldomShare = 0.6   // of the noted meetings
	seldomNoted = 4     // meetings before anybody is called seldom
	longDays    = 7 * 8 // on one stage
)

// rank orders reasons by what is to be done first.
func (r Reason) rank() int {
	return slices.Index([]Reason{NoTest, AwayInRow, Seldom, OddLeft, NoStage, GateMet, SameStage, Slower}, r)
}

// An Attention is one athlete with why, for staff.
type Attention struct {
	Athlete gym.Athlete
	Reasons []Reason
}

// reasons lists why staff should look at an athlete.
func (g Ground) reasons(a Athlete) []Reason {
	var found []Reason
	add := func(r Reason, holds bool) {
		if holds {
			found = append(found, r)
		}
	}
	tests := a.Rates.Tests
	add(NoTest, len(tests) == 0 || days(tests[len(tests)-1].Day, g.AsOf) >= freshDays)
	add(AwayInRow, a.Attendance.Row >= rowAway)
	add(Seldom, a.Attendance.Noted >= seldomNoted && a.Attendance.Share() < seldomShare)
	add(OddLeft, a.LeftOut > 0)
	add(NoStage, !a.Climb.End.Known())
	add(GateMet, a.Aim.Met && a.Aim.Next.Known())
	add(SameStage, a.Climb.End.Known() && days(a.Climb.Since, g.AsOf) >= longDays && !a.Aim.Met)
	add(Slower, a.Rates.Whole.Change.Verdict == progress.RealChange && a.Rates.Whole.Change.Difference < 0)
	return found
}
