package page

import (
	"fmt"

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
	if r.Rotations == nil {
		return "–"
	}
	text := part.Count(*r.Rotations, "rotation", "rotations")
	if r.Catches > 0 {
		text += ", " + part.Count(r.Catches, "catch", "catches")
	}
	return text
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
