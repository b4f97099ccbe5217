package planner

// Rule names one rule that shaped a plan. [RuleValues] lists them all with the
// numbers that each brings.
type Rule string

// Rules of the whole plan.
const (
	RuleHold     Rule = "hold"      // pain: no impact work
	RuleBase     Rule = "base"      // the steady rate is the base rate
	RuleSteady   Rule = "steady"    // no bursts at this stage yet
	RuleNoRoom   Rule = "no_room"   // 0.95 of the burst rate is no faster than the base
	RuleNewTests Rule = "new_tests" // away so long that the rates are tested anew
	RuleNoBurst  Rule = "no_burst"  // no burst test yet: do one next
)

// Rules of the target. Shares are of clean bursts.
const (
	RuleEstablished Rule = "established" // two sessions running clean at step 40
	RuleStepFirst   Rule = "step_first"
	RuleStepSlow    Rule = "step_slow" // first step of a slow base
	RuleStepUp      Rule = "step_up"
	RuleStepDown    Rule = "step_down"
	RuleStepHeld    Rule = "step_held"
	RuleStepCoach   Rule = "step_coach"
	RuleBurstCap    Rule = "burst_cap" // target held to 0.95 of the burst rate
)

// Rules of the split.
const (
	RuleSplitFirst Rule = "split_first"
	RuleSplitUp    Rule = "split_up"
	RuleSplitDown  Rule = "split_down"
	RuleSplitHeld  Rule = "split_held"
	RuleSplitCoach Rule = "split_coach"
	RuleDoubles    Rule = "doubles"    // one double in a steady four
	RuleNoDoubles  Rule = "no_doubles" // this split in place of one with doubles
	RuleNotPushed  Rule = "not_pushed" // earned a move up, held out of caution
	RuleEased      Rule = "eased"      // clean, but in easier sets than meant: no move up
	RuleAtTop      Rule = "at_top"     // earned a move up, nothing left to move
	RuleAtBottom   Rule = "at_bottom"  // needs a move down, nothing left to move
)

// Rules of the athlete's capacity.
const (
	RuleCapacityKnown   Rule = "capacity_known"
	RuleCapacityAssumed Rule = "capacity_assumed" // no all-out tests
	RuleTauKnown        Rule = "tau_known"
	RuleTauAssumed      Rule = "tau_assumed"
)

// Rules of the set.
const (
	RuleSplitShortened Rule = "split_shortened" // not even one cycle of the longer one fitted
	RuleTargetLowered  Rule = "target_lowered"  // the shortest split did not fit either
	RuleCatchesRemain  Rule = "catches_remain"  // the easiest set still expects more catches than meant
	RuleUnproven       Rule = "unproven"        // the shortest steady set, as no clean runs are known
	RuleCyclesReserve  Rule = "cycles_reserve"  // one more would pass the floor
	RuleCyclesCatches  Rule = "cycles_catches"  // one more would expect too many catches
	RuleCyclesTime     Rule = "cycles_time"     // one more would take too long
	RuleCyclesRest     Rule = "cycles_rest"     // a longer set would need more rest than its range has
	RuleCyclesContacts Rule = "cycles_contacts" // a longer set would pass the contacts left
	RuleCyclesMinutes  Rule = "cycles_minutes"  // a longer set would pass the time
	RuleCyclesCoach    Rule = "cycles_coach"
)

// Rules of the rest. Ranges are multiples of the set's length; the share is of
// the best mean rate for that time.
const (
	RuleRestRecovery Rule = "rest_recovery" // until the balance is back at the next start
	RuleRestAllOut   Rule = "rest_all_out"  // range of a near all-out set
	RuleRestEasy     Rule = "rest_easy"     // range of any other set
	RuleRestLeast    Rule = "rest_least"    // the phase's shortest
	RuleRestBeyond   Rule = "rest_beyond"   // more than the range, as no shorter set would do
	RuleRestCoach    Rule = "rest_coach"
	RuleRestRounded  Rule = "rest_rounded" // up to 5 s
)

// Rules of the session.
const (
	RuleSetsMinutes  Rule = "sets_minutes"
	RuleSetsContacts Rule = "sets_contacts" // contacts left this session
	RuleSetsWeek     Rule = "sets_week"     // contacts left this week
	RuleSetsDoubles  Rule = "sets_doubles"  // doubles left this session
	RuleSetsCoach    Rule = "sets_coach"
	RuleReleased     Rule = "released"     // half the contacts after a hold
	RuleAway         Rule = "away"         // fewer contacts after weeks away
	RuleLighterWeek  Rule = "lighter_week" // fewer sets
)

