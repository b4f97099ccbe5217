package page

import (
	"fmt"
	"strconv"
	"strings"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/rate"
	"ropewalk.example/web/part"
)

// TestName names a result's test with its window: "Base rate, 60 s".
func TestName(r gym.Result) string {
	name := r.Protocol
	if p, ok := rate.ProtocolOf(r.Protocol); ok {
		name = p.Name
	}
	if r.Seconds != nil {
		name += ", " + part.Seconds(*r.Seconds)
	}
	return name
}

// Counted says what was counted: "87 rotations, 2 catches".
func Counted(r gym.Result) string {
	p, _ := rate.ProtocolOf(r.Protocol)
	switch {
	case p.Measured == rate.Bouts:
		return boutsText(r.Bouts) + restText(r)
	case p.Measured == rate.FlightTime && r.FlightSeconds != nil:
		return strconv.FormatFloat(*r.FlightSeconds, 'f', -1, 64) + "\u00a0s in the air"
	case p.Measured == rate.Successes && r.Successes != nil && r.Attempts != nil:
		return fmt.Sprintf("%d of %d good%s", *r.Successes, *r.Attempts, taskText(r))
	case r.Rotations == nil:
		return "–"
	case p.Measured == rate.Run:
		return part.Count(*r.Rotations, "clean rep", "clean reps") + ", " + endedWord(r.StoppedClean)
	case p.Measured == rate.Doubles:
		return part.Count(*r.Rotations, "double", "doubles") + " in a row, " + endedWord(r.StoppedClean)
	case p.Key == rate.Cycles:
		return part.Count(*r.Rotations, "cycle", "cycles") + " in a row" + taskText(r)
	case p.Key == rate.Rounds:
		return part.Count(*r.Rotations, "round", "rounds") + " in a row" + taskText(r)
	}
	text := part.Count(*r.Rotations, "rotation", "rotations")
	if len(r.Counts) > 1 {
		text += fmt.Sprintf(" (%s counted)", boutsText(r.Counts))
	}
	if r.OneFoot {
		text += ", one foot counted"
	}
	if r.Catches > 0 {
		text += ", " + part.Count(r.Catches, "catch", "catches")
	}
	return text
}

func boutsText(counts []int32) string {
	words := make([]string, len(counts))
	for i, n := range counts {
		words[i] = strconv.Itoa(int(n))
	}
	return strings.Join(words, " · ")
}

func restText(r gym.Result) string {
	if r.RestSeconds == nil {
		return ""
	}
	return ", rest " + part.Seconds(*r.RestSeconds)
}

func taskText(r gym.Result) string {
	if r.Task == "" {
		return ""
	}
	return ": " + strings.ReplaceAll(r.Task, "-", " ")
}

// RateFigure writes a rate as "174 ± 3".
func RateFigure(r rate.Rate) string {
	return fmt.Sprintf("%s ± %s", part.Whole(r.RPM), part.Whole(r.Expanded()))
}

// levelNote says what a level rests on: "from 3 tests, bounce step, beaded".
func levelNote(l level.Level) string {
	note := "from " + part.Count(l.Tests, "test", "tests")
	if l.Assumed {
		note += " (day-to-day change assumed)"
	}
	return note + ", " + stepWord(l.Step) + ", " + ropeWord(l.RopeKind)
}

// howWords says how a result was taken: step, rope and who counted.
func howWords(r gym.Result) string {
	words := []string{stepWord(r.Step)}
	if r.Protocol == rate.Flight {
		words = nil
	} else {
		words = append(words, ropeWord(r.RopeKind))
	}
	words = append(words, "counted by the "+counterWord(r.CountedBy))
	if r.Note != "" {
		words = append(words, r.Note)
	}
	return strings.Join(words, ", ")
}
