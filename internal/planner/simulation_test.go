package planner

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"ropewalk.example/internal/capacity"
	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/stats"
)

// The gym of this file is invented. Its athletes have true rates, hazards and
// recovery, learn from clean reps by a made-up law, and are known to the planner
// only through noisy tests and counted catches.

const gymSeed = 20260907

// regime makes one athlete's plan for a meeting.
type regime func(t *testing.T, in Input) Plan

// planned is the planner's own plan.
func planned(t *testing.T, in Input) Plan {
	t.Helper()
	p, err := Solve(in)
	if err != nil {
		t.Fatalf("%+v: %v", in, err)
	}
	return p
}

// fixed is the same for everyone: 10/10 at 30 rpm above base, four cycles, 60 s
// of rest, as far as time and contacts go.
func fixed(t *testing.T, in Input) Plan {
	t.Helper()
	p := Plan{Kind: KindSplit, SteadyRPM: in.BaseRPM, TargetRPM: in.BaseRPM + 30, Split: Split{Steady: 10, Burst: 10}, Cycles: 4, RestSeconds: 60}
	p.WorkSeconds = 4 * (600/p.SteadyRPM + 600/p.TargetRPM)
	p.Sets = min(int((60**in.Minutes+60)/(p.WorkSeconds+60)), *in.ContactsLeft/80)
	if in.Caution.LighterWeek {
		p.Sets = p.Sets * 3 / 5
	}
	for n := range p.Sets {
		if n > 0 {
			p.Segments = append(p.Segments, Segment{Seconds: 60})
		}
		for range 4 {
			p.Segments = append(p.Segments, Segment{RPM: p.SteadyRPM, Seconds: 600 / p.SteadyRPM}, Segment{RPM: p.TargetRPM, Seconds: 600 / p.TargetRPM})
		}
	}
	return p
}

// career is what a term made of one athlete.
type career struct {
	gateWeek int // 0: not in this term
	moves    map[string]int
	last     Setting
	contacts int
	catches  int
	lowest   float64
}

const termCeiling = 800 // contacts a session

// term takes one athlete through twelve weeks of two meetings.
func term(t *testing.T, j *jumper, meetings []Meeting, by regime, check func(Input, Plan)) career {
	t.Helper()
	c := career{moves: map[string]int{}}
	j.lowestBalance = 1
	var bases, bursts []rate.Rate
	var past []Outcome
	var recent []tally
	passes, lastSeen := 0, meetings[0].Slot.Date
	for n, m := range meetings {
		if j.away(n) {
			continue
		}
		if slices.Contains(m.Tests, TestBase) || len(bases) == 0 {
			bases, bursts = append(bases, j.count(t, j.base, 60)), append(bursts, j.count(t, j.burst, 10))
		}
		in := Input{
			BaseRPM: combined(t, bases), Phase: c.last.Phase, History: past,
			Minutes: new(20.0), ContactsLeft: new(termCeiling), Caution: Caution{LighterWeek: m.Lighter, DaysAway: lastSeen.Until(m.Slot.Date)},
		}
		lastSeen = m.Slot.Date
		in.BurstRPM = new(max(in.BaseRPM, combined(t, bursts)))
		in.Hazard = hazardOf(recent)
		p := by(t, in)
		check(in, p)
		if p.Kind == KindSplit && c.last.Phase != "" {
			c.count(c.last, p.Setting)
		}
		seen := j.session(p)
		recent = append(recent, seen)[max(0, len(recent)-2):]
		past = append(past, Outcome{p.Setting.StepRPM, p.Setting.Split, seen.bursts, seen.cleanBursts, p.Eased})
		if p.Kind == KindSplit {
			c.last = p.Setting
		}
		c.contacts += seen.contacts
		c.catches += seen.steadyCatches + seen.burstCatches
		if c.gateWeek == 0 && j.gate() {
			if passes++; passes == 2 {
				c.gateWeek = m.Week
			}
		}
	}
	c.lowest = j.lowestBalance
	return c
}

