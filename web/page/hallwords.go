package page

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"ropewalk.example/internal/calendar"
	"ropewalk.example/internal/floor"
	"ropewalk.example/internal/planner"
	"ropewalk.example/web/part"
)

// HereWords says who came: "12 here, 2 away". Below 0 a number is left open
// for a script to fill in.
func HereWords(here, away int) string {
	say := func(n int) string {
		if n < 0 {
			return "{" + strconv.Itoa(-n-1) + "}"
		}
		return strconv.Itoa(n)
	}
	return say(here) + " here, " + say(away) + " away"
}

// PlannedWords says how far a class's plans are.
func PlannedWords(made, sent, of int) string {
	switch {
	case made == 0:
		return "None made for this meeting yet."
	case sent == made:
		return fmt.Sprintf("%d of %d made, all on the phones.", made, of)
	case sent > 0:
		return fmt.Sprintf("%d of %d made, %d on the phones.", made, of, sent)
	default:
		return fmt.Sprintf("%d of %d made, not sent yet.", made, of)
	}
}

// OccasionWords says what falls on a meeting: tests, a lighter week, a change.
func OccasionWords(m calendar.Meeting) string {
	var words []string
	if len(m.Tests) > 0 {
		var names []string
		for _, test := range m.Tests {
			names = append(names, testWord(test))
		}
		words = append(words, "Test day: "+strings.Join(names, " and ")+".")
	}
	if m.Lighter {
		words = append(words, "Lighter week: two sets in five fewer.")
	}
	if m.Moved() {
		text := "Moved from " + part.Day(m.Day) + "."
		if m.Change.Reason != "" {
			text = "Moved from " + part.Day(m.Day) + ": " + m.Change.Reason + "."
		}
		words = append(words, text)
	}
	return strings.Join(words, " ")
}

func testWord(test planner.Test) string {
	switch test {
	case planner.TestBase:
		return "base rate"
	case planner.TestBurst:
		return "burst rate"
	case planner.TestAllOut30:
		return "all-out 30 s"
	case planner.TestAllOut180:
		return "all-out 180 s"
	default:
		return NextTest(test)
	}
}

// WhenWords says when a meeting is: "Tomorrow, Thu 5 Nov · 18:30, 60 min".
func WhenWords(m calendar.Meeting, today time.Time) string {
	words := part.Day(m.On())
	switch int(m.On().Sub(today).Hours() / 24) {
	case 0:
		words = "Today"
	case 1:
		words = "Tomorrow, " + words
	}
	return fmt.Sprintf("%s · %s, %d min", words, m.Starts.Format("15:04"), m.Minutes())
}

// GroupWords says what a pace group jumps: "2 × (20 at 118 and 10 at 140 rpm)".
func GroupWords(g floor.Group) string {
	return strings.TrimSuffix(SetSentence(planner.Plan{Split: g.Split, Cycles: g.Cycles, SteadyRPM: g.SteadyRPM, TargetRPM: g.TargetRPM}), ".")
}

// ClockWords writes seconds as a clock shows them: "1:05".
func ClockWords(seconds float64) string {
	whole := int(seconds + 0.999)
	return fmt.Sprintf("%d:%02d", whole/60, whole%60)
}

// telling lists the rules that say most about a plan, the strongest first.
var telling = [...]planner.Rule{planner.RuleHold, planner.RuleReleased, planner.RuleNewTests, planner.RuleAway, planner.RuleLighterWeek,
	planner.RuleEstablished, planner.RuleSplitDown, planner.RuleStepDown, planner.RuleSplitUp, planner.RuleStepUp, planner.RuleNotPushed,
	planner.RuleSteady, planner.RuleNoRoom, planner.RuleNoBurst, planner.RuleTargetLowered, planner.RuleSplitShortened, planner.RuleBurstCap,
	planner.RuleStepFirst, planner.RuleStepSlow, planner.RuleCyclesReserve, planner.RuleCyclesCatches, planner.RuleCyclesTime, planner.RuleBase}

