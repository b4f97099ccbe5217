package page

import (
	"fmt"
	"strconv"
	"strings"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/standing"
	"ropewalk.example/web/part"
)

// DecisionWords says what a decision did: "Moved up from 4 · … to 5 · …".
func DecisionWords(d gym.StageDecision, l ladder.Ladder) string {
	switch d.Verdict {
	case standing.Start:
		return "Placed on " + titleOf(l, d.StageTo) + "."
	case standing.Stay:
		return "Stays on " + titleOf(l, d.StageTo) + "."
	case standing.Back:
		return "A decision was taken back. Stands on " + titleOf(l, d.StageTo) + "."
	}
	return fmt.Sprintf("%s from %s to %s.", verdictWord(d.Verdict), titleOf(l, d.StageFrom), titleOf(l, d.StageTo))
}

func verdictWord(verdict string) string {
	switch verdict {
	case standing.Up:
		return "Moved up"
	case standing.Down:
		return "Moved down"
	}
	return "Moved with the ladder"
}

// DecisionSentence says a decision after the athlete's name: "moved up to 5 · …".
func DecisionSentence(d gym.StageDecision, l ladder.Ladder) string {
	switch d.Verdict {
	case standing.Up:
		return "moved up to " + titleOf(l, d.StageTo)
	case standing.Down:
		return "moved down to " + titleOf(l, d.StageTo)
	case standing.Stay:
		return "stays on " + titleOf(l, d.StageTo)
	}
	return "starts on " + titleOf(l, d.StageTo)
}

// Chance says a chance at the end of a sentence.
func Chance(chance float64) string { return chanceWords(chance) + "." }

// TriedWords says how often and how well something was tried in the weeks that
// count, "" where that adds nothing.
func TriedWords(c ladder.Clause, m ladder.Missing) string {
	if m.Tried == 0 || m.Tried == m.Have {
		return ""
	}
	unit := ""
	for _, measure := range ladder.Measures() {
		if measure.Key == c.Measure {
			unit = measure.Unit
		}
	}
	if unit == "tries" {
		unit = "good tries"
	}
	return fmt.Sprintf("Done %s lately; best so far: %s %s.", timesWord(m.Tried), part.Whole(m.Best), unit)
}

func timesWord(n int) string {
	if n == 1 {
		return "once"
	}
	return part.Count(n, "time", "times")
}

// ResultSentence writes a result with its rate: "Base rate, 30 s: 53 rotations, 106 rpm".
func ResultSentence(r gym.Result, rpm float64) string {
	text := TestName(r) + ": " + Counted(r)
	if rpm > 0 {
		text += ", " + part.Whole(rpm) + "\u00a0rpm"
		if r.Catches == 0 {
			text += ", no catch"
		}
	}
	return text + "."
}

// ResultHow says how a result was made: step, rope, and who counted and saw it.
func ResultHow(r gym.Result) string {
	said := []string{stepWord(r.Step), ropeWord(r.RopeKind), "counted by the " + counterWord(r.CountedBy)}
	if r.LongestRestartSeconds != nil && r.Catches > 0 {
		said = append(said, "longest restart "+part.Seconds(*r.LongestRestartSeconds))
	}
	if r.SeenByCoach {
		said = append(said, "seen by a coach")
	}
	if r.Unattended {
		said = append(said, "no adult present")
	}
	return upperFirst(strings.Join(said, ", ")) + "."
}

// WorkWords says what was set: "Drill of 4 · Steady minute", "60 s base test".
func WorkWords(a gym.Assignment, l ladder.Ladder, words ladder.Words) string {
	if a.Kind == "drill" {
		return "Drill of " + titleOf(l, a.Stage)
	}
	return TestWords(a.Protocol, a.Seconds, a.Step, taskTitle(l, a.Task), words)
}

// TestWords names a test to be done: "60 s base test, bounce step".
func TestWords(protocol string, seconds int, step, task string, words ladder.Words) string {
	name := words.Protocols[ladder.Protocol(protocol)]
	if name == "" {
		name = protocol
		if p, ok := rate.ProtocolOf(protocol); ok {
			name = p.Name
		}
	}
	if seconds > 0 {
		name = strconv.Itoa(seconds) + "\u00a0s " + name
	}
	if task != "" {
		name += ": " + task
	}
	if step != "" {
		name += ", " + words.Steps[step]
	}
	return upperFirst(name)
}

// taskTitle returns the words of a task that a gate of the ladder asks for.
func taskTitle(l ladder.Ladder, task string) string {
	for _, s := range l.Stages {
		for _, c := range s.Gate.Clauses {
			if c.Task == task && task != "" {
				return c.TaskText
			}
		}
	}
	return strings.ReplaceAll(task, "-", " ")
}
