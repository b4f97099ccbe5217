package page

import (
	"fmt"
	"strconv"
	"strings"

	"ropewalk.example/internal/planner"
	"ropewalk.example/web/part"
)

// partWord names a part of a class hour.
func partWord(p planner.Part) string {
	switch p.Kind {
	case planner.PartWarmUp:
		return "Warm-up"
	case planner.PartTest:
		return "Test"
	case planner.PartTechnique:
		return "Technique"
	case planner.PartSets:
		return "Sets and rests"
	case planner.PartGate:
		return "One attempt at the gate"
	case planner.PartSpare:
		return "Spare"
	case planner.PartCoolDown:
		return "Cool-down"
	default:
		return "No impact work"
	}
}

// partText says what a part consists of.
func partText(p planner.Part) string {
	switch p.Kind {
	case planner.PartWarmUp:
		return "Walk, loosen ankles and shoulders, then easy bounces."
	case planner.PartTest:
		return NextTest(planner.Test(p.Name))
	case planner.PartTechnique:
		if p.Cue.SteadyPerMinute > 0 {
			return fmt.Sprintf("%s Cue %s a minute.", p.Name, part.Whole(p.Cue.SteadyPerMinute))
		}
		return p.Name
	case planner.PartSets:
		return part.Count(p.Reps, "rotation", "rotations")
	case planner.PartGate:
		return p.Name
	case planner.PartSpare:
		return "No jumping: count for a partner, ask, drink."
	case planner.PartCoolDown:
		return "Walk, breathe, stretch calves."
	default:
		return "Watch, count, turn the rope for others. Nothing that hurts."
	}
}

// minutesText writes seconds as minutes and seconds: "8:05".
func minutesText(seconds int) string { return fmt.Sprintf("%d:%02d", seconds/60, seconds%60) }

func totalSeconds(parts []planner.Part) int {
	sum := 0
	for _, p := range parts {
		sum += p.Seconds
	}
	return sum
}

// olderRules says by which rules a plan was made.
func olderRules(p planner.Plan) string {
	if p.RulesVersion == planner.RulesVersion {
		return "Worked out again, some numbers differ."
	}
	return fmt.Sprintf("Made under rules %d; today's are rules %d.", p.RulesVersion, planner.RulesVersion)
}

// A comparedRow is one number of two plans.
type comparedRow struct{ what, first, second string }

func (r comparedRow) differs() bool { return r.first != r.second }

// comparison lists what matters of two plans, side by side.
func comparison(a, b planner.Plan) []comparedRow {
	row := func(what string, of func(planner.Plan) string) comparedRow { return comparedRow{what, of(a), of(b)} }
	return []comparedRow{
		row("Split", func(p planner.Plan) string { return fmt.Sprintf("%d/%d", p.Split.Steady, p.Split.Burst) }),
		row("Steady, rpm", func(p planner.Plan) string { return part.Whole(p.SteadyRPM) }),
		row("Burst, rpm", func(p planner.Plan) string { return part.Whole(p.TargetRPM) }),
		row("Cycles in a set", func(p planner.Plan) string { return strconv.Itoa(p.Cycles) }),
		row("Sets", func(p planner.Plan) string { return strconv.Itoa(p.Sets) }),
		row("Work in a set, s", func(p planner.Plan) string { return part.Whole(p.WorkSeconds) }),
		row("Rest, s", func(p planner.Plan) string { return part.Whole(p.RestSeconds) }),
		row("All sets, min:s", func(p planner.Plan) string { return minutesText(int(p.Seconds + 0.5)) }),
		row("Jumps", func(p planner.Plan) string { return strconv.Itoa(p.Contacts) }),
		row("Catches expected", func(p planner.Plan) string {
			if p.ExpectedCatches == nil {
				return "–"
			}
			return tenth(*p.ExpectedCatches)
		}),
		row("Reserve at its lowest, %", lowestReserve),
	}
}

// lowestReserve writes the lowest balance of a plan as a share of the reserve.
func lowestReserve(p planner.Plan) string {
	levels := BalanceOf(p)
	if len(levels) == 0 {
		return "–"
	}
	lowest := levels[0].Share
	for _, l := range levels {
		lowest = min(lowest, l.Share)
	}
	return part.Whole(100 * lowest)
}

// dayLines say what falls on the day of a class's plans.
func dayLines(v PlansView) []string {
	var lines []string
	if v.NoMeeting {
		lines = append(lines, "This class does not meet on that day.")
	}
	if len(v.Tests) > 0 {
		words := make([]string, len(v.Tests))
		for i, test := range v.Tests {
			words[i] = NextTest(test)
		}
		lines = append(lines, "A test day: "+strings.Join(words, "; ")+".")
	}
	if v.Lighter {
		lines = append(lines, "A lighter week: two sets in five fewer.")
	}
	return lines
}
