package page

import (
	"strconv"

	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/rate"
	"ropewalk.example/web/part"
)

// Keys of the first choices of a setting: each athlete's own.
const (
	OwnDrill   = "own"
	LackedTest = "lacked"
)

func setKinds() []part.Option {
	return []part.Option{{Value: "drill", Text: "A drill"}, {Value: "test", Text: "A test"}, {Value: "stage", Text: "A stage"}}
}

func drillOptions(l ladder.Ladder) []part.Option {
	return append([]part.Option{{Value: OwnDrill, Text: "The drill of each one’s own stage"}}, stageOptions(l)...)
}

// setTests lists what can be tested: what each gate lacks, the timed tests with
// their windows, and everything that a gate of the ladder counts.
func setTests(l ladder.Ladder, words ladder.Words) []part.Option {
	options := []part.Option{{Value: LackedTest, Text: "What each one’s gate lacks first"}}
	for _, p := range rate.Protocols() {
		if p.Measured == rate.Successes || p.Measured == rate.InARow {
			continue // counted against a task, below
		}
		if len(p.Windows) == 0 {
			options = append(options, part.Option{Value: p.Key, Text: TestWords(p.Key, 0, "", "", words)})
		}
		for _, seconds := range p.Windows {
			options = append(options, part.Option{Value: p.Key + " " + strconv.Itoa(int(seconds)), Text: TestWords(p.Key, int(seconds), "", "", words)})
		}
	}
	for _, s := range l.Stages {
		for _, c := range s.Gate.Clauses {
			for _, m := range ladder.Measures() {
				if m.Key == c.Measure && m.Task && c.Measure != ladder.CoachJudges {
					options = append(options, part.Option{Value: string(m.Protocol) + " 0 " + c.Task, Text: TestWords(string(m.Protocol), 0, "", c.TaskText, words)})
				}
			}
		}
	}
	return options
}

// suffix makes the ids of a list's boxes: the first has the field's own.
func suffix(i int) string {
	if i == 0 {
		return ""
	}
	return "-" + strconv.Itoa(i+1)
}
