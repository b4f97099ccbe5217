package page

import (
	"fmt"
	"strings"

	"ropewalk.example/internal/planner"
	"ropewalk.example/web/part"
)

// TreadsOf draws a plan's segments: which block is steady and which a burst
// follows from its place in the set.
func TreadsOf(p planner.Plan) []part.Tread {
	treads := make([]part.Tread, 0, len(p.Segments))
	burstNext := false
	for _, segment := range p.Segments {
		tread := part.Tread{Kind: part.Steady, RPM: segment.RPM, Seconds: segment.Seconds, Reps: p.Split.Steady}
		switch {
		case segment.RPM == 0:
			tread = part.Tread{Kind: part.Rest, Seconds: segment.Seconds}
			burstNext = false
		case burstNext && p.Split.Double:
			tread.Kind, tread.Reps, burstNext = part.Double, p.Split.Burst, false
		case burstNext:
			tread.Kind, tread.Reps, burstNext = part.Burst, p.Split.Burst, false
		default:
			burstNext = p.Split.Burst > 0
		}
		treads = append(treads, tread)
	}
	return treads
}

// BalanceOf draws how the reserve falls and fills over a plan.
func BalanceOf(p planner.Plan) []part.Level {
	reserve := 0.0
	for _, reason := range p.Why {
		if reason.Rule == planner.RuleCapacityKnown || reason.Rule == planner.RuleCapacityAssumed {
			reserve = reason.Values.Of("reserve")
		}
	}
	if reserve <= 0 {
		return nil
	}
	levels := []part.Level{{Share: 1}}
	at := 0.0
	for _, segment := range p.Segments {
		at += segment.Seconds
		levels = append(levels, part.Level{Seconds: at, Share: segment.Balance / reserve})
	}
	return levels
}

// PlanSentence says a plan in one sentence, for eyes, ears and print.
func PlanSentence(p planner.Plan) string {
	switch {
	case p.Kind == planner.KindHold:
		return "No jumping because of pain."
	case p.Sets == 0:
		return "No room for a set today."
	}
	text := part.Count(p.Sets, "set", "sets") + " of " + SetSentence(p)
	if p.Sets > 1 {
		text += fmt.Sprintf(" Rest %s between sets.", part.Seconds(p.RestSeconds))
	}
	return text
}

// SetSentence says one set: "4 × 20 at 140 and 10 at 165."
func SetSentence(p planner.Plan) string {
	steady := fmt.Sprintf("%d at %s", p.Split.Steady, part.Whole(p.SteadyRPM))
	burst := fmt.Sprintf("%d at %s", p.Split.Burst, part.Whole(p.TargetRPM))
	times := ""
	if p.Cycles > 1 {
		times = fmt.Sprintf("%d × ", p.Cycles)
	}
	switch {
	case p.Split.Burst == 0:
		return fmt.Sprintf("%s%s rpm.", times, steady)
	case p.Split.Double:
		return fmt.Sprintf("%s(%s jumps a minute and %s).", times, steady, part.Count(p.Split.Burst, "double under", "double unders"))
	case p.Cycles > 1:
		return fmt.Sprintf("%s(%s and %s rpm).", times, steady, burst)
	default:
		return fmt.Sprintf("%s and %s rpm.", steady, burst)
	}
}

// CueSentence says what the cue plays.
func CueSentence(p planner.Plan) string {
	text := part.Whole(p.Cue.SteadyPerMinute) + " clicks a minute"
	if p.Cue.BurstPerMinute > 0 {
		text += ", then " + part.Whole(p.Cue.BurstPerMinute) + " for the bursts"
	}
	return fmt.Sprintf("%s. %s lead in.", text, part.Count(p.Cue.LeadInBeats, "click", "clicks"))
}

// TotalSentence adds a plan up.
func TotalSentence(p planner.Plan) string {
	text := fmt.Sprintf("%s, %s, %s.", part.Minutes(p.Seconds), part.Count(p.Reps, "rotation", "rotations"), part.Count(p.Contacts, "jump", "jumps"))
	if p.ExpectedCatches != nil {
		text += fmt.Sprintf(" About %s expected.", part.Count(int(*p.ExpectedCatches+0.5), "catch", "catches"))
	}
	return text
}

// NextTest says which test an athlete does before there can be a plan.
func NextTest(test planner.Test) string {
	switch test {
	case planner.TestBase:
		return "60 s base test: as many as feel easy"
	case planner.TestBurst:
		return "10 s burst test"
	case planner.TestAllOut30:
		return "30 s all-out test, once more"
	case planner.TestAllOut180:
		return "180 s all-out test, once more"
	case planner.TestAllOut:
		return "the pair of all-out tests, 30 s and 180 s"
	case planner.TestCleanRun:
		return "clean run: count up to the catch"
	case planner.TestDoubleRate:
		return "turning rate inside a double"
	default:
		return string(test)
	}
}

