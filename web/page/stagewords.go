package page

import (
	"fmt"
	"strings"

	"github.com/a-h/templ"
	"github.com/google/uuid"

	"ropewalk.example/internal/ladder"
	"ropewalk.example/web/part"
)

func stageURL(key string) templ.SafeURL { return templ.SafeURL("/stages/" + key) }

func stageName(s ladder.Stage) string { return fmt.Sprintf("%d · %s", s.Number, s.Title) }

func ladderURL(id uuid.UUID, below string) templ.SafeURL {
	return templ.SafeURL("/ladders/" + id.String() + below)
}

func ropeURL(id uuid.UUID, below string) templ.SafeURL {
	return templ.SafeURL("/ropes/" + id.String() + below)
}

// stageOptions lists the stages of a ladder by key.
func stageOptions(l ladder.Ladder) []part.Option {
	var options []part.Option
	for _, s := range l.Stages {
		options = append(options, part.Option{Value: s.Key, Text: stageName(s)})
	}
	return options
}

// clauseState shows where a clause or gate stands.
func clauseState(state ladder.State) part.State {
	switch state {
	case ladder.Met:
		return part.GateMet
	case ladder.Expired:
		return part.NeedsLook
	}
	return part.NotYet
}

// weeksOn says how long somebody has been on a stage.
func weeksOn(days int) string {
	switch {
	case days < 1:
		return "since today"
	case days < 14:
		return part.Count(days, "day", "days")
	}
	return part.Count(days/7, "week", "weeks")
}

// drillLine is one block of a drill at somebody's own rates: what to do, and how
// fast, in words.
type drillLine struct{ Do, At string }

// drillLines writes a drill at rates; a rate that nobody knows is left in words.
func drillLines(d ladder.Drill, rates ladder.Rates, words ladder.Words) []drillLine {
	lines, _ := d.At(rates)
	written := make([]drillLine, len(lines))
	for i, line := range lines {
		written[i] = drillLine{Do: blockDo(line, words), At: blockAt(line, words)}
	}
	return written
}

func blockDo(line ladder.Line, words ladder.Words) string {
	do := part.Seconds(line.Seconds)
	if line.Block.Reps > 0 {
		do = part.Count(line.Block.Reps, "rep", "reps")
	}
	if step := words.Steps[line.Block.Step]; step != "" {
		do += ", " + step
	}
	return do
}

func blockAt(line ladder.Line, words ladder.Words) string {
	pace := words.Paces[line.Block.At]
	if line.Block.At == ladder.Free {
		return pace
	}
	if line.Block.Percent > 0 && line.Block.Percent != 100 {
		pace = fmt.Sprintf("%d\u00a0%% of %s", line.Block.Percent, pace)
	}
	if line.Rate == 0 {
		return "at " + pace
	}
	unit := "rpm"
	if line.Block.At == ladder.DoublePace {
		unit = "jumps a minute"
	}
	return fmt.Sprintf("at %s\u00a0%s, %s", part.Whole(line.Rate), unit, pace)
}

// drillSets says how often the blocks are done: "6 times, 30 s rest between".
func drillSets(d ladder.Drill) string {
	var said []string
	if d.Cycles > 1 {
		said = append(said, fmt.Sprintf("%d times over without a pause", d.Cycles))
	}
	if d.Sets > 1 {
		said = append(said, part.Count(d.Sets, "set", "sets"))
	}
	if d.RestSeconds > 0 && d.Sets > 1 {
		said = append(said, part.Seconds(float64(d.RestSeconds))+" rest between")
	}
	return strings.Join(said, ", ")
}

// drillLacks names the rates that a drill needs and nobody knows yet.
func drillLacks(d ladder.Drill, rates ladder.Rates, words ladder.Words) string {
	_, lacking := d.At(rates)
	names := make([]string, len(lacking))
	for i, pace := range lacking {
		names[i] = words.Paces[pace]
	}
	return strings.Join(names, " and ")
}

// allowsWords lists what a stage permits beyond steady turning.
func allowsWords(a ladder.Allows, words ladder.Words) string {
	var said []string
	for _, permitted := range []struct {
		yes bool
		do  ladder.Activity
	}{{a.Bursts, ladder.Bursts}, {a.AllOut, ladder.AllOutTest}, {a.SingleHanded, ladder.SingleHanded}, {a.Doubles, ladder.Doubles}, {a.Triples, ladder.Triples}} {
		if permitted.yes {
			said = append(said, strings.ToLower(words.Activities[permitted.do]))
		}
	}
	if len(said) == 0 {
		return "Steady turning only."
	}
	return upperFirst(strings.Join(said, ", ")) + "."
}

func upperFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// chanceWords says a chance as one says it in a hall: "about 3 in 10".
func chanceWords(chance float64) string {
	switch {
	case chance >= 0.95:
		return "nearly always"
	case chance >= 0.15:
		return fmt.Sprintf("about %d in 10", int(chance*10+0.5))
	case chance >= 0.01:
		return fmt.Sprintf("about 1 in %d", int(1/chance+0.5))
	}
	return "less than 1 in 100"
}

// StageTitle names a stage of a ladder by its key.
func StageTitle(l ladder.Ladder, key string) string { return titleOf(l, key) }

// titleOf names a stage of the ladder, or by its key one that is no longer on it.
func titleOf(l ladder.Ladder, key string) string {
	if s, ok := l.Stage(key); ok {
		return stageName(s)
	}
	if key == "" {
		return "no stage"
	}
	return strings.ReplaceAll(key, "-", " ") + " (no longer on the ladder)"
}

func orDash(text string) string {
	if text == "" {
		return "–"
	}
	return text
}

func clauseWord(state ladder.State) string {
	switch state {
	case ladder.Met:
		return "Met"
	case ladder.Expired:
		return "Too old now"
	}
	return "Not yet"
}

// moveOptions lists every stage with what choosing it means.
func moveOptions(l ladder.Ladder, here ladder.Stage) []part.Option {
	var options []part.Option
	for _, s := range l.Stages {
		way := "Up to "
		switch {
		case s.Number == here.Number:
			way = "Stay on "
		case s.Number < here.Number:
			way = "Down to "
		}
		options = append(options, part.Option{Value: s.Key, Text: way + stageName(s)})
	}
	return options
}

func pathClass(s, here ladder.Stage) string {
	switch {
	case s.Number < here.Number:
		return "behind"
	case s.Number == here.Number:
		return "here"
	}
	return "ahead"
}

func pathWord(s, here ladder.Stage) string {
	switch {
	case s.Number == here.Number:
		return "here now"
	case s.Number == here.Number+1:
		return "next"
	case s.Number < here.Number:
		return "done"
	}
	return ""
}
