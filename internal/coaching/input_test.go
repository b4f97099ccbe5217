package coaching_test

import (
	"slices"
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/finding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/rate"
)

// day is the meeting that the tests of this file plan for.
var day = time.Date(2026, 11, 5, 0, 0, 0, 0, time.UTC)

func occasion() coaching.Occasion {
	return coaching.Occasion{Day: day, Minutes: 60, AdultAge: 16, Attended: true, Rules: coaching.StandardRules()}
}

// result is a count of a protocol so many days before the meeting.
func result(protocol string, ago, rotations int, seconds float64) gym.Result {
	on := day.AddDate(0, 0, -ago)
	r := gym.Result{ResultID: uuid.New(), Protocol: protocol, Day: on, TakenAt: on.Add(18 * time.Hour), Rotations: &rotations, Step: "bounce", RopeKind: "beaded", Timing: "hand"}
	if seconds > 0 {
		r.Seconds = &seconds
	}
	return r
}

func facts(results ...gym.Result) coaching.Facts {
	return coaching.Facts{Athlete: gym.Athlete{AthleteID: uuid.New(), BirthYear: 1990, StartedOn: day.AddDate(0, 0, -200)},
		Stage: &ladder.Stage{Number: 7, Key: "long-clean-run", Allows: ladder.Allows{Bursts: true}}, Record: finding.Record{Results: results}}
}

func inputOf(t *testing.T, f coaching.Facts) (planner.Input, []coaching.Note) {
	t.Helper()
	in, notes, err := coaching.InputOf(f, occasion())
	if err != nil {
		t.Fatal(err)
	}
	return in, notes
}

func TestInputWithoutATest(t *testing.T) {
	_, _, err := coaching.InputOf(facts(), occasion())
	if missing, ok := err.(*coaching.Missing); !ok || missing.Test != planner.TestBase {
		t.Errorf("got %v, want the base test to do", err)
	}
}

func TestInputTakesCatchesIn(t *testing.T) {
	base := result(rate.Base, 7, 98, 60)
	base.Catches = 2
	in, notes := inputOf(t, facts(base))
	if in.Hazard == nil || in.Hazard.Steady != 0.02 || in.Hazard.Burst != 0.02 || !slices.Contains(notes, coaching.NoteBurstGuess) {
		t.Errorf("hazard %+v, notes %v; want 2 in 100 and the guess said", in.Hazard, notes)
	}
	burst := result(rate.Burst, 7, 27, 10)
	burst.Catches = 3
	in, notes = inputOf(t, facts(base, burst))
	if in.Hazard.Burst != 0.1 || slices.Contains(notes, coaching.NoteBurstGuess) {
		t.Errorf("hazard %+v, notes %v; want 3 in 30 in bursts", in.Hazard, notes)
	}
}

func TestInputTakesEffortIn(t *testing.T) {
	base := result(rate.Base, 7, 120, 60)
	short, long := result(rate.AllOut, 7, 80, 30), result(rate.AllOut, 7, 380, 180)
	in, _ := inputOf(t, facts(base, short, long))
	if len(in.AllOut) != 2 || in.Capacity != nil {
		t.Errorf("all-out tests %v, capacity %v", in.AllOut, in.Capacity)
	}
	slow := result(rate.AllOut, 7, 60, 30)
	in, notes := inputOf(t, facts(base, slow, result(rate.AllOut, 6, 480, 180)))
	if in.AllOut != nil || !slices.Contains(notes, coaching.NoteAllOutLeft) {
		t.Errorf("tests that disagree are planned by: %v, notes %v", in.AllOut, notes)
	}
	repeat := result(rate.RepeatBurst, 5, 0, 10)
	rest := 30.0
	repeat.Rotations, repeat.RestSeconds = nil, &rest
	repeat.Bouts = []int32{34, 29, 28, 27, 27, 27, 27, 27, 27, 27}
	in, _ = inputOf(t, facts(base, short, long, repeat))
	lasting := finding.LastingOf([]gym.Result{base, short, long, repeat}, levelsOf(base, short, long), day)
	if settled := lasting.Recovery.Known && lasting.Recovery.Fitted.Settled(); settled != (in.Capacity != nil) {
		t.Errorf("recovery settled %v, taken in %v", settled, in.Capacity != nil)
	}
	if in.Capacity != nil && *in.Capacity.TauSeconds != lasting.Recovery.Fitted.TauSeconds {
		t.Errorf("τ %.1f s, measured %.1f", *in.Capacity.TauSeconds, lasting.Recovery.Fitted.TauSeconds)
	}
}

func TestInputTakesDoublesIn(t *testing.T) {
	base, inside := result(rate.Base, 7, 120, 60), result(rate.InDouble, 5, 36, 10)
	inside.Step = "double"
	in, _ := inputOf(t, facts(base, inside))
	if in.Double == nil || in.Double.RopeRPM != 216 {
		t.Errorf("double %+v, want 216 rpm", in.Double)
	}
	if in, _ := inputOf(t, facts(base, result(rate.Burst, 5, 36, 10))); in.Double != nil {
		t.Errorf("a burst alone permits doubles: %+v", in.Double)
	}
}

