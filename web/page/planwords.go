package page

import (
	"fmt"

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
