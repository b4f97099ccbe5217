package ladder

import "math"

// judge turns the sorted candidates into a verdict on each gate.
func (e *evaluation) judge() []Verdict {
	verdicts := make([]Verdict, len(e.gates))
	rows := make([]ClauseVerdict, 0, len(e.rules)+len(e.gates))
	ids := make([]string, 0, len(e.candidates)+len(e.gates))
	next, left := 0, e.candidates
	for i := range e.gates {
		start, sight := len(rows), ClauseVerdict{Clause: SeenClause, State: NotYet, Missing: Missing{Code: MissingSight}}
		for range e.gates[i].Clauses {
			end := 0
			for end < len(left) && left[end].rule == next {
				end++
			}
			var row ClauseVerdict
			row, ids = e.judgeClause(next, left[:end], ids)
			rows = append(rows, row)
			sight = e.look(sight, left[:end])
			next, left = next+1, left[end:]
		}
		if e.gates[i].SeenByCoach {
			if sight.State == Met {
				sight.Missing = Missing{}
			}
			rows = append(rows, sight)
		}
		verdicts[i].Clauses = rows[start:len(rows):len(rows)]
		verdicts[i].settle()
	}
	return verdicts
}

// look notes in sight the results among counted that a coach has seen.
func (e *evaluation) look(sight ClauseVerdict, counted []candidate) ClauseVerdict {
	for _, c := range counted {
		r := &e.evidence[c.place]
		switch {
		case !r.seen():
		case r.Day >= e.rules[c.rule].since:
			if sight.State != Met {
				sight.State, sight.Results = Met, nil
			}
			sight.Results = appendNew(sight.Results, r.ID)
		case sight.State == NotYet:
			sight.State = Expired
		}
	}
	return sight
}

// seen reports whether a coach saw r: a judgement is a coach's own.
func (r *Evidence) seen() bool { return r.SeenByCoach || r.Protocol == Judged }

func appendNew(ids []string, id string) []string {
	for _, known := range ids {
		if known == id {
			return ids
		}
	}
	return append(ids, id)
}

// A tally counts results of one kind in order of days.
type tally struct {
	state      State
	from, to   int // the results that speak: those that count now, or that met it last
	have, days int // results that count now, and their days
	newest     Day
}

// judgeClause returns the verdict on rule i from its candidates, the best kind of
// step and rope deciding where they must be alike, and the nearest saying what is
// missing: one kind may have been enough once, and another be nearer now. The
// row's ids are put at the end of ids, which has room for them.
func (e *evaluation) judgeClause(i int, counted []candidate, ids []string) (ClauseVerdict, []string) {
	c := &e.rules[i]
	var best, near tally
	var group, nearest []candidate
	have := 0
	for len(counted) > 0 {
		end := 1
		for end < len(counted) && c.alike(&e.evidence[counted[0].place], &e.evidence[counted[end].place]) == 0 {
			end++
		}
		t := e.tally(c, counted[:end])
		have += t.have
		if group == nil || t.better(best) {
			best, group = t, counted[:end]
		}
		if nearest == nil || t.nearer(near) {
			near, nearest = t, counted[:end]
		}
		counted = counted[end:]
	}
	if group == nil {
		best = tally{state: NotYet}
	}
	row := ClauseVerdict{Clause: c.Key, State: best.state}
	start := len(ids)
	for _, g := range group[best.from:best.to] {
		ids = append(ids, e.evidence[g.place].ID)
	}
	if len(ids) > start {
		row.Results = ids[start:len(ids):len(ids)]
	}
	if best.state != Met {
		row.Missing = e.missing(c, near, nearest, have)
	}
	return row, ids
}

// better reports whether t says more for a clause than other.
func (t tally) better(other tally) bool {
	if t.state != other.state {
		return t.state == Met || other.state == NotYet
	}
	return t.nearer(other)
}

// nearer reports whether more of t counts now than of other.
func (t tally) nearer(other tally) bool {
	switch {
	case t.have != other.have:
		return t.have > other.have
	case t.days != other.days:
		return t.days > other.days
	}
	return t.newest > other.newest
}

