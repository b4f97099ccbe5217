package ladder

import (
	"cmp"
	"slices"
)

// A Standing is where one athlete stands, with the verdict on the gate of that
// stage.
type Standing struct {
	Athlete string
	Stage   string // key
	Since   Day    // on this stage
	Verdict Verdict
}

// A Class is who stands where. Nobody is ranked: athletes stay in the order given.
type Class struct {
	Stages []StageCount // every stage of the ladder, in its order
	Ready  []string     // whose gate is met today
	Stuck  []Stuck      // longest first
	Astray []string     // whose stage the ladder does not have, see [Place]
}

// A StageCount is who stands on a stage, and which clause most of them lack.
type StageCount struct {
	Stage    Stage
	Athletes []string
	Ready    []string
	Lacking  []Lack // most athletes first; ties in the gate's order
}

// A Lack is how many athletes of a stage lack a clause. Clause may be
// [SeenClause].
type Lack struct {
	Clause   string
	Athletes []string
}

// Stuck is an athlete who has been on a stage for long and is not ready.
type Stuck struct {
	Athlete string
	Stage   string
	Days    int
	Lacking []string // keys of clauses, in the gate's order
}

// StuckDays is how long somebody may be on a stage before [Ladder.Class] lists
// them: four weeks. Assumed; a gym may take another number.
const StuckDays = 28

// Class returns who of the standings stands where on l today. Stuck are those who
// are not ready after stuckDays.
func (l Ladder) Class(standings []Standing, today Day, stuckDays int) Class {
	class := Class{Stages: make([]StageCount, len(l.Stages))}
	for i, s := range l.Stages {
		class.Stages[i].Stage = s
	}
	for _, s := range standings {
		i := l.index(s.Stage)
		if i < 0 {
			class.Astray = append(class.Astray, s.Athlete)
			continue
		}
		on := &class.Stages[i]
		on.Athletes = append(on.Athletes, s.Athlete)
		if s.Verdict.State == Met {
			on.Ready = append(on.Ready, s.Athlete)
			class.Ready = append(class.Ready, s.Athlete)
			continue
		}
		lacking := s.Verdict.lacking()
		for _, clause := range lacking {
			on.lack(clause, s.Athlete)
		}
		if days := int(today - s.Since); days >= stuckDays {
			class.Stuck = append(class.Stuck, Stuck{s.Athlete, s.Stage, days, lacking})
		}
	}
	for i := range class.Stages {
		class.Stages[i].sortLacking()
	}
	slices.SortStableFunc(class.Stuck, func(a, b Stuck) int { return cmp.Compare(b.Days, a.Days) })
	return class
}

// lacking returns the keys of the clauses of v that are not met.
func (v Verdict) lacking() []string {
	var keys []string
	for _, c := range v.Clauses {
		if c.State != Met {
			keys = append(keys, c.Clause)
		}
	}
	return keys
}

func (s *StageCount) lack(clause, athlete string) {
	for i := range s.Lacking {
		if s.Lacking[i].Clause == clause {
			s.Lacking[i].Athletes = append(s.Lacking[i].Athletes, athlete)
			return
		}
	}
	s.Lacking = append(s.Lacking, Lack{clause, []string{athlete}})
}

func (s *StageCount) sortLacking() {
	place := func(clause string) int {
		return slices.IndexFunc(s.Stage.Gate.Clauses, func(c Clause) bool { return c.Key == clause })
	}
	slices.SortStableFunc(s.Lacking, func(a, b Lack) int {
		if by := cmp.Compare(len(b.Athletes), len(a.Athletes)); by != 0 {
			return by
		}
		if a.Clause == SeenClause || b.Clause == SeenClause {
			return cmp.Compare(place(b.Clause), place(a.Clause)) // the seen row, at -1, comes last
		}
		return cmp.Compare(place(a.Clause), place(b.Clause))
	})
}

// A Preview is what would change for some athletes if a gate were another.
type Preview struct {
	Ready  []string // under the new gate
	Gained []string // ready under the new gate only
	Lost   []string // ready under the old gate only
}

// PreviewGate returns who of cases is ready today under the gate now, and what
// changes against the gate before. Athletes stay in the order given.
func PreviewGate(before, now Gate, cases []Case, today Day) Preview {
	var p Preview
	e := newEvaluation([]Gate{before, now})
	for _, c := range cases {
		v := e.run(c.Athlete, c.Evidence, today)
		was, is := v[0].State == Met, v[1].State == Met
		switch {
		case is && !was:
			p.Gained = append(p.Gained, c.ID)
		case was && !is:
			p.Lost = append(p.Lost, c.ID)
		}
		if is {
			p.Ready = append(p.Ready, c.ID)
		}
	}
	return p
}