// TellingReason is the one sentence that says most about why a plan is as it is.
func TellingReason(p planner.Plan) string {
	for _, rule := range telling {
		for _, reason := range p.Why {
			if reason.Rule == rule {
				return ReasonWords(reason)
			}
		}
	}
	if len(p.Why) > 0 {
		return ReasonWords(p.Why[0])
	}
	return ""
}

// MomentWords says what goes on: "Group B jumps · round 2 of 5".
func MomentWords(c ClockView) string {
	if c.Turn == nil {
		return ""
	}
	kind, who := "Group", c.Turn.Letter
	if c.Test {
		kind = "Wave"
	}
	if c.Turn.Wave != "" {
		who += ", " + c.Turn.Wave
	}
	said := ""
	switch {
	case !c.Running:
		return "Paused. Next: " + lowerFirst(kind+" "+who)
	case c.Test && c.Moment.Working:
		return fmt.Sprintf("Wave %s jumps", who)
	case c.Test:
		return fmt.Sprintf("Wave %s gets ready", who)
	case c.Moment.Working:
		said = fmt.Sprintf("Group %s jumps", who)
	default:
		said = fmt.Sprintf("Group %s gets ready", who)
	}
	return fmt.Sprintf("%s · round %d of %d", said, c.Turn.Round, c.Rounds)
}

// NextWords says what comes after: "Then group C: 20 at 118 and 10 at 140 rpm".
func NextWords(c ClockView) string {
	switch {
	case c.Test:
		return ""
	case c.Next == nil:
		return "This is the last turn."
	}
	who := "Then group " + c.Next.Letter
	if c.Next.Wave != "" {
		who += ", " + c.Next.Wave
	}
	return who + ": " + c.Next.Cue
}

func lowerFirst(text string) string {
	if text == "" {
		return ""
	}
	return strings.ToLower(text[:1]) + text[1:]
}

// FirstName is a name up to its first space.
func FirstName(name string) string {
	first, _, _ := strings.Cut(name, " ")
	return first
}

// PreviewWords says how long a course is and how it goes.
func PreviewWords(p PreviewView) string {
	text := fmt.Sprintf("%s, %s, %s.", part.Count(len(p.Groups), "group", "groups"), part.Count(p.Rounds, "round", "rounds"), p.Minutes)
	if len(p.Groups) > 1 {
		text += " One group jumps to its cue while the others rest and count."
	}
	if p.Fits > 0 {
		text += fmt.Sprintf(" %d can jump at once.", p.Fits)
	}
	if p.CutSets > 0 {
		text += " " + part.Count(p.CutSets, "set of the plans does", "sets of the plans do") + " not fit into the time."
	}
	return text
}

// RangeWords says whom a group's cue serves: "targets from 132 to 146 rpm".
func RangeWords(g floor.Group) string {
	low, high := part.Whole(g.LowRPM), part.Whole(g.HighRPM)
	if low == high {
		return "all at this target"
	}
	return "targets from " + low + " to " + high + " rpm"
}

// WaveWords says that a group does not fit on the floor at once.
func WaveWords(g PreviewGroup) string {
	if g.Waves < 2 {
		return ""
	}
	return fmt.Sprintf(" In %d waves: one jumps, the next counts.", g.Waves)
}

// sheetWords are what the script of a class's sheet says.
func sheetWords() string {
	return scriptWords(map[string]string{
		"so_far":     "{in} of {all} in",
		"typed":      "Typed",
		"missed":     "Missed, no count",
		"kept":       "No signal. Typed, kept on this tablet.",
		"signed_out": "You are signed out. Sign in, then type on: what is typed is kept here.",
		"stands":     "No signal. The count stands.",
		"again":      "No signal. Try again in a moment.",
		"away":       "Away",
		"wave":       "Wave {wave}: get ready.",
		"ready":      "Ready {left}",
		"over":       "Time",
		"count":      "Time. Type the counts.",
	})
}

// boardWords are what the script of a board says.
func boardWords() string {
	return scriptWords(map[string]string{
		"over":      "All through.",
		"ready":     ", get ready",
		"stand":     "{done} done, {needs} need you",
		"again":     "That did not work. Try again.",
		"no_signal": "No signal. Nothing was pressed. The clock here runs on.",
	})
}
