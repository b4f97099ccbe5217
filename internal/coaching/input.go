package coaching

import (
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"ropewalk.example/internal/capacity"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/progress"
)

// Occasion is the session that a plan is made for.
type Occasion struct {
	Day         time.Time
	Minutes     float64 // for the sets, net of warm-up and technique
	AdultAge    int     // years; younger athletes have an adult present
	Attended    bool    // an adult in charge is present
	LighterWeek bool
	Stages      []gym.Stage // of the ladder in use
}

// A Note says something about a plan's evidence that the plan itself does not.
type Note string

// The notes.
const (
	NoteOtherStep  Note = "burst_other_step" // burst and base were tested on another step or rope
	NoteAllOutLeft Note = "all_out_left_out" // the all-out tests carry no line and were left out
)

// Missing reports that an athlete cannot be planned before a test is done.
type Missing struct{ Test planner.Test }

func (m *Missing) Error() string { return "a test is missing: " + string(m.Test) }

// InputOf gathers what the planner needs for one athlete. It returns a
// [*Missing] where there is no base rate.
func InputOf(f Facts, o Occasion) (planner.Input, []Note, error) {
	care := CareOf(f.Debriefs, f.Holds)
	in := planner.Input{Caution: planner.Caution{Hold: care.State == progress.Held}}
	levels := level.Of(f.Results, o.Day)
	base := levels.Planning()
	if !base.Known() && !in.Caution.Hold {
		return planner.Input{}, nil, &Missing{Test: planner.TestBase}
	}
	in.BaseRPM = base.RPM
	var notes []Note
	if levels.Burst.Known() {
		burst := levels.Burst.RPM
		in.BurstRPM = &burst
		if !levels.BurstAlike {
			notes = append(notes, NoteOtherStep)
		}
	}
	if len(levels.AllOut) > 1 {
		if _, err := capacity.Fit(levels.AllOut); err == nil {
			for _, t := range levels.AllOut {
				in.AllOut = append(in.AllOut, planner.AllOut{Seconds: t.Seconds, Rotations: t.Rotations})
			}
		} else {
			notes = append(notes, NoteAllOutLeft)
		}
	}
	in.Stage = stageOf(f.Place, o.Stages)
	in.Minutes = &o.Minutes
	if err := addHistory(&in, f, o.Day); err != nil {
		return planner.Input{}, nil, err
	}
	addCaution(&in, f, o, care)
	return in, notes, nil
}

// stageOf returns what the athlete's stage permits, nil where nobody has
// decided on a stage.
func stageOf(place *gym.StageDecision, stages []gym.Stage) *planner.Stage {
	if place == nil {
		return nil
	}
	for _, stage := range stages {
		if stage.Key != place.StageTo {
			continue
		}
		var body struct {
			Allows struct{ Bursts, Doubles bool } `json:"allows"`
		}
		if json.Unmarshal(stage.Body, &body) != nil {
			return nil
		}
		return &planner.Stage{Number: stage.Number, Bursts: body.Allows.Bursts, Doubles: body.Allows.Doubles}
	}
	return nil
}

// addHistory tells the planner what became of the plans before day, oldest
// first, and where the last one stood.
func addHistory(in *planner.Input, f Facts, day time.Time) error {
	for i := len(f.Plans) - 1; i >= 0; i-- {
		kept := f.Plans[i]
		if !kept.Day.Before(day) {
			continue
		}
		var past planner.Plan
		if err := json.Unmarshal(kept.Output, &past); err != nil {
			return fmt.Errorf("reading the plan of %s: %w", kept.Day.Format(time.DateOnly), err)
		}
		if past.Kind != planner.KindSplit {
			continue
		}
		in.Phase = past.Setting.Phase
		for _, d := range f.Debriefs {
			if d.PlanID == kept.PlanID && d.Bursts != nil && d.CleanBursts != nil && *d.Bursts > 0 {
				in.History = append(in.History, planner.Outcome{StepRPM: past.Setting.StepRPM, Split: past.Setting.Split,
					Bursts: *d.Bursts, CleanBursts: min(*d.CleanBursts, *d.Bursts), Eased: past.Eased})
				break
			}
		}
	}
	return nil
}

// betweenMeetings is the usual time between two meetings of a class, in days.
// Who comes every week is not away: absence counts from the first meeting
// missed (our reading of "after two weeks away", no source).
const betweenMeetings = 7

// addCaution bounds the plan by pain, breaks, supervision and load.
func addCaution(in *planner.Input, f Facts, o Occasion, care progress.Care) {
	in.Caution.Released = care.State == progress.Restarting
	in.Caution.LighterWeek = o.LighterWeek
	minor := f.Athlete.Under(o.AdultAge, o.Day.Year())
	in.Caution.UnattendedMinor = minor && !o.Attended
	if last := lastActive(f, o.Day); !last.IsZero() {
		in.Caution.DaysAway = max(0, days(last, o.Day)-betweenMeetings)
	}
	ceiling, ok := progress.CeilingFor(progress.DefaultCeilings(), progress.LowBounce, minor, trainingDays(f, o.Day))
	if !ok {
		return
	}
	// The planner takes off for breaks and pain itself; here is the ceiling.
	left := ceiling.Left(done(f.Debriefs, o.Day))
	in.ContactsLeft = &left
}

// lastActive returns the last day before day on which the athlete jumped here.
func lastActive(f Facts, day time.Time) time.Time {
	var last time.Time
	for _, r := range f.Results {
		if r.Day.Before(day) && r.Day.After(last) {
			last = r.Day
		}
	}
	for _, d := range f.Debriefs {
		if d.Day.Before(day) && d.Day.After(last) {
			last = d.Day
		}
	}
	return last
}

// trainingDays returns how long the athlete has been jumping here, in days.
func trainingDays(f Facts, day time.Time) int {
	first := f.Athlete.StartedOn
	for _, r := range f.Results {
		if first.IsZero() || r.Day.Before(first) {
			first = r.Day
		}
	}
	if first.IsZero() || first.After(day) {
		return 0
	}
	return days(first, day)
}

// done adds up the contacts of the day and of the six days before.
func done(debriefs []gym.Debrief, day time.Time) progress.Done {
	sum := progress.Done{HoursSince: -1}
	for _, d := range debriefs {
		if d.Contacts == nil {
			continue
		}
		switch ago := days(d.Day, day); {
		case ago == 0:
			sum.Today += *d.Contacts
		case ago > 0 && ago <= 6:
			sum.SixDays += *d.Contacts
		}
	}
	return sum
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
