package progress

import "math"

// A Person is what the rules of supervision look at.
type Person struct {
	Minor    bool // under the gym's age, or age unknown
	Attended bool // an adult in charge is present
	Stage    int  // of the ladder, from 1
}

// firstAllOutStage is the ladder stage before which no all-out test is given.
// Our caution, no source.
const firstAllOutStage = 6

func (p Person) alone() bool { return p.Minor && !p.Attended }

// Why names a rule that took something away. The pages word it.
type Why string

// The rules, hardest first.
const (
	PainHold    Why = "pain hold"    // no impact work
	PainRestart Why = "pain restart" // half the contacts; no doubles, all-out tests, gates or raises
	Unattended  Why = "unattended"   // a minor alone: no all-out, doubles or gates; may only shorten
	EarlyStage  Why = "early stage"  // no all-out tests yet
	LongAway    Why = "long away"    // smaller after a break
	NoCeiling   Why = "no ceiling"   // the gym has set none for this athlete, so nothing is planned
	CeilingMet  Why = "ceiling"      // nothing left of a ceiling, or too soon after the last session
)

// Circumstances are what bounds an athlete's session on one day.
type Circumstances struct {
	Person
	Care         Care
	Return       Return
	Low, Doubles Ceiling // from [CeilingFor]; the zero value leaves nothing
	LowDone      Done
	DoublesDone  Done
}

// An Allowance is the most a session may hold. Plans may hold less, never more.
type Allowance struct {
	Low         int  // contacts of low bounces
	Doubles     int  // double-under tries
	AllOut      bool // all-out tests
	GateAttempt bool
	Raise       bool // effort or length may be raised during the session; else only shortened
	NewTests    bool // earlier rates no longer count
	Why         []Why
}

// AllowanceFor gathers the rules on pain, breaks, supervision and load. When
// both pain and a break make a session smaller, the smaller of the two counts.
func AllowanceFor(c Circumstances) Allowance {
	share := min(c.Care.Share(), 1-c.Return.Less)
	well, alone := c.Care.State == Clear, c.alone()
	a := Allowance{
		Low:         portion(share, c.Low.Left(c.LowDone)),
		Doubles:     portion(share, c.Doubles.Left(c.DoublesDone)),
		AllOut:      well && !alone && c.Stage >= firstAllOutStage,
		GateAttempt: well && !alone,
		Raise:       well && !alone,
		NewTests:    c.Return.NewTests,
	}
	if !well || alone || c.Return.NoDoubles {
		a.Doubles = 0
	}
	a.Why = c.why()
	return a
}

func portion(share float64, contacts int) int { return int(math.Floor(share * float64(contacts))) }

// why lists the rules that took something away.
func (c Circumstances) why() []Why {
	var why []Why
	add := func(w Why, took bool) {
		if took {
			why = append(why, w)
		}
	}
	add(PainHold, c.Care.State == Held)
	add(PainRestart, c.Care.State == Restarting)
	add(Unattended, c.alone())
	add(EarlyStage, c.Stage < firstAllOutStage)
	add(LongAway, c.Return.Less > 0)
	add(NoCeiling, c.Low.Kind == "" || c.Doubles.Kind == "")
	add(CeilingMet, c.Low.Kind != "" && c.Low.Left(c.LowDone) == 0 ||
		c.Doubles.Kind != "" && c.Doubles.Left(c.DoublesDone) == 0)
	return why
}