// Rules of the class hour.
const (
	RuleDrillContacts  Rule = "drill_contacts"  // too few contacts left for the drill
	RuleGateLikely     Rule = "gate_likely"     // the gate is tried
	RuleGateUnlikely   Rule = "gate_unlikely"   // not tried: the odds are too low
	RuleGateUnattended Rule = "gate_unattended" // not tried: a minor without an adult
	RuleGateTime       Rule = "gate_time"       // not tried: the hour is too short
	RuleGateContacts   Rule = "gate_contacts"   // not tried: too few contacts left
)

// A RuleRow is a rule with the names of its values, in order.
type RuleRow struct {
	Rule   Rule
	Values []string
}

// RuleValues lists every rule that a plan or a class hour can give, so that whoever words them
// can prove that none is missing.
func RuleValues() []RuleRow {
	return []RuleRow{
		{RuleHold, nil},
		{RuleBase, []string{"base_rpm"}},
		{RuleSteady, []string{"stage"}},
		{RuleNoRoom, []string{"burst_rpm", "share", "base_rpm"}},
		{RuleNewTests, []string{"days"}},
		{RuleNoBurst, nil},

		{RuleEstablished, []string{"step_rpm", "share", "before"}},
		{RuleStepFirst, []string{"step_rpm"}},
		{RuleStepSlow, []string{"step_rpm", "share", "base_rpm"}},
		{RuleStepUp, []string{"from_rpm", "to_rpm", "share", "before"}},
		{RuleStepDown, []string{"from_rpm", "to_rpm", "share"}},
		{RuleStepHeld, []string{"step_rpm"}},
		{RuleStepCoach, []string{"step_rpm"}},
		{RuleBurstCap, []string{"target_rpm", "share", "burst_rpm"}},

		{RuleSplitFirst, []string{"steady", "burst"}},
		{RuleSplitUp, []string{"from_steady", "from_burst", "steady", "burst", "share", "before"}},
		{RuleSplitDown, []string{"from_steady", "from_burst", "steady", "burst", "share"}},
		{RuleSplitHeld, []string{"steady", "burst"}},
		{RuleSplitCoach, []string{"steady", "burst"}},
		{RuleDoubles, []string{"jumps_per_minute", "target_rpm", "share", "rope_rpm"}},
		{RuleNoDoubles, []string{"steady", "burst"}},
		{RuleNotPushed, nil},
		{RuleEased, nil},
		{RuleAtTop, nil},
		{RuleAtBottom, nil},

		{RuleCapacityKnown, []string{"sustainable_rpm", "reserve"}},
		{RuleCapacityAssumed, []string{"sustainable_rpm", "reserve"}},
		{RuleTauKnown, []string{"tau_seconds"}},
		{RuleTauAssumed, []string{"tau_seconds"}},

		{RuleSplitShortened, []string{"from_steady", "from_burst", "steady", "burst"}},
		{RuleTargetLowered, []string{"from_rpm", "to_rpm"}},
		{RuleCatchesRemain, []string{"expected", "most"}},
		{RuleUnproven, []string{"seconds"}},
		{RuleCyclesReserve, []string{"cycles", "balance", "floor"}},
		{RuleCyclesCatches, []string{"cycles", "expected", "most"}},
		{RuleCyclesTime, []string{"cycles", "seconds", "most_seconds"}},
		{RuleCyclesRest, []string{"cycles", "from_cycles"}},
		{RuleCyclesContacts, []string{"cycles", "from_cycles", "contacts"}},
		{RuleCyclesMinutes, []string{"cycles", "from_cycles", "minutes"}},
		{RuleCyclesCoach, []string{"cycles"}},

		{RuleRestRecovery, []string{"seconds", "from_balance", "to_balance"}},
		{RuleRestAllOut, []string{"low", "high", "share"}},
		{RuleRestEasy, []string{"low", "high", "share"}},
		{RuleRestLeast, []string{"seconds"}},
		{RuleRestBeyond, []string{"seconds", "high_seconds"}},
		{RuleRestCoach, []string{"seconds"}},
		{RuleRestRounded, []string{"seconds"}},

		{RuleSetsMinutes, []string{"sets", "minutes"}},
		{RuleSetsContacts, []string{"sets", "contacts"}},
		{RuleSetsWeek, []string{"sets", "contacts"}},
		{RuleSetsDoubles, []string{"sets", "doubles"}},
		{RuleSetsCoach, []string{"sets"}},
		{RuleReleased, []string{"sets", "share", "contacts"}},
		{RuleAway, []string{"sets", "share", "contacts", "days"}},
		{RuleLighterWeek, []string{"sets", "share", "contacts"}},

		{RuleDrillContacts, []string{"contacts"}},
		{RuleGateLikely, []string{"chance", "least"}},
		{RuleGateUnlikely, []string{"chance", "least"}},
		{RuleGateUnattended, nil},
		{RuleGateTime, []string{"seconds"}},
		{RuleGateContacts, []string{"contacts"}},
	}
}
