package finding_test

import (
	"math"
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/cleanrun"
	"ropewalk.example/internal/finding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/rate"
)

func TestRunsOfOneKindOnly(t *testing.T) {
	other := run(rate.CleanRun, 5, 90, false)
	other.Step = "alternate"
	runs := finding.RunsOf([]gym.Result{
		run(rate.CleanRun, 100, 300, false), // too old
		other, run(rate.CleanRun, 4, 12, false), run(rate.CleanRun, 4, 40, true), run(rate.DoublesRun, 3, 4, false),
		run(rate.CleanRun, 2, 25, false),
	}, rate.CleanRun, today)
	if len(runs.All) != 3 || runs.Longest != 40 || !runs.LongestOn.Equal(daysAgo(4)) {
		t.Errorf("%d runs, longest %d on %s", len(runs.All), runs.Longest, runs.LongestOn)
	}
	if want := (cleanrun.Tally{Reps: 77, Catches: 2}); runs.Tally != want {
		t.Errorf("tally %+v, want %+v", runs.Tally, want)
	}
	// By hand: at 12 of three runs one is caught, at 25 of two one: 2/3, then 1/3.
	if !runs.HasMedian || runs.Median != 25 {
		t.Errorf("median %d, known %v; want 25", runs.Median, runs.HasMedian)
	}
}

func TestRunsWithoutARep(t *testing.T) {
	runs := finding.RunsOf([]gym.Result{run(rate.CleanRun, 1, 0, true)}, rate.CleanRun, today)
	if !runs.Known() || len(runs.Curve) != 0 || finding.OddsFor(runs.Tally, 30, finding.RunLengths()) != nil {
		t.Errorf("a run of no reps says something: %+v", runs)
	}
}

func TestOddsForGoalStandEvenWhenHopeless(t *testing.T) {
	odds := finding.OddsFor(cleanrun.Tally{Reps: 90, Catches: 10}, 200, finding.RunLengths())
	if len(odds) < 2 || !odds[len(odds)-1].Goal || odds[len(odds)-1].Reps != 200 {
		t.Fatalf("odds %+v", odds)
	}
	for i, o := range odds {
		if i > 0 && o.Clean >= odds[i-1].Clean {
			t.Errorf("a run of %d is no harder than one of %d", o.Reps, odds[i-1].Reps)
		}
	}
}

// splitPlan is a plan of 20/10, twice a set, three sets.
func splitPlan(id uuid.UUID, ago int) finding.Plan {
	return finding.Plan{ID: id, Day: daysAgo(ago), Plan: planner.Plan{Kind: planner.KindSplit, Split: planner.Split{Steady: 20, Burst: 10},
		Cycles: 2, Sets: 3, Contacts: 180, Reps: 180}}
}

func TestCatches(t *testing.T) {
	base := timed(rate.Base, 3, 98, 60, 2)
	levels := level.Of([]gym.Result{base}, today)
	id := uuid.New()
	record := finding.Record{
		Results: []gym.Result{base, timed(rate.Burst, 3, 29, 10, 1), run(rate.CleanRun, 3, 40, true)},
		Plans:   []finding.Plan{splitPlan(id, 7)},
	}
	t.Run("tests", func(t *testing.T) {
		got := finding.CatchesOf(record, levels.Base, today)
		if want := (cleanrun.Tally{Reps: 138, Catches: 2}); got.Steady.Tally != want {
			t.Errorf("base %+v, want %+v", got.Steady.Tally, want)
		}
		if want := (cleanrun.Tally{Reps: 29, Catches: 1}); got.Burst.Tally != want {
			t.Errorf("bursts %+v, want %+v", got.Burst.Tally, want)
		}
	})
	session := gym.Debrief{PlanID: id, Day: daysAgo(7), SetsDone: ptr(3), Bursts: ptr(6), CleanBursts: ptr(4), Catches: ptr(5)}
	t.Run("a session as told", func(t *testing.T) {
		told := record
		told.Debriefs = []gym.Debrief{session}
		got := finding.CatchesOf(told, levels.Base, today)
		if got.Steady.FromSets != 3*2*20+3 || got.Burst.FromSets != 6*10+2 {
			t.Errorf("from sets: base %d, bursts %d", got.Steady.FromSets, got.Burst.FromSets)
		}
		if got.Steady.Catches != 2+3 || got.Burst.Catches != 1+2 {
			t.Errorf("catches: base %d, bursts %d", got.Steady.Catches, got.Burst.Catches)
		}
	})
	t.Run("set logs count once", func(t *testing.T) {
		logged := record
		logged.Debriefs = []gym.Debrief{session}
		logged.Logs = []gym.SetLog{{PlanID: id, SetNumber: 1, Bursts: 2, CleanBursts: 2, CatchesSteady: 1, DoneAt: daysAgo(7).Add(17 * time.Hour)}}
		got := finding.CatchesOf(logged, levels.Base, today)
		if got.Steady.FromSets != 2*20+1 || got.Burst.FromSets != 2*10 {
			t.Errorf("from sets: base %d, bursts %d", got.Steady.FromSets, got.Burst.FromSets)
		}
	})
	t.Run("what nobody can turn counts nowhere", func(t *testing.T) {
		odd := timed(rate.Base, 1, 480, 60, 0)
		odd.KeptOdd = true
		got := finding.CatchesOf(finding.Record{Results: []gym.Result{base, odd}}, levels.Base, today)
		if got.Steady.Reps != 98 {
			t.Errorf("%d reps, want 98", got.Steady.Reps)
		}
	})
}

func TestHazardsForPlans(t *testing.T) {
	tally := func(steady, steadyCatches, burst, burstCatches int) finding.Catches {
		results := []gym.Result{timed(rate.Base, 3, steady, 60, steadyCatches), timed(rate.Burst, 3, burst, 10, burstCatches)}
		return finding.CatchesOf(finding.Record{Results: results}, level.Of(results, today).Base, today)
	}
	if hazard, _ := tally(20, 1, 30, 1).ForPlans(); hazard != nil {
		t.Errorf("21 reps at base speak for plans: %+v", hazard)
	}
	hazard, guessed := tally(98, 2, 10, 5).ForPlans()
	if hazard == nil || !guessed || hazard.Burst != hazard.Steady || math.Abs(hazard.Steady-0.02) > 1e-12 {
		t.Errorf("hazard %+v, guessed %v; want 0.02 for both", hazard, guessed)
	}
	hazard, guessed = tally(98, 2, 38, 2).ForPlans()
	if hazard == nil || guessed || math.Abs(hazard.Burst-0.05) > 1e-12 {
		t.Errorf("hazard %+v, guessed %v; want 0.05 in bursts", hazard, guessed)
	}
}
