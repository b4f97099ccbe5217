package page

import (
	"regexp"
	"strconv"
	"strings"

	"ropewalk.example/internal/planner"
	"ropewalk.example/web/part"
)

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

// reasonSentences say each rule that shapes a plan, with holes for its values.
var reasonSentences = map[planner.Rule]string{
	planner.RuleHold:     "Pain stops all impact work until a coach lets it go on.",
	planner.RuleBase:     "The steady rate is your own base rate, {base_rpm} rpm.",
	planner.RuleSteady:   "At stage {stage} there are no bursts yet: steady sets first.",
	planner.RuleNoRoom:   "Your burst rate of {burst_rpm} rpm is too near your base of {base_rpm} rpm, so sets stay steady.",
	planner.RuleNewTests: "You were away for {days} days, so rates are tested anew first.",
	planner.RuleNoBurst:  "There is no burst test yet. Do a 10 s burst test next.",

	planner.RuleEstablished: "Bursts at {step_rpm} above base were clean twice running ({before}, then {share}): larger steps from now on.",
	planner.RuleStepFirst:   "Bursts aim {step_rpm} rpm above base to begin with.",
	planner.RuleStepSlow:    "Below a base of 120 rpm the first step is {share} of it: {step_rpm} rpm.",
	planner.RuleStepUp:      "The target goes from {from_rpm} to {to_rpm} rpm above base: {before} and {share} of the bursts were clean.",
	planner.RuleStepDown:    "The target goes from {from_rpm} to {to_rpm} rpm above base: only {share} of the bursts were clean.",
	planner.RuleStepHeld:    "The target stays {step_rpm} rpm above base.",
	planner.RuleStepCoach:   "Your coach set the target {step_rpm} rpm above base.",
	planner.RuleBurstCap:    "The target is held to {target_rpm} rpm, {share} of the {burst_rpm} rpm you have shown.",

	planner.RuleSplitFirst: "You start with the split {split}.",
	planner.RuleSplitUp:    "The split goes from {from_split} to {split}: {before} and {share} of the bursts were clean.",
	planner.RuleSplitDown:  "The split goes back from {from_split} to {split}: only {share} of the bursts were clean.",
	planner.RuleSplitHeld:  "The split stays {split}.",
	planner.RuleSplitCoach: "Your coach chose the split {split}.",
	planner.RuleDoubles:    "One double in every four jumps, at {jumps_per_minute} jumps a minute. The rope turns at {target_rpm} rpm, {share} of the {rope_rpm} rpm you have shown inside a double.",
	planner.RuleNoDoubles:  "Doubles wait; the split is {split} instead.",
	planner.RuleNotPushed:  "You have earned a move up. It waits, out of caution.",
	planner.RuleEased:      "You have earned a move up, but in sets made easier. First come the sets as meant.",
	planner.RuleAtTop:      "You have earned a move up, and there is nothing harder to move to.",
	planner.RuleAtBottom:   "This is the easiest there is.",

	planner.RuleCapacityKnown:   "From your all-out tests: {sustainable_rpm} rpm that you can keep up, with {reserve} rotations in reserve above it.",
	planner.RuleCapacityAssumed: "Without all-out tests: {sustainable_rpm} rpm is taken as what you can keep up, with {reserve} rotations in reserve (assumed).",
	planner.RuleTauKnown:        "Your reserve refills with a time constant of {tau_seconds} s.",
	planner.RuleTauAssumed:      "How fast the reserve refills is assumed: {tau_seconds} s.",

	planner.RuleSplitShortened: "Not one cycle of {from_split} fitted, so both blocks are shorter: {split}.",
	planner.RuleTargetLowered:  "Even the shortest blocks did not fit, so the target goes from {from_rpm} to {to_rpm} rpm.",
	planner.RuleCatchesRemain:  "The easiest set still expects {expected} catches, more than the {most} meant.",
	planner.RuleUnproven:       "No clean runs are counted yet, so steady sets last {seconds} s.",
	planner.RuleCyclesReserve:  "{cycles} in a set: one more would empty the reserve too far ({balance} left, {floor} is the floor).",
	planner.RuleCyclesCatches:  "{cycles} in a set: one more would expect {expected} catches, more than {most}.",
	planner.RuleCyclesTime:     "{cycles} in a set: one more would take {seconds} s, longer than {most_seconds} s.",
	planner.RuleCyclesRest:     "{cycles} in a set instead of {from_cycles}: a longer set would need more rest than is sensible.",
	planner.RuleCyclesContacts: "{cycles} in a set instead of {from_cycles}: {contacts} jumps are left today.",
	planner.RuleCyclesMinutes:  "{cycles} in a set instead of {from_cycles}: there are {minutes} minutes.",
	planner.RuleCyclesCoach:    "{cycles} in a set instead of {from_cycles}: your coach said so.",

	planner.RuleRestRecovery: "It takes {seconds} s for the reserve to come back from {from_balance} to {to_balance} rotations.",
	planner.RuleRestAllOut:   "The set is near your best for its time ({share}), so rest is {low} to {high} times as long.",
	planner.RuleRestEasy:     "The set is well below your best for its time ({share}), so rest is {low} to {high} times as long.",
	planner.RuleRestLeast:    "Rest is at least {seconds} s.",
	planner.RuleRestBeyond:   "Rest is {seconds} s, more than the usual {high_seconds} s, as no shorter set would do.",
	planner.RuleRestCoach:    "Your coach asked for at least {seconds} s of rest.",
	planner.RuleRestRounded:  "Rest is rounded up to {seconds} s.",

	planner.RuleSetsMinutes:  "{sets} fit into {minutes} minutes.",
	planner.RuleSetsContacts: "{sets}: {contacts} jumps are left for this session.",
	planner.RuleSetsWeek:     "{sets}: {contacts} jumps are left for this week.",
	planner.RuleSetsDoubles:  "{sets}: {doubles} tries of a double are left for this session.",
	planner.RuleSetsCoach:    "{sets}: your coach said so.",
	planner.RuleReleased:     "First work after a hold: {share} of the jumps, {sets}.",
	planner.RuleAway:         "After {days} days away: {share} of the jumps, {sets}.",
	planner.RuleLighterWeek:  "A lighter week: {share} of the sets, {sets}.",

	planner.RuleDrillContacts:  "The drill waits: it takes {contacts} jumps, more than are left today.",
	planner.RuleGateLikely:     "The gate is tried today: the odds are {chance}, and from {least} on it is worth a try.",
	planner.RuleGateUnlikely:   "The gate waits: the odds are {chance}, and from {least} on it is worth a try.",
	planner.RuleGateUnattended: "The gate waits until an adult is there.",
	planner.RuleGateTime:       "The gate waits: it takes {seconds} s, more than the hour has left.",
	planner.RuleGateContacts:   "The gate waits: it takes {contacts} jumps, more than are left today.",
}

var reasonValue = regexp.MustCompile(`\{\w+\}`)

// ReasonWords words one rule that shaped a plan with its numbers.
func ReasonWords(r planner.Reason) string {
	sentence, known := reasonSentences[r.Rule]
	if !known {
		return string(r.Rule)
	}
	return reasonValue.ReplaceAllStringFunc(sentence, func(hole string) string { return valueWords(r.Values, strings.Trim(hole, "{}")) })
}

// valueWords writes the value called name as its kind is written.
func valueWords(values planner.Values, name string) string {
	value := values.Of(name)
	switch name {
	case "split":
		return part.Whole(values.Of("steady")) + "/" + part.Whole(values.Of("burst"))
	case "from_split":
		return part.Whole(values.Of("from_steady")) + "/" + part.Whole(values.Of("from_burst"))
	case "cycles":
		return part.Count(int(value), "cycle", "cycles")
	case "sets":
		return part.Count(int(value), "set", "sets")
	case "share", "before", "chance", "least":
		return part.Percent(value)
	case "balance", "expected", "floor", "from_balance", "high", "low", "most", "to_balance":
		return strconv.FormatFloat(value, 'f', 1, 64)
	}
	return part.Whole(value)
}
