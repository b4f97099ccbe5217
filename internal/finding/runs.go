package finding

import (
	"slices"
	"time"

	"ropewalk.example/internal/cleanrun"
	"ropewalk.example/internal/gym"
)

// Runs are what the runs of one kind say: clean runs, or doubles in a row.
type Runs struct {
	Step, RopeKind string
	All            []cleanrun.Run
	Newest         time.Time // day of the newest
	Longest        int
	LongestOn      time.Time
	Tally          cleanrun.Tally
	Hazard         cleanrun.Hazard // of a catch at each rep; zero without a rep tried
	Curve          cleanrun.Curve
	Median         int
	HasMedian      bool
	Pattern        cleanrun.Finding
}

// Known reports whether there are runs at all.
func (r Runs) Known() bool { return len(r.All) > 0 }

// RunsOf gathers the runs of a protocol from the last twelve weeks, of the
// newest one's step and rope: like only with like.
func RunsOf(results []gym.Result, protocol string, day time.Time) Runs {
	newest := slices.Clone(results)
	slices.SortStableFunc(newest, func(a, b gym.Result) int { return b.TakenAt.Compare(a.TakenAt) })
	var runs Runs
	for _, r := range newest {
		if r.Protocol != protocol || r.Rotations == nil || !within(r.Day, day, runDays) {
			continue
		}
		if !runs.Known() {
			runs.Step, runs.RopeKind, runs.Newest = r.Step, r.RopeKind, r.Day
		}
		if r.Step != runs.Step || r.RopeKind != runs.RopeKind {
			continue
		}
		runs.All = append(runs.All, cleanrun.Run{Reps: *r.Rotations, Caught: !r.StoppedClean})
		if *r.Rotations > runs.Longest || runs.LongestOn.IsZero() {
			runs.Longest, runs.LongestOn = *r.Rotations, r.Day
		}
	}
	runs.read()
	return runs
}

// confidence of the intervals that pages show.
const confidence = 0.95

func (r *Runs) read() {
	var err error
	if r.Tally, err = cleanrun.TallyRuns(r.All); err != nil || r.Tally.Trials() == 0 {
		return
	}
	if r.Hazard, err = r.Tally.Hazard(confidence); err != nil {
		return
	}
	if r.Curve, err = cleanrun.Survival(r.All, confidence); err != nil {
		return
	}
	r.Median, r.HasMedian = r.Curve.Median()
	r.Pattern, _ = cleanrun.FindPattern(r.All) // without a rep there is no pattern
}

// Odds are what a run of so many reps asks of the athlete.
type Odds struct {
	Reps int
	cleanrun.Odds
	Goal bool // the gate of the athlete's stage asks for it
}

// RunLengths are the clean runs that odds are given for, besides the gate's
// (common practice, no source: 500 is the common bar).
func RunLengths() []int { return []int{10, 30, 50, 100, 200, 500} }

// RowLengths are the rows of doubles that odds are given for (common practice,
// no source).
func RowLengths() []int { return []int{2, 3, 5, 10, 20, 50} }

// Bounds of the odds worth showing: nearly sure and nearly hopeless say nothing.
const (
	nearlyNever = 0.02
	nearlySure  = 0.98
)

// OddsFor returns the odds of the given lengths, and of goal where it is above 0,
// from the athlete's own reps; none without a rep tried.
func OddsFor(t cleanrun.Tally, goal int, lengths []int) []Odds {
	wanted := slices.Clone(lengths)
	if goal > 0 && !slices.Contains(wanted, goal) {
		wanted = append(wanted, goal)
		slices.Sort(wanted)
	}
	var list []Odds
	for _, n := range wanted {
		odds, err := t.Odds(n)
		isGoal := n == goal
		if err != nil || !isGoal && (odds.Clean < nearlyNever || odds.Clean > nearlySure) {
			continue
		}
		list = append(list, Odds{Reps: n, Odds: odds, Goal: isGoal})
	}
	return list
}
