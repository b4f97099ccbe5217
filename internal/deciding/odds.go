package deciding

import (
	"errors"
	"time"

	"ropewalk.example/internal/cleanrun"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/rate"
)

// Odds are what the next attempt at a clause looks like. Chance is 0 where
// Known is false: there is nothing yet to reckon from.
type Odds struct {
	ladder.Attempt
	Known    bool
	Chance   float64 // of one attempt, 0–1
	Attempts float64 // expected until the first good one
	Basis    Basis
}

// A Basis is what odds rest on: reps and catches, or tries at the task itself.
type Basis struct{ Reps, Catches, Tries int }

// oddsDays is how long reps speak for the next attempt: the usual term of twelve
// weeks (assumed, as in the ladder that ships).
const oddsDays = 84

// Odds returns the odds of each clause of the gate that is not met and has odds.
//
// A clean run, a row or a split is the chance that every rep is clean, steady,
// burst and double reps by their own hazards; tries at a task rest on earlier
// tries at it or, where there are none, on the hazards.
func (g Ground) Odds(a Athlete, stage ladder.Stage) []Odds {
	verdict, ok := g.Verdict(a, stage.Key)
	if !ok {
		return nil
	}
	var all []Odds
	for _, attempt := range stage.Gate.Attempts(a.Known, verdict) {
		all = append(all, a.oddsOf(attempt, g.Today))
	}
	return all
}

func (a Athlete) oddsOf(attempt ladder.Attempt, today time.Time) Odds {
	odds := Odds{Attempt: attempt}
	if attempt.Tries > 0 {
		made, missed := attempt.Tried(recent(a.Evidence, today))
		if chance, err := cleanrun.AtLeast(attempt.Successes, attempt.Tries, made, missed); err == nil {
			return odds.with(chance, Basis{Tries: made + missed})
		}
	}
	tallies := a.tallies(attempt, today)
	chance, basis := 1.0, Basis{}
	for _, part := range []struct {
		reps  int
		tally cleanrun.Tally
	}{{attempt.Clean.Steady, tallies.steady}, {attempt.Clean.Burst, tallies.burst}, {attempt.Clean.Doubles, tallies.doubles}} {
		if part.reps == 0 {
			continue
		}
		known, err := part.tally.Odds(part.reps)
		if errors.Is(err, cleanrun.ErrNoChance) {
			known = cleanrun.Odds{}
		} else if err != nil {
			return odds
		}
		chance *= known.Clean
		basis.Reps, basis.Catches = basis.Reps+part.tally.Reps, basis.Catches+part.tally.Catches
	}
	if attempt.Tries > 0 {
		chance = tailOf(chance, attempt.Successes, attempt.Tries)
	}
	return odds.with(chance, basis)
}

func (o Odds) with(chance float64, basis Basis) Odds {
	o.Known, o.Chance, o.Basis = true, chance, basis
	if chance > 0 {
		o.Attempts = 1 / chance
	}
	return o
}

// tailOf returns the chance of k or more good tries of m, each good with chance p.
func tailOf(p float64, k, m int) float64 {
	exactly := make([]float64, m+1) // good tries so far, by number
	exactly[0] = 1
	for try := range m {
		for good := try + 1; good > 0; good-- {
			exactly[good] = exactly[good]*(1-p) + exactly[good-1]*p
		}
		exactly[0] *= 1 - p
	}
	tail := 0.0
	for good := k; good <= m; good++ {
		tail += exactly[good]
	}
	return tail
}

func recent(evidence []ladder.Evidence, today time.Time) []ladder.Evidence {
	var newest []ladder.Evidence
	for _, e := range evidence {
		if e.Day <= dayOf(today) && e.Day > dayOf(today)-oddsDays {
			newest = append(newest, e)
		}
	}
	return newest
}

// tallies are reps and catches by pace.
type tallies struct{ steady, burst, doubles cleanrun.Tally }

// tallies counts the reps of the last weeks that are of the attempt's step:
// clean runs, base and burst tests, rows of doubles, and sets of the same task.
func (a Athlete) tallies(attempt ladder.Attempt, today time.Time) tallies {
	var t tallies
	for _, r := range a.Results {
		old := dayOf(r.Day) <= dayOf(today)-oddsDays || r.Day.After(today)
		if old || r.Rotations == nil {
			continue
		}
		inStep := attempt.Step == "" || attempt.Step == ladder.Any || attempt.Step == ladder.One || attempt.Step == r.Step
		caught := 1
		if r.StoppedClean {
			caught = 0
		}
		switch {
		case r.Protocol == rate.CleanRun && inStep:
			t.steady = t.steady.Add(cleanrun.Tally{Reps: *r.Rotations, Catches: caught})
		case r.Protocol == rate.Base && inStep && !beyondRope(r):
			t.steady = t.steady.Add(cleanrun.Tally{Reps: *r.Rotations, Catches: r.Catches})
		case r.Protocol == rate.Burst && inStep && !beyondRope(r):
			t.burst = t.burst.Add(cleanrun.Tally{Reps: *r.Rotations, Catches: r.Catches})
		case r.Protocol == rate.DoublesRun:
			t.doubles = t.doubles.Add(cleanrun.Tally{Reps: *r.Rotations, Catches: caught})
		case r.Protocol == string(ladder.Split) && r.Task == attempt.Task && attempt.Target > 0:
			cycles := *r.Rotations
			t.steady = t.steady.Add(cleanrun.Tally{Reps: cycles * attempt.Clean.Steady / attempt.Target})
			t.burst = t.burst.Add(cleanrun.Tally{Reps: cycles * attempt.Clean.Burst / attempt.Target, Catches: caught})
		}
	}
	return t
}

// beyondRope reports whether a timed count is faster than any rope turns: typed
// wrongly, and no evidence of anything.
func beyondRope(r gym.Result) bool {
	return r.Seconds == nil || 60*float64(*r.Rotations) / *r.Seconds > rate.HighestRPM
}
