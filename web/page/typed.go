package page

import (
	"fmt"
	"slices"
	"strings"

	"ropewalk.example/internal/rate"
	"ropewalk.example/web/part"
)

// TestSetup is what all rows of a class's test share.
type TestSetup struct {
	Test      string // "base 60": protocol and seconds, or the protocol alone
	Step      string
	RopeKind  string
	Surface   string
	CountedBy string
	Task      string // what is tried, for tests that have a task
	Attempts  string // tries in one go
	Rest      string // seconds between bouts
	OneFoot   bool   // only one foot's steps are counted
	RopeHint  string // on which rope the athlete's stage was begun
}

// Protocol returns the test that is set up, the base test if it is none.
func (s TestSetup) Protocol() rate.Protocol {
	key, _, _ := strings.Cut(s.Test, " ")
	protocol, ok := rate.ProtocolOf(key)
	if !ok {
		protocol, _ = rate.ProtocolOf(rate.Base)
	}
	return protocol
}

// Typed is what was typed of one test, so that nothing is lost on the way back
// to the page.
type Typed struct {
	Rotations string // or reps, doubles, cycles, rounds
	More      []string
	Catches   string
	Lost      string // seconds
	Restart   string // seconds
	Ended     string // EndedCaught or EndedClean
	Bouts     string // "31 29 28 27"
	Flight    string // seconds
	From, To  string // seconds in a clip
	Slow      string // how many times slower the clip plays
	Successes string
}

// How a run ended.
const (
	EndedCaught = "caught"
	EndedClean  = "clean"
)

// MoreCounters is how many counters a form takes beside the first.
const MoreCounters = 4

// more returns what counter i beside the first typed.
func (t Typed) more(i int) string {
	if i < len(t.More) {
		return t.More[i]
	}
	return ""
}

// Empty reports whether nothing was typed.
func (t Typed) Empty() bool {
	return t.Rotations+strings.Join(t.More, "")+t.Catches+t.Lost+t.Restart+t.Bouts+t.Flight+t.From+t.To+t.Successes == ""
}

// value returns what was typed under a field's name.
func (t Typed) value(field string) string {
	switch field {
	case "catches":
		return t.Catches
	case "lost":
		return t.Lost
	case "restart":
		return t.Restart
	case "ended":
		return t.Ended
	case "bouts":
		return t.Bouts
	case "flight":
		return t.Flight
	case "successes":
		return t.Successes
	default:
		return t.Rotations
	}
}

// A column is one field of each row of a class's sheet.
type column struct {
	name  string
	head  string
	of    string // "Rotations of", before the athlete's name
	kind  part.Kind
	chars int
	most  int
}

// columns returns what a sheet asks of each athlete.
func columns(p rate.Protocol) []column {
	rotations := column{"rotations", countWord(p), countWord(p) + " of", part.WholeNumber, 5, 5}
	ended := column{"ended", "Ended", "How it ended for", part.Select, 0, 0}
	switch p.Measured {
	case rate.Run, rate.Doubles:
		return []column{rotations, ended}
	case rate.InARow:
		return []column{rotations}
	case rate.Bouts:
		return []column{{"bouts", "Rotations, bout by bout", "Rotations of each bout of", part.Text, 20, 80}}
	case rate.FlightTime:
		return []column{{"flight", "Flight time, s", "Seconds in the air of", part.Decimal, 5, 6}}
	case rate.Successes:
		return []column{{"successes", "Good tries", "Good tries of", part.WholeNumber, 3, 2}}
	}
	list := []column{rotations, {"catches", "Catches", "Catches of", part.WholeNumber, 3, 2},
		{"lost", "Seconds lost to catches", "Seconds lost to catches by", part.Decimal, 3, 5}}
	if p.Key == rate.Base {
		list = append(list, column{"restart", "Longest restart, s", "Longest restart of", part.Decimal, 3, 5})
	}
	return list
}

// FirstColumn returns the name of the first field that a sheet asks for.
func FirstColumn(p rate.Protocol) string { return columns(p)[0].name }

// countWord names what is counted: "Rotations", "Clean reps", "Doubles in a row".
func countWord(p rate.Protocol) string {
	switch {
	case p.Measured == rate.Run:
		return "Clean reps"
	case p.Measured == rate.Doubles:
		return "Doubles in a row"
	case p.Key == rate.Cycles:
		return "Cycles in a row"
	case p.Key == rate.Rounds:
		return "Rounds in a row"
	default:
		return "Rotations"
	}
}

// HasTask reports whether a test is counted against a task.
func HasTask(p rate.Protocol) bool {
	return p.Measured == rate.Successes || p.Measured == rate.InARow
}

// FixedStep returns the step that a test is always done in, "" if one chooses.
func FixedStep(p rate.Protocol) string {
	switch p.Key {
	case rate.DoublesRun, rate.InDouble, rate.Flight, rate.Tries, rate.Rounds:
		return "double"
	}
	return ""
}

// A TestKind is one test to choose.
type TestKind struct {
	Text    string
	Href    string
	Current bool
}

// TestKinds lists the tests with where their forms are: below with "?test=".
// Rates come first, then what is counted in a row, then the rest.
func TestKinds(below, current string) []TestKind {
	var rates, rows, others []TestKind
	for _, p := range rate.Protocols() {
		kind := TestKind{Text: p.Name, Href: below + "?test=" + p.Key, Current: p.Key == current}
		switch p.Measured {
		case rate.Rotations, rate.Bouts:
			rates = append(rates, kind)
		case rate.Run, rate.Doubles, rate.InARow:
			rows = append(rows, kind)
		default:
			others = append(others, kind)
		}
	}
	return slices.Concat(rates, rows, others)
}

// TestHint says in a sentence how a test is done.
func TestHint(p rate.Protocol) string {
	switch p.Key {
	case rate.Base:
		return "As fast as feels easy, for the whole time. A minute tells most."
	case rate.Burst:
		return "As fast as possible, for a few seconds."
	case rate.AllOut:
		return "As many as possible in the time. Two lengths, such as 30 and 180 s, show how long a rate lasts."
	case rate.CleanRun:
		return "Count until the rope catches, or until you stop it clean."
	case rate.RepeatBurst:
		return "The same short all-out bout again and again, with the same rest between. Four bouts or more."
	case rate.Flight:
		return "Time in the air of one jump: from a slow-motion clip or a jump mat."
	case rate.DoublesRun:
		return "Double unders one after the other, until the rope catches."
	case rate.InDouble:
		return "Both handles in one hand, rope at the side, two turns a jump. Count every turn of the rope."
	case rate.Tries:
		return "So many tries at one task. A gate asks for 3 good ones of 5."
	case rate.Cycles:
		return "Cycles of a split without a catch."
	case rate.Rounds:
		return "Rounds of a pattern without a catch."
	}
	return ""
}

// TestCaution says who should not do a test, "" if anybody may. stage is 0 where
// nobody has decided on one.
func TestCaution(p rate.Protocol, stage int, minor bool) string {
	text := ""
	if p.FromStage > 0 && stage > 0 && stage < p.FromStage {
		text = fmt.Sprintf("This test is for stage %d and up. This athlete stands at stage %d.", p.FromStage, stage)
	}
	if p.AllOut && minor {
		if text != "" {
			text += " "
		}
		text += "All-out tests of under-age athletes only with an adult in charge present."
	}
	return text
}
