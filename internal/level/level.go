// Package level reads an athlete's levels out of results: the rates to plan by,
// whole-test and turning apart, like combined only with like. It is pure and
// imports the nouns of package gym and the pure packages rate and capacity.
package level

import (
	"slices"
	"time"

	"ropewalk.example/internal/capacity"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/rate"
)

// A Level is a combined rate with what it was measured on. The zero Level is
// not known.
type Level struct {
	rate.Combined
	Step     string
	RopeKind string
	Newest   time.Time // day of the newest test in it
}

// Known reports whether there is a level at all.
func (l Level) Known() bool { return l.Tests > 0 }

// Levels are an athlete's rates as of a day.
type Levels struct {
	Base    Level // whole-test rate, for gates and reports
	Turning Level // rate while the rope turned, for planning; catches timed
	Burst   Level
	// BurstAlike tells whether base and burst come from one step and rope.
	BurstAlike bool
	AllOut     []capacity.Test // newest of each duration, on the newest one's step and rope
	Newest     time.Time       // day of the newest result of any kind
	Odd        []gym.Result    // kept, but count nowhere: see [Counts]
}

// Planning returns the base rate to plan by: turning, where catches were
// timed, else over the whole test.
func (l Levels) Planning() Level {
	if l.Turning.Known() {
		return l.Turning
	}
	return l.Base
}

// Of computes the levels of one athlete from the standing results of any
// kind, in any order, as of day. Only like is combined with like: the newest
// base test says which step and rope count; the burst is sought on the same,
// and only where there is none on another.
func Of(results []gym.Result, day time.Time) Levels {
	var levels Levels
	var whole, turning, bursts []rate.Result
	var allOut []gym.Result
	for _, r := range newestFirst(results) {
		if r.Day.After(day) {
			continue
		}
		if levels.Newest.Before(r.Day) {
			levels.Newest = r.Day
		}
		count, ok := CountOf(r)
		if !ok {
			continue
		}
		kind := rate.Kind{Family: r.Protocol, Step: r.Step, Rope: r.RopeKind}
		overall, err := count.WholeTest()
		if err != nil || !Counts(r) {
			levels.Odd = append(levels.Odd, r)
			continue
		}
		switch r.Protocol {
		case rate.Base:
			whole = append(whole, rate.Result{Rate: overall, Kind: kind, On: r.Day})
			if t, err := turningRate(r, count); err == nil {
				turning = append(turning, rate.Result{Rate: t, Kind: kind, On: r.Day})
			}
		case rate.Burst:
			bursts = append(bursts, rate.Result{Rate: overall, Kind: kind, On: r.Day})
		case rate.AllOut: // only like with like: the newest says which step and rope
			if len(allOut) == 0 || r.Step == allOut[0].Step && r.RopeKind == allOut[0].RopeKind {
				allOut = append(allOut, r)
			}
		}
	}
	levels.AllOut = newestAllOut(allOut, day)
	levels.Base = newestLevel(whole, nil, day)
	if levels.Base.Known() {
		levels.Turning = newestLevel(turning, &levels.Base, day)
	}
	levels.Burst = newestLevel(bursts, &levels.Base, day)
	levels.BurstAlike = levels.Burst.Known()
	if !levels.BurstAlike {
		levels.Burst = newestLevel(bursts, nil, day)
	}
	return levels
}

// newestFirst sorts results, which stay as they are.
func newestFirst(results []gym.Result) []gym.Result {
	byTime := func(a, b gym.Result) int { return b.TakenAt.Compare(a.TakenAt) }
	if slices.IsSortedFunc(results, byTime) {
		return results // as most readings bring them
	}
	sorted := slices.Clone(results)
	slices.SortStableFunc(sorted, byTime)
	return sorted
}

