package page

import (
	"fmt"
	"strconv"
	"strings"

	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/progress"
)

// ruleWord names a number of the rules by its key.
func ruleWord(key string) string {
	switch key[strings.LastIndex(key, ".")+1:] {
	case "floor_share":
		return "Share of the reserve that is never used"
	case "resume_share":
		return "Share of the reserve at a set's start"
	case "set_seconds":
		return "Longest set"
	case "set_catches":
		return "Catches expected in a set, at most"
	case "rest_seconds":
		return "Shortest rest"
	case "rest_ratio":
		return "Rest at least so many times the set"
	case "first_step_rpm":
		return "First step above base"
	case "most_step_rpm":
		return "Largest step above base"
	case "sweep_seconds":
		return "Time the rope needs under the feet, twice"
	case "plan":
		return "plans stay within"
	case "most":
		return "never more"
	case "week":
		return "in seven days"
	default:
		return "hours between"
	}
}

// ruleUnit is the unit of a number of the rules.
func ruleUnit(key string) string {
	switch name := key[strings.LastIndex(key, ".")+1:]; {
	case strings.HasSuffix(name, "_share"):
		return "%"
	case strings.HasSuffix(name, "_seconds"):
		return "s"
	case strings.HasSuffix(name, "_rpm"):
		return "rpm"
	case name == "rest_ratio":
		return "×"
	}
	return ""
}

// ceilingWord says for whom a ceiling holds.
func ceilingWord(c progress.Ceiling) string {
	kind := "Low bounces"
	if c.Kind == progress.DoubleUnder {
		kind = "Double unders, misses counted"
	}
	age := "grown up"
	if c.Under16 {
		age = "under age"
	}
	since := "from the first day"
	switch {
	case c.FromDay >= 365:
		since = "after a year"
	case c.FromDay > 0:
		since = fmt.Sprintf("after %d weeks", c.FromDay/7)
	}
	return kind + ", " + age + ", " + since
}

// constantText writes a constant with its unit.
func constantText(c planner.Constant) string {
	text := strconv.FormatFloat(c.Value, 'f', -1, 64)
	if c.Unit != "" {
		text += "\u00a0" + c.Unit
	}
	return text
}
