package review

import (
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/standing"
)

// An Aim is what comes next: the coach's words where there are some, and what
// the gate of the present stage still asks.
type Aim struct {
	Words   string // the coach's, "" where there are none
	Stage   Rung   // whose gate is to be met; the zero Rung where nobody decided on one
	Next    Rung   // which it opens; the zero Rung on the last stage
	Met     bool
	Missing []string // sentences, one for each clause that is not met
}

func (g Ground) aimOf(f Facts, at Rung) Aim {
	aim := Aim{Words: f.Comment.Aim}
	stage, ok := g.Ladder.Stage(at.Key)
	if !ok {
		return aim
	}
	aim.Stage = g.rung(stage.Key)
	if next, more := g.Ladder.Next(stage.Key); more {
		aim.Next = g.rung(next.Key)
	}
	evidence := make([]ladder.Evidence, 0, len(f.Gates)+len(f.Judgements))
	rope := ""
	for _, r := range f.Gates { // newest first
		evidence = append(evidence, standing.OfResult(r))
		if rope == "" {
			rope = r.RopeKind
		}
	}
	for _, j := range f.Judgements {
		evidence = append(evidence, standing.OfJudgement(j))
	}
	verdict := stage.Gate.Evaluate(standing.Athlete(f.Athlete, g.AdultAge, g.AsOf, rope), evidence, ladder.DayOf(g.AsOf))
	aim.Met = verdict.State == ladder.Met
	for _, v := range verdict.Clauses {
		if sentence := g.Words.Missing(clauseOf(stage.Gate, v.Clause), v); sentence != "" {
			aim.Missing = append(aim.Missing, sentence)
		}
	}
	return aim
}

func clauseOf(gate ladder.Gate, key string) ladder.Clause {
	for _, c := range gate.Clauses {
		if c.Key == key {
			return c
		}
	}
	return ladder.Clause{}
}
