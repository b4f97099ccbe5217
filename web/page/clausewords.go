package page

import (
	"slices"
	"strconv"
	"strings"

	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/rate"
	"ropewalk.example/web/part"
)

// counts reports whether the clause asks for numbers; a coach's look does not.
func (f ClauseForm) counts() bool { return f.Measure.Key != ladder.CoachJudges }

// hasEach reports whether the clause counts cycles, rounds or tries, which hold
// several reps each.
func (f ClauseForm) hasEach() bool { return f.counts() && f.Measure.Task }

// timed reports whether its tests have a length.
func (f ClauseForm) timed() bool {
	protocol, ok := rate.ProtocolOf(string(f.Measure.Protocol))
	return ok && protocol.Measured == rate.Rotations
}

func (f ClauseForm) valueLabel() string {
	if f.Measure.Key == "good_tries" {
		return "How many good tries"
	}
	return upperFirst(f.Measure.Unit)
}

// tasks lists what gates of this ladder's stage ask for already, to choose again.
func (f ClauseForm) tasks() []string {
	var tasks []string
	for _, c := range f.Stage.Gate.Clauses {
		if c.TaskText != "" {
			tasks = append(tasks, c.TaskText)
		}
	}
	return tasks
}

func measureOptions(words ladder.Words) []part.Option {
	var options []part.Option
	for _, m := range ladder.Measures() {
		options = append(options, part.Option{Value: m.Key, Text: words.Measures[m.Key].Label})
	}
	return options
}

func comparisonOptions(m ladder.Measure, words ladder.Words) []part.Option {
	var options []part.Option
	for _, c := range m.Comparisons {
		options = append(options, part.Option{Value: string(c), Text: words.Comparisons[c]})
	}
	return options
}

func againstOptions() []part.Option {
	return []part.Option{{Value: "base", Text: "the athlete’s own base rate"}, {Value: "value", Text: "one number for all"}}
}

// windowOptions lists the lengths that a test of the measure has.
func windowOptions(m ladder.Measure) []part.Option {
	options := []part.Option{{Value: "", Text: "any length"}}
	protocol, _ := rate.ProtocolOf(string(m.Protocol))
	for _, seconds := range protocol.Windows {
		options = append(options, part.Option{Value: strconv.Itoa(int(seconds)), Text: part.Seconds(seconds)})
	}
	return options
}

func stepRules(words ladder.Words) []part.Option {
	options := []part.Option{{Value: ladder.Any, Text: words.StepRules[ladder.Any]}, {Value: ladder.One, Text: words.StepRules[ladder.One]}}
	for _, step := range ladder.Steps() {
		options = append(options, part.Option{Value: step, Text: words.Steps[step]})
	}
	return options
}

func ropeRules(words ladder.Words) []part.Option {
	var options []part.Option
	for _, rule := range []string{ladder.One, ladder.Own, ladder.Any} {
		options = append(options, part.Option{Value: rule, Text: words.RopeRules[rule]})
	}
	for _, kind := range ladder.RopeKinds() {
		options = append(options, part.Option{Value: string(kind), Text: words.Ropes[kind]})
	}
	return options
}

// clauseOn says in which step and on which rope results count: "Bounce step, all
// on one kind of rope." It is "" where the coach judges.
func clauseOn(c ladder.Clause, words ladder.Words) string {
	if c.Measure == ladder.CoachJudges {
		return ""
	}
	of := func(options []part.Option, value string) string {
		i := slices.IndexFunc(options, func(o part.Option) bool { return o.Value == value })
		if i < 0 {
			return value
		}
		return options[i].Text
	}
	return upperFirst(of(stepRules(words), c.Step)) + ", " + of(ropeRules(words), c.Rope) + "."
}

func blockUnits() []part.Option {
	return []part.Option{{Value: "reps", Text: "reps"}, {Value: "seconds", Text: "seconds"}}
}

func paceOptions(words ladder.Words) []part.Option {
	var options []part.Option
	for _, pace := range ladder.Paces() {
		options = append(options, part.Option{Value: string(pace), Text: words.Paces[pace]})
	}
	return options
}