// count notes which way the setting moved.
func (c *career) count(from, to Setting) {
	switch {
	case from.Phase != to.Phase:
		c.moves["established"]++
	case to.StepRPM > from.StepRPM:
		c.moves["step up"]++
	case to.StepRPM < from.StepRPM:
		c.moves["step down"]++
	}
	switch rise := to.Split.rung() - from.Split.rung(); {
	case rise > 0:
		c.moves["split up"]++
	case rise < 0:
		c.moves["split down"]++
	}
}

// hazardOf estimates hazards from the last sessions, nil before the first.
func hazardOf(recent []tally) *Hazard {
	if len(recent) == 0 {
		return nil
	}
	var sum tally
	for _, s := range recent {
		sum.steadyReps += s.steadyReps
		sum.steadyCatches += s.steadyCatches
		sum.burstReps += s.burstReps
		sum.burstCatches += s.burstCatches
	}
	each := func(catches, reps int) float64 { return (float64(catches) + 0.5) / float64(catches+reps+1) }
	return &Hazard{each(sum.steadyCatches, sum.steadyReps), each(sum.burstCatches, sum.burstReps)}
}

// brokenCeiling says which bound of in and of the rules p breaks, "" if none.
func brokenCeiling(in Input, p Plan) string {
	rules := StandardRules()
	limits := rules.of(p.Setting.Phase)
	m := capacity.Assume(in.BaseRPM, *in.BurstRPM)
	for _, s := range p.Segments {
		if s.Balance < (limits.FloorShare-1e-6)*m.Reserve {
			return fmt.Sprintf("balance %v of %v", s.Balance, m.Reserve)
		}
	}
	switch {
	case p.Contacts > *in.ContactsLeft:
		return fmt.Sprintf("%d contacts", p.Contacts)
	case p.Seconds > 60**in.Minutes+1e-6:
		return fmt.Sprintf("%v s", p.Seconds)
	case p.WorkSeconds > limits.SetSeconds+1e-6:
		return fmt.Sprintf("a set of %v s", p.WorkSeconds)
	case p.Kind == KindSplit && p.TargetRPM > 0.95**in.BurstRPM+1e-9:
		return fmt.Sprintf("target %v of burst %v", p.TargetRPM, *in.BurstRPM)
	case in.Caution.DaysAway >= 28 && 2*p.Contacts > contactsWithoutCaution(in):
		return fmt.Sprintf("%d contacts after %d days away", p.Contacts, in.Caution.DaysAway)
	case p.RestSeconds < max(limits.RestSeconds, limits.RestRatio*p.WorkSeconds):
		return fmt.Sprintf("rest of %v s", p.RestSeconds)
	}
	return ""
}

func contactsWithoutCaution(in Input) int {
	in.Caution = Caution{}
	p, err := Solve(in)
	if err != nil {
		return 0
	}
	return p.Contacts
}

func TestInventedGymTrainsATerm(t *testing.T) {
	calendar := Term{
		First: day(2026, 9, 7), Last: day(2026, 11, 29),
		Weekly: []Weekly{{time.Tuesday, Clock{17, 0}, 45}, {time.Thursday, Clock{18, 30}, 45}},
	}
	meetings, err := calendar.Meetings(time.UTC)
	if err != nil || len(meetings) != 24 {
		t.Fatalf("%d meetings: %v", len(meetings), err)
	}
	const athletes = 400
	moves := map[string]int{}
	var ours, theirs []career
	for id := range uint64(athletes) {
		var last Setting
		ours = append(ours, term(t, newJumper(id), meetings, planned, func(in Input, p Plan) {
			if broken := brokenCeiling(in, p); broken != "" {
				t.Errorf("athlete %d: %s", id, broken)
			}
			if p.Kind != KindSplit {
				return
			}
			if p.Setting.StepRPM != last.StepRPM && p.Setting.Split != last.Split && last.Phase != "" {
				t.Errorf("athlete %d: from %+v to %+v at once", id, last, p.Setting)
			}
			last = p.Setting
		}))
		theirs = append(theirs, term(t, newJumper(id), meetings, fixed, func(Input, Plan) {}))
		for move, n := range ours[id].moves {
			moves[move] += n
		}
	}
	for _, move := range []string{"step up", "step down", "split up", "split down", "established"} {
		if moves[move] == 0 {
			t.Errorf("in a term of %d athletes there was no %s", athletes, move)
		}
	}
	t.Logf("moves of %d athletes: %v", athletes, moves)
	reactsToCatches(t, ours)
	report(t, "planner", ours)
	report(t, "10/10 for everyone", theirs)
}