// AssumedWords says what no test supports yet.
func AssumedWords(codes []string) string {
	words := make([]string, 0, len(codes))
	for _, code := range codes {
		switch code {
		case "sustainable":
			words = append(words, "the rate you can keep up is taken as the base rate")
		case "reserve":
			words = append(words, "the reserve above it is a first guess")
		case "tau":
			words = append(words, "the speed of recovery is a first guess")
		case "burst":
			words = append(words, "there is no burst test yet")
		default:
			words = append(words, code)
		}
	}
	return "Assumed until tests say more: " + strings.Join(words, "; ") + "."
}

// ReasonWords words one rule that shaped a plan with its numbers.
func ReasonWords(r planner.Reason) string {
	n := func(name string) string { return part.Whole(r.Values.Of(name)) }
	share := func(name string) string { return part.Percent(r.Values.Of(name)) }
	split := func(steady, burst string) string { return n(steady) + "/" + n(burst) }
	of := func(format string, values ...any) string { return fmt.Sprintf(format, values...) }
	switch r.Rule {
	case planner.RuleHold:
		return "Pain stops all impact work until a coach lets it go on."
	case planner.RuleBase:
		return of("The steady rate is your own base rate, %s rpm.", n("base_rpm"))
	case planner.RuleSteady:
		return of("At stage %s there are no bursts yet: steady sets first.", n("stage"))
	case planner.RuleNoRoom:
		return of("Your burst rate of %s rpm is too near your base of %s rpm, so sets stay steady.", n("burst_rpm"), n("base_rpm"))
	case planner.RuleNewTests:
		return of("You were away for %s days, so rates are tested anew first.", n("days"))
	case planner.RuleNoBurst:
		return "There is no burst test yet. Do a 10 s burst test next."
	case planner.RuleEstablished:
		return of("Bursts at %s above base were clean twice running (%s, then %s): larger steps from now on.", n("step_rpm"), share("before"), share("share"))
	case planner.RuleStepFirst:
		return of("Bursts aim %s rpm above base to begin with.", n("step_rpm"))
	case planner.RuleStepSlow:
		return of("Below a base of 120 rpm the first step is %s of it: %s rpm.", share("share"), n("step_rpm"))
	case planner.RuleStepUp:
		return of("The target goes from %s to %s rpm above base: %s and %s of the bursts were clean.", n("from_rpm"), n("to_rpm"), share("before"), share("share"))
	case planner.RuleStepDown:
		return of("The target goes from %s to %s rpm above base: only %s of the bursts were clean.", n("from_rpm"), n("to_rpm"), share("share"))
	case planner.RuleStepHeld:
		return of("The target stays %s rpm above base.", n("step_rpm"))
	case planner.RuleStepCoach:
		return of("Your coach set the target %s rpm above base.", n("step_rpm"))
	case planner.RuleBurstCap:
		return of("The target is held to %s rpm, %s of the %s rpm you have shown.", n("target_rpm"), share("share"), n("burst_rpm"))
	case planner.RuleSplitFirst:
		return of("You start with the split %s.", split("steady", "burst"))
	case planner.RuleSplitUp:
		return of("The split goes from %s to %s: %s and %s of the bursts were clean.", split("from_steady", "from_burst"), split("steady", "burst"), share("before"), share("share"))
	case planner.RuleSplitDown:
		return of("The split goes back from %s to %s: only %s of the bursts were clean.", split("from_steady", "from_burst"), split("steady", "burst"), share("share"))
	case planner.RuleSplitHeld:
		return of("The split stays %s.", split("steady", "burst"))
	case planner.RuleSplitCoach:
		return of("Your coach chose the split %s.", split("steady", "burst"))
	case planner.RuleDoubles:
		return of("One double in every four jumps, at %s jumps a minute. The rope turns at %s rpm, %s of the %s rpm you have shown inside a double.", n("jumps_per_minute"), n("target_rpm"), share("share"), n("rope_rpm"))
	case planner.RuleNoDoubles:
		return of("Doubles wait; the split is %s instead.", split("steady", "burst"))
	case planner.RuleNotPushed:
		return "You have earned a move up. It waits, out of caution."
	case planner.RuleEased:
		return "You have earned a move up, but in sets made easier. First come the sets as meant."
	case planner.RuleAtTop:
		return "You have earned a move up, and there is nothing harder to move to."
	case planner.RuleAtBottom:
		return "This is the easiest there is."
	case planner.RuleCapacityKnown:
		return of("From your all-out tests: %s rpm that you can keep up, with %s rotations in reserve above it.", n("sustainable_rpm"), n("reserve"))
	case planner.RuleCapacityAssumed:
		return of("Without all-out tests: %s rpm is taken as what you can keep up, with %s rotations in reserve (assumed).", n("sustainable_rpm"), n("reserve"))
	case planner.RuleTauKnown:
		return of("Your reserve refills with a time constant of %s s.", n("tau_seconds"))
	case planner.RuleTauAssumed:
		return of("How fast the reserve refills is assumed: %s s.", n("tau_seconds"))
	case planner.RuleSplitShortened:
		return of("Not one cycle of %s fitted, so both blocks are shorter: %s.", split("from_steady", "from_burst"), split("steady", "burst"))
	case planner.RuleTargetLowered:
		return of("Even the shortest blocks did not fit, so the target goes from %s to %s rpm.", n("from_rpm"), n("to_rpm"))
	case planner.RuleCatchesRemain:
		return of("The easiest set still expects %.1f catches, more than the %.1f meant.", r.Values.Of("expected"), r.Values.Of("most"))
	case planner.RuleUnproven:
		return of("No clean runs are counted yet, so steady sets last %s s.", n("seconds"))
	case planner.RuleCyclesReserve:
		return of("%s in a set: one more would empty the reserve too far (%.1f left, %.1f is the floor).", cycles(r), r.Values.Of("balance"), r.Values.Of("floor"))
	case planner.RuleCyclesCatches:
		return of("%s in a set: one more would expect %.1f catches, more than %.1f.", cycles(r), r.Values.Of("expected"), r.Values.Of("most"))
	case planner.RuleCyclesTime:
		return of("%s in a set: one more would take %s s, longer than %s s.", cycles(r), n("seconds"), n("most_seconds"))
	case planner.RuleCyclesRest:
		return of("%s in a set instead of %s: a longer set would need more rest than is sensible.", cycles(r), n("from_cycles"))
	case planner.RuleCyclesContacts:
		return of("%s in a set instead of %s: %s jumps are left today.", cycles(r), n("from_cycles"), n("contacts"))
	case planner.RuleCyclesMinutes:
		return of("%s in a set instead of %s: there are %s minutes.", cycles(r), n("from_cycles"), n("minutes"))
	case planner.RuleCyclesCoach:
		return of("%s in a set instead of %s: your coach said so.", cycles(r), n("from_cycles"))
	case planner.RuleRestRecovery:
		return of("It takes %s s for the reserve to come back from %.1f to %.1f rotations.", n("seconds"), r.Values.Of("from_balance"), r.Values.Of("to_balance"))
	case planner.RuleRestAllOut:
		return of("The set is near your best for its time (%s), so rest is %.1f to %.1f times as long.", share("share"), r.Values.Of("low"), r.Values.Of("high"))
	case planner.RuleRestEasy:
		return of("The set is well below your best for its time (%s), so rest is %.1f to %.1f times as long.", share("share"), r.Values.Of("low"), r.Values.Of("high"))
	case planner.RuleRestLeast:
		return of("Rest is at least %s s.", n("seconds"))
	case planner.RuleRestBeyond:
		return of("Rest is %s s, more than the usual %s s, as no shorter set would do.", n("seconds"), n("high_seconds"))
	case planner.RuleRestCoach:
		return of("Your coach asked for at least %s s of rest.", n("seconds"))
	case planner.RuleRestRounded:
		return of("Rest is rounded up to %s s.", n("seconds"))
	case planner.RuleSetsMinutes:
		return of("%s fit into %s minutes.", sets(r), n("minutes"))
	case planner.RuleSetsContacts:
		return of("%s: %s jumps are left for this session.", sets(r), n("contacts"))
	case planner.RuleSetsWeek:
		return of("%s: %s jumps are left for this week.", sets(r), n("contacts"))
	case planner.RuleSetsDoubles:
		return of("%s: %s tries of a double are left for this session.", sets(r), n("doubles"))
	case planner.RuleSetsCoach:
		return of("%s: your coach said so.", sets(r))
	case planner.RuleReleased:
		return of("First work after a hold: %s of the jumps, %s.", share("share"), strings.ToLower(sets(r)))
	case planner.RuleAway:
		return of("After %s days away: %s of the jumps, %s.", n("days"), share("share"), strings.ToLower(sets(r)))
	case planner.RuleLighterWeek:
		return of("A lighter week: %s of the sets, %s.", share("share"), strings.ToLower(sets(r)))
	case planner.RuleDrillContacts:
		return of("The drill waits: it takes %s jumps, more than are left today.", n("contacts"))
	case planner.RuleGateLikely:
		return of("The gate is tried today: the odds are %s, and from %s on it is worth a try.", share("chance"), share("least"))
	case planner.RuleGateUnlikely:
		return of("The gate waits: the odds are %s, and from %s on it is worth a try.", share("chance"), share("least"))
	case planner.RuleGateUnattended:
		return "The gate waits until an adult is there."
	case planner.RuleGateTime:
		return of("The gate waits: it takes %s s, more than the hour has left.", n("seconds"))
	case planner.RuleGateContacts:
		return of("The gate waits: it takes %s jumps, more than are left today.", n("contacts"))
	default:
		return string(r.Rule)
	}
}

func cycles(r planner.Reason) string {
	return part.Count(int(r.Values.Of("cycles")), "cycle", "cycles")
}

func sets(r planner.Reason) string { return part.Count(int(r.Values.Of("sets")), "set", "sets") }