// tally counts group, which is in order of days, for c: what counts now, and if
// that is not enough, the newest stretch of weeks that was.
func (e *evaluation) tally(c *rule, group []candidate) tally {
	t := tally{state: NotYet, to: len(group), newest: e.day(group, len(group)-1)}
	first, seen := len(group), 0
	for first > 0 && e.day(group, first-1) >= c.since {
		first--
		if first == len(group)-1 || e.day(group, first) != e.day(group, first+1) {
			t.days++
		}
		if e.evidence[group[first].place].seen() {
			seen++
		}
	}
	t.from, t.have = first, len(group)-first
	if c.enough(t.have, t.days, seen) {
		t.state = Met
	} else if from, to, ok := e.wasEnough(c, group); ok {
		t.state, t.from, t.to = Expired, from, to
	}
	return t
}

// wasEnough returns the newest stretch of group, no longer than the weeks that
// count, that was enough for c, and whether there is one.
func (e *evaluation) wasEnough(c *rule, group []candidate) (from, to int, ok bool) {
	if c.WithinWeeks == 0 {
		return 0, 0, false
	}
	var start, days, seen int
	for i := range group {
		if i == 0 || e.day(group, i) != e.day(group, i-1) {
			days++
		}
		if e.evidence[group[i].place].seen() {
			seen++
		}
		for e.day(group, start) <= e.day(group, i)-Day(7*c.WithinWeeks) {
			if e.day(group, start) != e.day(group, start+1) {
				days--
			}
			if e.evidence[group[start].place].seen() {
				seen--
			}
			start++
		}
		if c.enough(i-start+1, days, seen) {
			from, to, ok = start, i+1, true
		}
	}
	return from, to, ok
}

func (e *evaluation) day(group []candidate, i int) Day { return e.evidence[group[i].place].Day }

// enough reports whether so many results on so many days, so many of them seen by
// a coach, meet c.
func (c *rule) enough(results, days, seen int) bool {
	return results >= c.Results && days >= c.Days && (seen > 0 || !c.SeenByCoach)
}

// missing says what c lacks, t being the nearest of its kinds of results, those in
// group, and have the results of all kinds that count now.
func (e *evaluation) missing(c *rule, t tally, group []candidate, have int) Missing {
	m := c.note
	m.Code, m.Have = MissingResults, t.have
	m.Days = max(0, c.Days-t.days)
	m.Results = max(c.Results-t.have, m.Days)
	m.Target = c.Threshold.For(e.athlete.Age)
	if c.measure.quantity == byJudgement {
		m.Code = MissingJudgement
	}
	if m.Results == 0 {
		m.Code, m.Results = MissingSight, 1
	}
	var last *Evidence // of those that count now
	if t.have > 0 {
		last = &e.evidence[group[len(group)-1].place]
		m.NotToday = last.Day == e.today && m.Days > 0 && m.Results == m.Days
		if c.Step == One {
			m.Step = last.Step
		}
		if c.Rope != Any {
			m.Rope = last.Rope
			m.Unlike += have - t.have
		}
	}
	if above := c.Threshold.AboveBase; above != (AboveBase{}) {
		m.Target = 0
		if last == nil {
			last = e.newestBase(c)
		}
		base, ok := 0.0, false
		if last != nil {
			base, ok = e.base(last.Step, last.Rope, e.today, above.WithinWeeks)
		}
		if ok {
			m.Target = math.Ceil(above.over(base))
		} else {
			m.Code = MissingBase
		}
	}
	return m
}

// newestBase returns the newest base test of a step and rope that c takes, or nil.
func (e *evaluation) newestBase(c *rule) *Evidence {
	var newest *Evidence
	for _, i := range e.bases {
		b := &e.evidence[i]
		if !c.takesStep(b.Step) || !c.takesRope(b.Rope, e.athlete.Rope) {
			continue
		}
		if newest == nil || b.Day > newest.Day || b.Day == newest.Day && b.ID > newest.ID {
			newest = b
		}
	}
	return newest
}