// reactsToCatches compares the third of the athletes who catch least with the
// third who catch most.
func reactsToCatches(t *testing.T, careers []career) {
	t.Helper()
	order := make([]int, len(careers))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		x, y := newJumper(uint64(a)).burstHazard, newJumper(uint64(b)).burstHazard
		switch {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return 0
	})
	third := len(order) / 3
	height := func(ids []int) float64 {
		sum := 0
		for _, id := range ids {
			sum += careers[id].last.Split.rung()
		}
		return float64(sum) / float64(len(ids))
	}
	sure, unsure := height(order[:third]), height(order[2*third:])
	t.Logf("mean rung of the split at the end: %.2f of those who catch least, %.2f of those who catch most", sure, unsure)
	if sure < unsure+1 {
		t.Errorf("the planner hardly tells them apart: rungs %.2f and %.2f", sure, unsure)
	}
}

// report logs how soon the gate was passed, whichever way it falls.
func report(t *testing.T, name string, careers []career) {
	t.Helper()
	weeks := make([]int, 0, len(careers))
	contacts, catches, passed, emptied := 0, 0, 0, 0
	for _, c := range careers {
		week := 13
		if c.gateWeek > 0 {
			passed++
			week = c.gateWeek
		}
		weeks = append(weeks, week)
		contacts += c.contacts
		catches += c.catches
		if c.lowest < 0 {
			emptied++
		}
	}
	slices.Sort(weeks)
	n := len(careers)
	t.Logf("%s: gate passed by %d of %d; weeks to it, first quarter %s, half %s, three quarters %s; "+
		"%d contacts and %d catches an athlete; true reserve emptied in %d of %d",
		name, passed, n, week(weeks[n/4]), week(weeks[n/2]), week(weeks[3*n/4]), contacts/n, catches/n, emptied, n)
}

func week(w int) string {
	if w > 12 {
		return "none"
	}
	return fmt.Sprint(w)
}

// Stated 90 % intervals of combined rates hold 90 ± 3 % of invented athletes
// whose days scatter as assumed, by 4 %.
func TestCombinedRatesAreCalibrated(t *testing.T) {
	for tests := 1; tests <= 5; tests++ {
		const athletes = 6000
		held := 0
		for id := range uint64(athletes) {
			j := newJumper(id + 1_000_000*uint64(tests))
			var counted []rate.Rate
			for range tests {
				counted = append(counted, j.count(t, j.base, 60))
			}
			c, err := rate.Combine(counted)
			if err != nil {
				t.Fatal(err)
			}
			k := stats.Normal(0.95)
			if tests > 1 {
				k = stats.StudentT(0.95, float64(tests-1))
			}
			if math.Abs(c.RPM-j.base) <= k*c.U {
				held++
			}
		}
		share := float64(held) / athletes
		t.Logf("%d tests: 90 %% intervals held %.1f %% of %d athletes", tests, 100*share, athletes)
		if share < 0.87 || share > 0.93 {
			t.Errorf("%d tests: 90 %% intervals held %.1f %%", tests, 100*share)
		}
	}
}
