package coaching

import (
	"errors"
	"time"

	"ropewalk.example/internal/capacity"
	"ropewalk.example/internal/finding"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/progress"
)

// Occasion is the meeting that plans are made for.
type Occasion struct {
	Day         time.Time
	Minutes     int // of the whole meeting
	Tests       []planner.Test
	AdultAge    int  // years; younger athletes have an adult present
	Attended    bool // an adult in charge is present
	LighterWeek bool
	Rules       Rules
}

// A Note says something about a plan's evidence that the plan itself does not.
type Note string

// The notes.
const (
	NoteOtherStep  Note = "burst_other_step" // burst and base were tested on another step or rope
	NoteAllOutLeft Note = "all_out_left_out" // the all-out tests carry no line and were left out
	NoteBurstGuess Note = "burst_hazard"     // too few bursts counted: they are taken to be caught as at base
	NoteOddLeft    Note = "odd_left_out"     // results that need a look were left out
	NoteNoStage    Note = "no_stage"         // nobody has put the athlete on a stage
)

// Missing reports that an athlete cannot be planned before a test is done.
type Missing struct{ Test planner.Test }

func (m *Missing) Error() string { return "a test is missing: " + string(m.Test) }

// InputOf gathers what the planner needs for one athlete, without the minutes.
// It returns a [*Missing] where there is no base rate.
func InputOf(f Facts, o Occasion) (planner.Input, []Note, error) {
	care := CareOf(f.Record.Debriefs, f.Holds)
	rules := o.Rules.Plans
	in := planner.Input{Caution: planner.Caution{Hold: care.State == progress.Held}, Rules: &rules}
	levels := level.Of(f.Record.Results, o.Day)
	base := levels.Planning()
	if !base.Known() && !in.Caution.Hold {
		return planner.Input{}, nil, &Missing{Test: planner.TestBase}
	}
	in.BaseRPM = base.RPM
	var notes []Note
	if levels.Burst.Known() && !levels.BurstAlike {
		notes = append(notes, NoteOtherStep)
	}
	if levels.Burst.Known() && (levels.BurstAlike || levels.Burst.RPM > base.RPM) { // a slower one of another step says nothing
		in.BurstRPM = new(levels.Burst.RPM)
	}
	if len(levels.Odd) > 0 {
		notes = append(notes, NoteOddLeft)
	}
	if f.Stage == nil {
		notes = append(notes, NoteNoStage)
	} else {
		in.Stage = &planner.Stage{Number: f.Stage.Number, Bursts: f.Stage.Allows.Bursts, Doubles: f.Stage.Allows.Doubles}
	}
	notes = append(notes, addCapacity(&in, f, levels, o.Day)...)
	notes = append(notes, addCatches(&in, f, levels, o.Day)...)
	if doubles := finding.DoublesOf(f.Record.Results, levels, o.Rules.SweepSeconds, o.Day); doubles.Known && doubles.Inside {
		in.Double = &planner.Double{RopeRPM: doubles.RopeRPM}
	}
	addHistory(&in, f, o.Day)
	addCaution(&in, f, o, care)
	return in, notes, nil
}

// addCapacity tells the planner of the all-out tests, and of the recovery once
// its interval is narrow enough to replace the assumed one.
func addCapacity(in *planner.Input, f Facts, levels level.Levels, day time.Time) []Note {
	lasting := finding.LastingOf(f.Record.Results, levels, day)
	if lasting.Recovery.Known && lasting.Recovery.Fitted.Settled() {
		m := lasting.Model
		in.Capacity = &planner.Capacity{SustainableRPM: m.SustainableRPM, Reserve: m.Reserve, TauSeconds: &m.TauSeconds, Assumed: m.Assumed}
		return nil
	}
	if lasting.Known {
		for _, t := range lasting.Tests {
			in.AllOut = append(in.AllOut, planner.AllOut{Seconds: t.Seconds, Rotations: t.Rotations})
		}
		return nil
	}
	if lasting.Refused != nil && lasting.Refused.Reason != capacity.TooFew {
		return []Note{NoteAllOutLeft}
	}
	return nil
}

func addCatches(in *planner.Input, f Facts, levels level.Levels, day time.Time) []Note {
	hazard, guessed := finding.CatchesOf(f.Record, levels.Base, day).ForPlans()
	in.Hazard = hazard
	if guessed && (in.Stage == nil || in.Stage.Bursts) {
		return []Note{NoteBurstGuess}
	}
	return nil
}

// addHistory tells the planner what became of the plans before day, oldest
// first, and where the last one stood.
func addHistory(in *planner.Input, f Facts, day time.Time) {
	for i := len(f.Record.Plans) - 1; i >= 0; i-- {
		past := f.Record.Plans[i]
		if !past.Day.Before(day) || past.Plan.Kind != planner.KindSplit {
			continue
		}
		in.Phase = past.Plan.Setting.Phase
		if bursts, clean, ok := burstsOf(f.Record, past); ok {
			in.History = append(in.History, planner.Outcome{StepRPM: past.Plan.Setting.StepRPM, Split: past.Plan.Setting.Split,
				Bursts: bursts, CleanBursts: min(clean, bursts), Eased: past.Plan.Eased})
		}
	}
}