// Counts reports whether a result counts for anything: one that is faster than
// anybody is known to have been does not, until somebody has looked at it and
// said that it is right.
func Counts(r gym.Result) bool {
	if !r.KeptOdd {
		return true
	}
	count, timed := CountOf(r)
	if !timed {
		return true
	}
	known, err := count.WholeTest()
	return err == nil && len(rate.Questions(known, count.Seconds, rate.Combined{})) == 0
}

// RateOf returns the whole-test rate of a timed result.
func RateOf(r gym.Result) (rate.Rate, error) {
	count, ok := CountOf(r)
	if !ok {
		return rate.Rate{}, rate.ErrSeconds
	}
	return count.WholeTest()
}

// TurningOf returns the rate while the rope turned, from taps where there are
// any, else with the time lost to catches taken out. It is not known when there
// were catches that nobody timed.
func TurningOf(r gym.Result) (rate.Rate, error) {
	count, ok := CountOf(r)
	if !ok {
		return rate.Rate{}, rate.ErrSeconds
	}
	return turningRate(r, count)
}

func turningRate(r gym.Result, count rate.Count) (rate.Rate, error) {
	if r.RPMFromTaps != nil && r.StandardErrorRPM != nil {
		return rate.Rate{RPM: *r.RPMFromTaps, U: *r.StandardErrorRPM}, nil
	}
	if r.Catches > 0 && r.LostSeconds == nil {
		return rate.Rate{}, rate.ErrLost
	}
	return count.Turning()
}

// CountOf returns the timed count that a result holds; ok is false for results
// of another kind. Where several people counted, it is what they agree on, which
// may be half a rotation.
func CountOf(r gym.Result) (rate.Count, bool) {
	if r.Rotations == nil || r.Seconds == nil {
		return rate.Count{}, false
	}
	count := rate.Count{Counted: counted(r), OneFoot: r.OneFoot, Seconds: *r.Seconds, Timing: rate.Timing(r.Timing)}
	if r.LostSeconds != nil {
		count.Catches, count.Lost = r.Catches, *r.LostSeconds
	}
	return count, true
}

// counted returns what was counted: one foot's steps where only these were.
func counted(r gym.Result) float64 {
	if len(r.Counts) > 1 {
		counts := make([]float64, len(r.Counts))
		for i, n := range r.Counts {
			counts[i] = float64(n)
		}
		if agreed, err := rate.Agree(counts); err == nil {
			return agreed.Rotations
		}
	}
	if r.OneFoot {
		return float64(*r.Rotations) / 2
	}
	return float64(*r.Rotations)
}

// newestLevel combines the results that are alike: of the kind of like, or of
// the newest result where like is nil.
func newestLevel(results []rate.Result, like *Level, day time.Time) Level {
	for _, r := range results {
		if like != nil && (r.Step != like.Step || r.Rope != like.RopeKind) {
			continue
		}
		combined, err := rate.Recent(results, r.Kind, day)
		if err != nil {
			return Level{} // the newest of this kind is too old
		}
		return Level{Combined: combined.Shown(), Step: r.Step, RopeKind: r.Rope, Newest: r.On}
	}
	return Level{}
}

// allOutDays is how long an all-out test counts (assumed): the term's plan
// repeats them every six weeks.
const allOutDays = 84

// Reach is how far back the levels of a day look: older results change nothing
// of them but Newest and Odd.
const Reach = (allOutDays + 1) * 24 * time.Hour

// newestAllOut returns the newest test of each duration, newest first.
func newestAllOut(results []gym.Result, day time.Time) []capacity.Test {
	var tests []capacity.Test
	for _, r := range results {
		count, _ := CountOf(r)
		known := slices.ContainsFunc(tests, func(t capacity.Test) bool { return t.Seconds == count.Seconds })
		if known || day.Sub(r.Day) > allOutDays*24*time.Hour {
			continue
		}
		tests = append(tests, capacity.Test{Seconds: count.Seconds, Rotations: count.Rotations(), Timing: count.Timing})
	}
	return tests
}
