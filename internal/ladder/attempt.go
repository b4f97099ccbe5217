package ladder

// An Attempt is one go at a clause, for asking what the odds are: all of Clean
// must be clean in a row; with Tries above 0, Clean is one try and Successes of
// Tries must be good. Rates and numbers of catches have no such odds.
type Attempt struct {
	Clause    string
	Measure   string
	Task      string
	Step      string   // as in [Clause.Step]
	Rope      RopeKind // the kind to use, "" if it is open
	Target    int      // reps, doubles, cycles, rounds or good tries
	Clean     Portion
	Successes int
	Tries     int

	Completes bool // one success today meets the clause
	NotToday  bool // a success today would not help
}

// Tried returns how many tries at a's task the evidence holds, made and missed: what
// the odds of an attempt with tries rest on.
func (a Attempt) Tried(evidence []Evidence) (made, missed int) {
	gone := replaced(evidence)
	for _, e := range evidence {
		if e.Protocol == Tries && e.Task == a.Task && !gone[e.ID] {
			made, missed = made+e.Successes, missed+max(0, e.Tries-e.Successes)
		}
	}
	return made, missed
}

// Attempts returns an attempt for each clause of g that is not met in v, the
// verdict on g, and that has odds, in g's order.
func (g Gate) Attempts(a Athlete, v Verdict) []Attempt {
	var attempts []Attempt
	for i, c := range g.Clauses {
		m, ok := measureOf(c.Measure)
		if i >= len(v.Clauses) || v.Clauses[i].State == Met || !ok || !m.hasOdds() {
			continue
		}
		lacks := v.Clauses[i].Missing
		attempt := Attempt{
			Clause: c.Key, Measure: c.Measure, Task: c.Task, Step: c.Step, Rope: lacks.Rope,
			Target:    int(c.Threshold.For(a.Age)),
			Completes: lacks.Results == 1 && !lacks.NotToday,
			NotToday:  lacks.NotToday,
		}
		each := c.each()
		if c.Of > 0 {
			attempt.Clean, attempt.Successes, attempt.Tries = each, attempt.Target, c.Of
		} else {
			attempt.Clean = each.times(attempt.Target)
		}
		attempts = append(attempts, attempt)
	}
	return attempts
}

// hasOdds reports whether the measure counts clean reps or good tries.
func (m Measure) hasOdds() bool { return m.quantity == byReps || m.quantity == bySuccesses }

// each returns the reps in one unit of c's threshold.
func (c Clause) each() Portion {
	switch {
	case c.Each != Portion{}:
		return c.Each
	case c.Measure == "doubles_in_a_row":
		return Portion{Doubles: 1}
	}
	return Portion{Steady: 1}
}
