package finding

import (
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/cleanrun"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/rate"
)

// Catches says how often the rope catches, at base and in bursts apart: most
// athletes catch several times as often in bursts.
type Catches struct {
	Steady, Burst Hazard
}

// A Hazard is the chance of a catch at each rep of one pace.
type Hazard struct {
	cleanrun.Tally
	cleanrun.Hazard     // zero where no rep was tried
	FromTests       int // trials from timed tests and clean runs
	FromSets        int // trials from sets of plans
}

// Reps that must have been tried before a hazard speaks for a plan (assumed).
const (
	leastSteady = 30
	leastBurst  = 20
)

// CatchesOf counts reps and catches of the last six weeks: of clean runs, base
// and burst tests in the base's step and on its rope, and of the sets of plans,
// as logged set by set, else as the session was told of. The reps of a set are
// those that its plan asked for.
func CatchesOf(r Record, base level.Level, day time.Time) Catches {
	var c Catches
	for _, result := range r.Results {
		if within(result.Day, day, recentDays) && result.Step == base.Step && result.RopeKind == base.RopeKind && level.Counts(result) {
			c.addTest(result)
		}
	}
	logged := map[uuid.UUID]bool{}
	for _, log := range r.Logs {
		if plan := r.plan(log.PlanID); plan != nil && within(gym.DayIn(log.DoneAt, time.UTC), day.AddDate(0, 0, 1), recentDays+1) {
			c.addSet(*plan, log)
			logged[log.PlanID] = true
		}
	}
	for _, d := range r.Debriefs {
		if plan := r.plan(d.PlanID); plan != nil && !logged[d.PlanID] && within(d.Day, day, recentDays) {
			c.addSession(*plan, d)
		}
	}
	c.Steady.Hazard, _ = c.Steady.Tally.Hazard(confidence) // zero without a trial
	c.Burst.Hazard, _ = c.Burst.Tally.Hazard(confidence)
	return c
}

func (c *Catches) addTest(r gym.Result) {
	if r.Rotations == nil {
		return
	}
	caught := 1
	if r.StoppedClean {
		caught = 0
	}
	switch r.Protocol {
	case rate.CleanRun:
		c.Steady.test(*r.Rotations, caught)
	case rate.Base:
		c.Steady.test(*r.Rotations, r.Catches)
	case rate.Burst:
		c.Burst.test(*r.Rotations, r.Catches)
	}
}

func (c *Catches) addSet(p planner.Plan, log gym.SetLog) {
	cycles := p.Cycles
	if p.Split.Burst > 0 {
		cycles = log.Bursts
	} else if log.Shortened {
		return // nobody knows how short
	}
	c.Steady.set(cycles*p.Split.Steady, log.CatchesSteady)
	if !p.Split.Double {
		c.Burst.set(cycles*p.Split.Burst, log.CatchesBurst)
	}
}

// addSession counts a session as one word: bursts that were not clean had a
// catch each, other catches came at base.
func (c *Catches) addSession(p planner.Plan, d gym.Debrief) {
	sets := p.Sets
	if d.SetsDone != nil {
		sets = *d.SetsDone
	}
	inBursts := 0
	if d.Bursts != nil && d.CleanBursts != nil {
		inBursts = max(0, *d.Bursts-*d.CleanBursts)
		if p.Split.Burst > 0 && !p.Split.Double {
			c.Burst.set(*d.Bursts*p.Split.Burst, inBursts)
		}
	}
	if d.Catches != nil && d.SetsDone != nil {
		c.Steady.set(sets*p.Cycles*p.Split.Steady, max(0, *d.Catches-inBursts))
	}
}

func (h *Hazard) test(reps, catches int) {
	h.Tally = h.Tally.Add(cleanrun.Tally{Reps: reps, Catches: catches})
	h.FromTests += reps + catches
}

func (h *Hazard) set(reps, catches int) {
	h.Tally = h.Tally.Add(cleanrun.Tally{Reps: reps, Catches: catches})
	h.FromSets += reps + catches
}

// ForPlans returns the hazards to plan by, nil where too few reps at base were
// tried. guessed tells that bursts have too few, so that the base's hazard
// stands in for theirs.
func (c Catches) ForPlans() (hazard *planner.Hazard, guessed bool) {
	if c.Steady.Trials() < leastSteady {
		return nil, false
	}
	if c.Burst.Trials() < leastBurst {
		return &planner.Hazard{Steady: c.Steady.Rate, Burst: c.Steady.Rate}, true
	}
	return &planner.Hazard{Steady: c.Steady.Rate, Burst: c.Burst.Rate}, false
}
