package review

import (
	"time"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/standing"
)

// A Climb is where an athlete stood on the ladder over the span.
type Climb struct {
	Start Rung // at the start of the term, or where the athlete began within it
	End   Rung
	Since time.Time // day on which the last stage was reached
	Moves []Move
}

// A Rung is one stage of the ladder; the zero Rung is nowhere yet.
type Rung struct {
	Key    string
	Number int // in the ladder in use, 0 for a stage that it no longer has
	Title  string
}

// Known reports whether somebody had decided on a stage.
func (r Rung) Known() bool { return r.Key != "" }

// A Move is one change of stage.
type Move struct {
	Day      time.Time
	From, To Rung
	Up       bool
}

// Ups returns how many stages up were made.
func (c Climb) Ups() int {
	ups := 0
	for _, m := range c.Moves {
		if m.Up {
			ups++
		}
	}
	return ups
}

// climbOf follows the decisions that hold.
func (g Ground) climbOf(decisions []gym.StageDecision) Climb {
	var c Climb
	for _, d := range standing.Holding(decisions) {
		to := g.rung(d.StageTo)
		switch {
		case d.DecidedOn.After(g.AsOf):
		case d.DecidedOn.Before(g.Term.StartsOn):
			if to.Key != c.End.Key {
				c.Since = d.DecidedOn
			}
			c.Start, c.End = to, to
		case !c.End.Known(): // the first decision of all: where the athlete began
			c.Start, c.End, c.Since = to, to, d.DecidedOn
		case to.Key != c.End.Key:
			up := d.Verdict == standing.Up || d.Verdict != standing.Down && to.Number > c.End.Number
			c.Moves = append(c.Moves, Move{Day: d.DecidedOn, From: c.End, To: to, Up: up})
			c.End, c.Since = to, d.DecidedOn
		}
	}
	return c
}

func (g Ground) rung(key string) Rung {
	if stage, ok := g.Ladder.Stage(key); ok {
		return Rung{Key: key, Number: stage.Number, Title: stage.Title}
	}
	return Rung{Key: key, Title: g.Titles[key]}
}
