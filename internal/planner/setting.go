package planner

import "ropewalk.example/internal/rhythm"

// aiming decides what a plan aims at: the phase, the step from base to burst
// and the split, from what happened or from the coach's choice.
type aiming struct {
	in    *Input
	rules *Rules
	why   *why
	past  []Outcome // sessions with bursts in them, oldest first
	at    Setting
}

// aim returns the setting of the next plan. At most one of step and split moves
// from one session to the next; what the coach has chosen stays.
func (in *Input) aim(rules *Rules, w *why) Setting {
	a := aiming{in: in, rules: rules, why: w, past: in.pastBursts()}
	a.start()
	stepMoved, splitMoved := a.react()
	if !stepMoved {
		a.noteStep()
	}
	if !splitMoved {
		a.noteSplit()
	}
	if a.at.Split.Double && !in.doublesPermitted() {
		a.at.Split = withoutDouble()
		steady, burst := a.at.Split.values()
		w.add(RuleNoDoubles, steady, burst)
	}
	return a.at
}

// start sets what the last session was jumped at, or the coach's choice, or
// the beginning.
func (a *aiming) start() {
	a.at = Setting{Phase: Building, Split: firstSplit()}
	if a.in.Phase == Established || establishedBefore(a.past) {
		a.at.Phase = Established
	}
	a.at.StepRPM = a.firstStep()
	if n := len(a.past); n > 0 {
		a.at.Split = SplitLadder()[a.past[n-1].Split.rung()]
		if a.in.BurstRPM != nil {
			a.at.StepRPM = a.lastStep()
		}
	}
	if a.in.StepRPM != nil {
		a.at.StepRPM = *a.in.StepRPM
	}
	if a.in.Split != nil {
		a.at.Split = *a.in.Split
	}
}

// lastStep returns the last session's step, in rpm, within the phase. While
// building, a step below the first one stays: it was the first when the base
// was slower, and a base that grows moves the target by itself.
func (a *aiming) lastStep() float64 {
	step := min(a.past[len(a.past)-1].StepRPM, a.phase().MostStepRPM)
	if a.at.Phase == Established {
		return max(step, a.firstStep())
	}
	return step
}

func (a *aiming) phase() *PhaseRules { return a.rules.of(a.at.Phase) }

// firstStep returns the step an athlete starts the phase with, in rpm: while
// building, a share of the base where the base is slow.
func (a *aiming) firstStep() float64 {
	first := a.phase().FirstStepRPM
	if a.at.Phase == Building && a.in.BaseRPM < slowBaseRPM {
		return min(first, slowStepShare*a.in.BaseRPM)
	}
	return first
}

// stepFixed reports whether the step does not move with what happened: by the
// coach's choice, or as no burst test says what is in reach.
func (a *aiming) stepFixed() bool { return a.in.StepRPM != nil || a.in.BurstRPM == nil }

func (a *aiming) noteStep() {
	step := Value{"step_rpm", a.at.StepRPM}
	switch {
	case a.in.StepRPM != nil:
		a.why.add(RuleStepCoach, step)
	case len(a.past) > 0 && a.in.BurstRPM != nil:
		a.why.add(RuleStepHeld, step)
	case a.at.StepRPM < a.phase().FirstStepRPM:
		a.why.add(RuleStepSlow, step, Value{"share", slowStepShare}, Value{"base_rpm", a.in.BaseRPM})
	default:
		a.why.add(RuleStepFirst, step)
	}
}

func (a *aiming) noteSplit() {
	rule := RuleSplitFirst
	switch {
	case a.in.Split != nil:
		rule = RuleSplitCoach
	case len(a.past) > 0:
		rule = RuleSplitHeld
	}
	steady, burst := a.at.Split.values()
	a.why.add(rule, steady, burst)
}

// pastBursts returns the outcomes with bursts in them: only these say how clean
// bursts are.
func (in *Input) pastBursts() []Outcome {
	past := in.History
	for i, o := range in.History {
		if o.Bursts > 0 && o.Split.Burst > 0 {
			continue
		}
		past = append([]Outcome(nil), in.History[:i]...)
		for _, o := range in.History[i:] {
			if o.Bursts > 0 && o.Split.Burst > 0 {
				past = append(past, o)
			}
		}
		break
	}
	return past
}

// doublesPermitted reports whether a split with a double under may be
// prescribed: at a stage that permits it, when the rope turns fast enough for a
// low jump, with an adult near, and not on the first day after a hold or weeks
// away.
func (in *Input) doublesPermitted() bool {
	c := &in.Caution
	return in.Stage != nil && in.Stage.Doubles &&
		in.Double != nil && burstShare*in.Double.RopeRPM >= rhythm.SlowestRope(rhythm.Sweep) &&
		(in.DoublesLeft == nil || *in.DoublesLeft > 0) &&
		!c.UnattendedMinor && !c.Released && c.DaysAway < longAwayDays
}

// mostTarget returns the fastest burst that the measured one permits, in rpm.
func (in *Input) mostTarget() float64 {
	if in.BurstRPM == nil {
		return highestRPM
	}
	return burstShare * *in.BurstRPM
}