func TestInputKeepsCeilings(t *testing.T) {
	base := result(rate.Base, 3, 120, 60)
	rows := result(rate.DoublesRun, 1, 19, 0) // 19 and the miss, yesterday
	f := facts(base, rows)
	f.Record.Debriefs = []gym.Debrief{{Day: day.AddDate(0, 0, -3), Contacts: new(900)}, {Day: day, Contacts: new(300)}}
	in, _ := inputOf(t, f)
	// A grown-up after four weeks: 1000 a session, 3000 in seven days, 300 done
	// today, 900, 120 and 20 in the days before.
	if *in.ContactsLeft != 700 || *in.WeekContactsLeft != 3000-300-1040 {
		t.Errorf("left today %d, this week %d", *in.ContactsLeft, *in.WeekContactsLeft)
	}
	if *in.DoublesLeft != 0 {
		t.Errorf("%d doubles left a day after the last, want 48 hours between", *in.DoublesLeft)
	}
	child := f
	child.Athlete.BirthYear = 2014
	if in, _ := inputOf(t, child); *in.ContactsLeft != 500 {
		t.Errorf("a child has %d jumps left, want 800 less 300", *in.ContactsLeft)
	}
}

func TestInputHearsSetLogsBeforeSessions(t *testing.T) {
	id := uuid.New()
	f := facts(result(rate.Base, 7, 120, 60), result(rate.Burst, 7, 30, 10))
	past := planner.Plan{Kind: planner.KindSplit, Split: planner.Split{Steady: 20, Burst: 10}, Cycles: 2, Sets: 3, Contacts: 180,
		Setting: planner.Setting{Phase: planner.Building, StepRPM: 25, Split: planner.Split{Steady: 20, Burst: 10}}}
	f.Record.Plans = []finding.Plan{{ID: id, Day: day.AddDate(0, 0, -7), Plan: past}}
	f.Record.Debriefs = []gym.Debrief{{PlanID: id, Day: day.AddDate(0, 0, -7), Bursts: new(6), CleanBursts: new(6)}}
	in, _ := inputOf(t, f)
	want := planner.Outcome{StepRPM: 25, Split: past.Split, Bursts: 6, CleanBursts: 6}
	if len(in.History) != 1 || in.History[0] != want {
		t.Errorf("history %+v, want %+v", in.History, want)
	}
	f.Record.Logs = []gym.SetLog{{PlanID: id, Bursts: 2, CleanBursts: 1, DoneAt: day.AddDate(0, 0, -7)}, {PlanID: id, Bursts: 2, CleanBursts: 2, DoneAt: day.AddDate(0, 0, -7)}}
	in, _ = inputOf(t, f)
	if want.Bursts, want.CleanBursts = 4, 3; in.History[0] != want {
		t.Errorf("history %+v, want %+v", in.History, want)
	}
}

func TestInputNotesWhatItRestsOn(t *testing.T) {
	odd := result(rate.Base, 1, 480, 60)
	odd.KeptOdd = true
	f := facts(odd, result(rate.Base, 7, 120, 60))
	f.Stage = nil
	in, notes := inputOf(t, f)
	if in.BaseRPM != 120 || !slices.Contains(notes, coaching.NoteOddLeft) || !slices.Contains(notes, coaching.NoteNoStage) {
		t.Errorf("base %.0f, notes %v", in.BaseRPM, notes)
	}
}

// A burst of another step is taken with a word, and left out where it is slower
// than the base: it then says nothing of this step.
func TestInputWithABurstOfAnotherStep(t *testing.T) {
	for rotations, taken := range map[int]bool{25: true, 18: false} {
		burst := result(rate.Burst, 7, rotations, 10)
		burst.Step = "alternate"
		in, notes := inputOf(t, facts(result(rate.Base, 7, 120, 60), burst))
		if (in.BurstRPM != nil) != taken || !slices.Contains(notes, coaching.NoteOtherStep) {
			t.Errorf("%d in 10 s: taken %v, notes %v", rotations, in.BurstRPM != nil, notes)
		}
	}
}

func TestHour(t *testing.T) {
	f := facts(result(rate.Base, 7, 120, 60), result(rate.Burst, 7, 30, 10))
	shipped, err := ladder.Shipped("en")
	if err != nil {
		t.Fatal(err)
	}
	stage, _ := shipped.Numbered().Stage("long-clean-run")
	f.Stage = &stage
	o := occasion()
	o.Tests = []planner.Test{planner.TestBase, planner.TestBurst}
	in, _ := inputOf(t, f)
	hour := coaching.HourOf(f, o, in)
	if hour.Drill == nil || hour.Drill.Contacts != 250 { // five sets of fifty
		t.Errorf("drill %+v", hour.Drill)
	}
	// The minute of the base test and a sixth of one at 180 rpm come off.
	if got := *in.ContactsLeft - *hour.Athlete.ContactsLeft; got != 150 {
		t.Errorf("the tests of the day take %d jumps, want 150", got)
	}
	composed, err := planner.Compose(hour)
	if err != nil {
		t.Fatal(err)
	}
	if jumps := composed.Plan.Contacts + hour.Drill.Contacts + 150; jumps > *in.ContactsLeft {
		t.Errorf("the hour has %d jumps, %d are left", jumps, *in.ContactsLeft)
	}
}