// burstsOf returns how a plan's bursts went: set by set where they were logged,
// else as the session was told of.
func burstsOf(r finding.Record, past finding.Plan) (bursts, clean int, ok bool) {
	for _, log := range r.Logs {
		if log.PlanID == past.ID {
			bursts, clean = bursts+log.Bursts, clean+log.CleanBursts
		}
	}
	if bursts > 0 {
		return bursts, clean, true
	}
	for _, d := range r.Debriefs {
		if d.PlanID == past.ID && d.Bursts != nil && d.CleanBursts != nil && *d.Bursts > 0 {
			return *d.Bursts, *d.CleanBursts, true
		}
	}
	return 0, 0, false
}

// betweenMeetings is the usual time between two meetings of a class, in days.
// Who comes every week is not away: absence counts from the first meeting
// missed (our reading of "after two weeks away", no source).
const betweenMeetings = 7

// LeftOf returns the jumps that the ceilings leave on the day, as the planner
// takes them; the rest of the input is empty.
func LeftOf(f Facts, o Occasion) planner.Input {
	var in planner.Input
	addCaution(&in, f, o, progress.Care{})
	return in
}

// addCaution bounds the plan by pain, breaks, supervision and load. The planner
// takes off for breaks and pain itself; here are the ceilings.
func addCaution(in *planner.Input, f Facts, o Occasion, care progress.Care) {
	in.Caution.Released = care.State == progress.Restarting
	in.Caution.LighterWeek = o.LighterWeek
	minor := f.Athlete.Under(o.AdultAge, o.Day.Year())
	in.Caution.UnattendedMinor = minor && !o.Attended
	if last := lastActive(f, o.Day); !last.IsZero() {
		in.Caution.DaysAway = max(0, days(last, o.Day)-betweenMeetings)
	}
	jumps := finding.JumpsByDay(f.Record)
	low := func(j progress.Jumps) int { return j.Contacts() }
	if c, ok := progress.CeilingFor(o.Rules.Ceilings, progress.LowBounce, minor, trainingDays(f, o.Day)); ok {
		done := doneOf(jumps, low, o.Day)
		session, week := c.Plan-done.Today, c.Week-done.SixDays-done.Today
		if done.HoursSince >= 0 && done.HoursSince < c.HoursBetween {
			session = 0
		}
		in.ContactsLeft, in.WeekContactsLeft = new(max(0, session)), new(max(0, week))
	}
	high := func(j progress.Jumps) int { return j.Doubles + j.Higher }
	if c, ok := progress.CeilingFor(o.Rules.Ceilings, progress.DoubleUnder, minor, daysSince(jumps, high, o.Day)); ok {
		in.DoublesLeft = new(c.Left(doneOf(jumps, high, o.Day)))
	}
}

// lastActive returns the last day before day on which the athlete jumped here.
func lastActive(f Facts, day time.Time) time.Time {
	var last time.Time
	later := func(d time.Time) {
		if d.Before(day) && d.After(last) {
			last = d
		}
	}
	for _, r := range f.Record.Results {
		later(r.Day)
	}
	for _, d := range f.Record.Debriefs {
		later(d.Day)
	}
	return last
}

// trainingDays returns how long the athlete has been jumping here, in days.
func trainingDays(f Facts, day time.Time) int {
	first := f.Athlete.StartedOn
	for _, r := range f.Record.Results {
		if first.IsZero() || r.Day.Before(first) {
			first = r.Day
		}
	}
	if first.IsZero() || first.After(day) {
		return 0
	}
	return days(first, day)
}

// daysSince returns the days from the first day with jumps of a kind up to day,
// 0 without any.
func daysSince(jumps map[time.Time]progress.Jumps, kind func(progress.Jumps) int, day time.Time) int {
	most := 0
	for on, j := range jumps {
		if kind(j) > 0 {
			most = max(most, days(on, day))
		}
	}
	return most
}

// doneOf adds up the contacts of a kind on the day and in the six days before.
// Only days are known, so hours count from day to day.
func doneOf(jumps map[time.Time]progress.Jumps, kind func(progress.Jumps) int, day time.Time) progress.Done {
	done := progress.Done{HoursSince: -1}
	for on, j := range jumps {
		n, ago := kind(j), days(on, day)
		switch {
		case n == 0 || ago < 0:
		case ago == 0:
			done.Today += n
		default:
			if ago <= 6 {
				done.SixDays += n
			}
			if done.HoursSince < 0 || 24*ago < done.HoursSince {
				done.HoursSince = 24 * ago
			}
		}
	}
	return done
}

// missingTest returns the test that an error of the planner asks for, if any.
func missingTest(err error) (planner.Test, bool) {
	if missing, ok := errors.AsType[*Missing](err); ok {
		return missing.Test, true
	}
	if evidence, ok := errors.AsType[*planner.EvidenceError](err); ok && evidence.Test != "" {
		return evidence.Test, true
	}
	if input, ok := errors.AsType[*planner.InputError](err); ok && input.Test != "" {
		return input.Test, true
	}
	return "", false
}
