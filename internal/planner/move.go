package planner

// react moves the setting by what happened. Two clean sessions running at one
// setting move one of step and split up: the one that did not move last, the
// split first. A session with many catches moves one down: the step if that was
// what moved last, else the split. Two sessions running that are clean at step
// 40 make the athlete established, which is the step's move up. Sets that were
// eased show nothing of the setting and move nothing up.
func (a *aiming) react() (stepMoved, splitMoved bool) {
	n := len(a.past)
	switch {
	case n == 0 || (a.stepFixed() && a.in.Split != nil):
		return false, false
	case a.past[n-1].cleanShare() < cleanShareDown-slack:
		return a.moveDown()
	case n == 1:
		return false, false
	}
	last, prior := a.past[n-1], a.past[n-2]
	establishing := a.at.Phase == Building && a.in.StepRPM == nil && establishes(prior, last)
	if !establishing && !(last.clean() && prior.clean() && sameSetting(prior, last)) {
		return false, false
	}
	if last.Eased || prior.Eased {
		a.why.add(RuleEased)
		return false, false
	}
	if c := &a.in.Caution; c.UnattendedMinor || c.Released || c.DaysAway >= awayDays {
		a.why.add(RuleNotPushed)
		return false, false
	}
	share, before := Value{"share", last.cleanShare()}, Value{"before", prior.cleanShare()}
	if establishing {
		a.at.Phase = Established
		a.at.StepRPM = a.firstStep()
		a.why.add(RuleEstablished, Value{"step_rpm", a.at.StepRPM}, share, before)
		return true, false
	}
	return a.moveUp(share, before)
}

func (a *aiming) moveUp(share, before Value) (stepMoved, splitMoved bool) {
	step := min(a.at.StepRPM+stepMoveRPM, a.phase().MostStepRPM)
	stepCan := !a.stepFixed() && step > a.at.StepRPM && a.in.BaseRPM+a.at.StepRPM < a.in.mostTarget()
	rung := a.at.Split.rung() + 1
	splitCan := a.in.Split == nil && rung < splitRungs &&
		(!SplitLadder()[rung].Double || a.in.doublesPermitted())
	switch {
	case splitCan && !(stepCan && a.splitMovedLast()):
		fromSteady, fromBurst := a.at.Split.fromValues()
		a.at.Split = SplitLadder()[rung]
		steady, burst := a.at.Split.values()
		a.why.add(RuleSplitUp, fromSteady, fromBurst, steady, burst, share, before)
		return false, true
	case stepCan:
		a.why.add(RuleStepUp, Value{"from_rpm", a.at.StepRPM}, Value{"to_rpm", step}, share, before)
		a.at.StepRPM = step
		return true, false
	}
	a.why.add(RuleAtTop)
	return false, false
}

func (a *aiming) moveDown() (stepMoved, splitMoved bool) {
	share := Value{"share", a.past[len(a.past)-1].cleanShare()}
	step := max(a.at.StepRPM-stepMoveRPM, a.firstStep())
	stepCan := !a.stepFixed() && step < a.at.StepRPM
	rung := a.at.Split.rung() - 1
	splitCan := a.in.Split == nil && rung >= 0
	switch {
	case splitCan && !(stepCan && a.stepMovedLast()):
		fromSteady, fromBurst := a.at.Split.fromValues()
		a.at.Split = SplitLadder()[rung]
		steady, burst := a.at.Split.values()
		a.why.add(RuleSplitDown, fromSteady, fromBurst, steady, burst, share)
		return false, true
	case stepCan:
		a.why.add(RuleStepDown, Value{"from_rpm", a.at.StepRPM}, Value{"to_rpm", step}, share)
		a.at.StepRPM = step
		return true, false
	}
	a.why.add(RuleAtBottom)
	return false, false
}

// cleanShare returns the share of bursts without a catch, 0–1.
func (o Outcome) cleanShare() float64 { return float64(o.CleanBursts) / float64(o.Bursts) }

func (o Outcome) clean() bool { return o.cleanShare() >= cleanShareUp-slack }

// establishes reports whether two sessions running make an athlete established.
func establishes(a, b Outcome) bool {
	return min(a.StepRPM, b.StepRPM) >= establishedStep-slack && a.clean() && b.clean()
}

// establishedBefore reports whether any two sessions running did, the last two
// left out.
func establishedBefore(past []Outcome) bool {
	for i := 1; i < len(past)-1; i++ {
		if establishes(past[i-1], past[i]) && !past[i-1].Eased && !past[i].Eased {
			return true
		}
	}
	return false
}

func sameSetting(a, b Outcome) bool {
	return a.Split == b.Split && within(a.StepRPM, b.StepRPM) && within(b.StepRPM, a.StepRPM)
}

// splitMovedLast reports whether the latest change in the past was the split's.
func (a *aiming) splitMovedLast() bool {
	i := a.lastChange()
	return i > 0 && a.past[i].Split != a.past[i-1].Split
}

// stepMovedLast reports whether the latest change in the past was the step's.
func (a *aiming) stepMovedLast() bool {
	i := a.lastChange()
	return i > 0 && a.past[i].Split == a.past[i-1].Split
}

// lastChange returns the index of the latest session that was not at the
// setting of the one before, 0 if there is none.
func (a *aiming) lastChange() int {
	i := len(a.past) - 1
	for i > 0 && sameSetting(a.past[i-1], a.past[i]) {
		i--
	}
	return i
}
