package ladder

import (
	"math"
)

// Evaluate says how g stands today for a, from the evidence in any order, in one
// pass over it. Evidence after today is not looked at, nor is what other evidence
// replaces. More evidence never takes back a clause; only time, a replacement, or
// a change of rope where the clause says [Own] does.
func (g Gate) Evaluate(a Athlete, evidence []Evidence, today Day) Verdict {
	return newEvaluation([]Gate{g}).run(a, evidence, today)[0]
}

// Evaluate returns how the gate of every stage of l stands today for a, in the
// order of the stages, in one pass over the evidence. See [Gate.Evaluate].
func (l Ladder) Evaluate(a Athlete, evidence []Evidence, today Day) []Verdict {
	return newEvaluation(l.gates()).run(a, evidence, today)
}

// A Case is one athlete with the evidence, for work on many at once.
type Case struct {
	ID       string
	Athlete  Athlete
	Evidence []Evidence
}

// EvaluateAll returns what [Ladder.Evaluate] returns for each case.
func (l Ladder) EvaluateAll(cases []Case, today Day) [][]Verdict {
	e := newEvaluation(l.gates())
	verdicts := make([][]Verdict, len(cases))
	for i, c := range cases {
		verdicts[i] = e.run(c.Athlete, c.Evidence, today)
	}
	return verdicts
}

func (l Ladder) gates() []Gate {
	gates := make([]Gate, len(l.Stages))
	for i, s := range l.Stages {
		gates[i] = s.Gate
	}
	return gates
}

// An evaluation holds gates made ready, and the room to work in.
type evaluation struct {
	gates      []Gate
	rules      []rule // every clause of every gate, in order
	athlete    Athlete
	evidence   []Evidence
	today      Day
	replaced   map[string]bool // by id
	bases      []int           // places of the base tests that a burst can be held against
	candidates []candidate
}

// A rule is a clause with its measure looked up, and notes of the pass.
type rule struct {
	*Clause
	measure Measure
	since   Day // the first day that counts
	note    Missing
}

// A candidate is a result that is about a rule's clause; hurdle says why it does
// not count, if it does not.
type candidate struct {
	rule, place int
	hurdle      hurdle
}

type hurdle int

const (
	none hurdle = iota
	otherRope
	unattended
	untimed
)

func newEvaluation(gates []Gate) *evaluation {
	e := &evaluation{gates: gates}
	for i := range gates {
		for j := range gates[i].Clauses {
			c := &gates[i].Clauses[j]
			m, _ := measureOf(c.Measure) // an unknown measure has no protocol and is never met
			e.rules = append(e.rules, rule{Clause: c, measure: m})
		}
	}
	return e
}

func (e *evaluation) run(a Athlete, evidence []Evidence, today Day) []Verdict {
	e.athlete, e.evidence, e.today = a, evidence, today
	e.prepare()
	e.read()
	e.sift()
	return e.judge()
}

// prepare clears the notes of the last athlete and finds what is replaced.
func (e *evaluation) prepare() {
	e.bases, e.candidates = e.bases[:0], e.candidates[:0]
	e.replaced = replaced(e.evidence)
	for i := range e.rules {
		r := &e.rules[i]
		r.note, r.since = Missing{}, math.MinInt
		if r.WithinWeeks > 0 {
			r.since = e.today - Day(7*r.WithinWeeks) + 1
		}
	}
}

// read is the one pass: which result is about which clause.
func (e *evaluation) read() {
	for i := range e.evidence {
		r := &e.evidence[i]
		if r.Day > e.today || len(e.replaced) > 0 && e.replaced[r.ID] {
			continue
		}
		if r.Protocol == Base && r.RPM > 0 && r.Catches <= baseCatchesMost && !e.alone(r) {
			e.bases = append(e.bases, i)
		}
		for j := range e.rules {
			c := &e.rules[j]
			if c.measure.Protocol != r.Protocol || !c.about(r) {
				continue
			}
			e.candidates = append(e.candidates, candidate{j, i, e.hurdle(c, r)})
		}
	}
}

// alone reports whether r was made by a minor with no adult present.
func (e *evaluation) alone(r *Evidence) bool { return r.Unattended && e.athlete.Minor }

// about reports whether r is of the kind that c asks for, whatever its value.
func (c *rule) about(r *Evidence) bool {
	switch {
	case c.Task != "" && c.Task != r.Task:
		return false
	case c.Of > 0 && r.Tries != c.Of:
		return false
	case !c.takesStep(r.Step):
		return false
	case c.measure.quantity == byRPM && !(r.RPM > 0):
		return false
	case c.Seconds == 0:
		return true
	}
	const sameWindow = 0.5 // s, a window kept by hand
	off := r.Seconds - float64(c.Seconds)
	return math.Abs(off) <= sameWindow || c.measure.longer && off > 0
}

func (e *evaluation) hurdle(c *rule, r *Evidence) hurdle {
	switch {
	case e.alone(r):
		return unattended
	case !c.takesRope(r.Rope, e.athlete.Rope):
		return otherRope
	case c.RestartWithinSeconds > 0 && r.Catches > 0 && r.RestartWithinSeconds == 0:
		return untimed
	}
	return none
}

// takesStep reports whether a result in step can count.
func (c *rule) takesStep(step string) bool {
	return c.Step == "" || c.Step == Any || c.Step == One || c.Step == step
}

// takesRope reports whether a result on kind can count, own being the kind that
// the athlete uses now. Whether results are alike is seen later.
func (c *rule) takesRope(kind, own RopeKind) bool {
	switch c.Rope {
	case "", One, Any:
		return true
	case Own:
		return own == "" || kind == own
	}
	return string(kind) == c.Rope
}

// value returns the number of r that c compares.
func (c *rule) value(r *Evidence) float64 {
	switch c.measure.quantity {
	case byRPM:
		return r.RPM
	case byCatches:
		return float64(r.Catches)
	case byReps:
		return float64(r.Reps)
	case bySuccesses:
		return float64(r.Successes)
	}
	return 0
}

// reached reports whether r reaches c's threshold.
func (e *evaluation) reached(c *rule, r *Evidence) bool {
	if c.measure.quantity == byJudgement {
		return r.Good
	}
	if c.RestartWithinSeconds > 0 && r.RestartWithinSeconds > c.RestartWithinSeconds {
		return false
	}
	target := c.Threshold.For(e.athlete.Age)
	if above := c.Threshold.AboveBase; above != (AboveBase{}) {
		base, ok := e.base(r.Step, r.Rope, r.Day, above.WithinWeeks)
		if !ok {
			return false
		}
		target = above.over(base)
	}
	if c.Comparison == AtMost {
		return c.value(r) <= target
	}
	return c.value(r) >= target
}

// base returns the lowest rate, in rpm, of the base tests of the step and rope on
// day and in the weeks before.
func (e *evaluation) base(step string, rope RopeKind, day Day, weeks int) (rpm float64, ok bool) {
	rpm = math.Inf(1)
	for _, i := range e.bases {
		b := &e.evidence[i]
		if b.Step == step && b.Rope == rope && b.Day <= day && b.Day > day-Day(7*weeks) {
			rpm = min(rpm, b.RPM)
		}
	}
	return rpm, !math.IsInf(rpm, 1)
}