func blockSteps(words ladder.Words) []part.Option {
	options := []part.Option{{Value: "", Text: "no rope under the feet"}}
	for _, step := range ladder.Steps() {
		options = append(options, part.Option{Value: step, Text: words.Steps[step]})
	}
	return options
}

func allowOptions(words ladder.Words) []part.Option {
	var options []part.Option
	for _, do := range ladder.Activities() {
		if do != ladder.GateAttempt {
			options = append(options, part.Option{Value: string(do), Text: words.Activities[do]})
		}
	}
	return options
}

func protocolOptions(words ladder.Words) []part.Option {
	var options []part.Option
	for _, p := range ladder.Protocols() {
		options = append(options, part.Option{Value: string(p), Text: upperFirst(words.Protocols[p])})
	}
	return options
}

// FirstStageForm writes a stage into the form that changes it.
func FirstStageForm(s ladder.Stage) StageForm {
	f := StageForm{Key: s.Key, Number: s.Number, Title: s.Title, Purpose: s.Purpose, LookFor: strings.Join(s.LookFor, "\n"),
		Faults: append(append([]ladder.Fault{}, s.Faults...), ladder.Fault{}, ladder.Fault{}), Drill: s.Drill.Text,
		Cycles: numberOrNone(s.Drill.Cycles), Sets: numberOrNone(s.Drill.Sets), Rest: numberOrNone(s.Drill.RestSeconds),
		RopeAdvice: s.RopeAdvice, Caution: s.Caution, Checks: map[ladder.Point]string{}}
	for _, b := range s.Drill.Blocks {
		block := BlockForm{Count: numberOrNone(b.Reps), Unit: "reps", At: string(b.At), Percent: numberOrNone(b.Percent), Step: b.Step}
		if b.Seconds > 0 {
			block.Count, block.Unit = strconv.Itoa(b.Seconds), "seconds"
		}
		f.Blocks = append(f.Blocks, block)
	}
	f.Blocks = append(f.Blocks, BlockForm{Unit: "reps", At: string(ladder.Free)})
	for _, c := range s.Checks {
		f.Checks[c.Point] = c.Text
	}
	for do, yes := range map[ladder.Activity]bool{ladder.Bursts: s.Allows.Bursts, ladder.AllOutTest: s.Allows.AllOut,
		ladder.SingleHanded: s.Allows.SingleHanded, ladder.Doubles: s.Allows.Doubles, ladder.Triples: s.Allows.Triples} {
		if yes {
			f.Allows = append(f.Allows, string(do))
		}
	}
	for _, p := range s.AlsoMeasure {
		f.AlsoMeasure = append(f.AlsoMeasure, string(p))
	}
	return f
}

// FirstClauseForm writes a clause into the form that changes it.
func FirstClauseForm(c ladder.Clause, m ladder.Measure) ClauseForm {
	f := ClauseForm{Key: c.Key, Measure: m, Task: c.TaskText, Steady: numberOrNone(c.Each.Steady), Burst: numberOrNone(c.Each.Burst),
		Doubles: numberOrNone(c.Each.Doubles), Seconds: numberOrNone(c.Seconds), Step: c.Step, Rope: c.Rope, Comparison: string(c.Comparison),
		Value: decimal(c.Threshold.Value), Against: "value", Of: numberOrNone(c.Of), Results: strconv.Itoa(c.Results), Days: strconv.Itoa(c.Days),
		Weeks: numberOrNone(c.WithinWeeks), Seen: c.SeenByCoach}
	if c.RestartWithinSeconds > 0 {
		f.Restart = decimal(c.RestartWithinSeconds)
	}
	if len(c.Threshold.Under) > 0 {
		f.Age, f.Young = strconv.Itoa(c.Threshold.Under[0].Age), decimal(c.Threshold.Under[0].Value)
	}
	if above := c.Threshold.AboveBase; above != (ladder.AboveBase{}) {
		f.Against, f.Value = "base", ""
		f.AboveRPM, f.AbovePercent, f.BaseWeeks = decimal(above.RPM), decimal(above.Percent), strconv.Itoa(above.WithinWeeks)
	}
	return f
}

// numberOrNone writes a number, "" for 0.
func numberOrNone(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

func decimal(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
