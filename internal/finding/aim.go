package finding

import (
	"math"
	"time"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/progress"
	"ropewalk.example/internal/rate"
)

// An Aim is a bar that an athlete's results grow towards, with when that is
// likely.
type Aim struct {
	Measure  string  // key of package ladder's measures
	Bar      float64 // in the measure's unit: rpm, reps, doubles
	Results  int     // that the answer rests on
	Forecast progress.Forecast
	Refused  error // of package progress; nil where Forecast holds
}

// GateAims returns an aim for each clause of a gate that asks for more of
// something: a rate, a run, a row of doubles. Catches, tries and judgements have
// none. Runs and rows grow by shares, so their logarithms are drawn on, of the
// best of each day.
func GateAims(gate ladder.Gate, a ladder.Athlete, results []gym.Result, base level.Level, day time.Time) []Aim {
	var aims []Aim
	for _, clause := range gate.Clauses {
		aim := Aim{Measure: clause.Measure, Bar: clause.Threshold.For(a.Age)}
		var series []progress.Result
		switch clause.Measure {
		case "clean_run":
			series = bestLogs(results, rate.CleanRun, clause.Step, day)
		case "doubles_in_a_row":
			series = bestLogs(results, rate.DoublesRun, "", day)
		case "burst_rate":
			series = rates(results, rate.Burst, base.Step, base.RopeKind, day)
			if above := clause.Threshold.AboveBase; above != (ladder.AboveBase{}) {
				aim.Bar = math.Ceil(base.RPM + max(above.RPM, base.RPM*above.Percent/100))
			}
		case "base_rate":
			series = rates(results, rate.Base, base.Step, base.RopeKind, day)
		default:
			continue
		}
		if clause.Comparison == ladder.AtMost || aim.Bar <= 0 || containsAim(aims, aim) {
			continue
		}
		bar := aim.Bar
		if clause.Measure == "clean_run" || clause.Measure == "doubles_in_a_row" {
			bar = math.Log(bar)
		}
		aim.Results = len(series)
		aim.Forecast, aim.Refused = progress.ForecastOf(series, day, bar)
		aims = append(aims, aim)
	}
	return aims
}

// RateAim returns when the base rate over the whole test is likely to reach bar.
func RateAim(c Change, bar float64, day time.Time) Aim {
	aim := Aim{Measure: "base_rate", Bar: bar, Results: len(c.Results)}
	aim.Forecast, aim.Refused = progress.ForecastOf(c.Results, day, bar)
	return aim
}

// NextTen returns the next round base rate above the athlete's, in rpm.
func NextTen(rpm float64) float64 { return 10 * (math.Floor(rpm/10) + 1) }

func containsAim(aims []Aim, aim Aim) bool {
	for _, a := range aims {
		if a.Measure == aim.Measure && a.Bar == aim.Bar {
			return true
		}
	}
	return false
}

// rates returns the whole-test rates of a protocol in one step, on one rope.
func rates(results []gym.Result, protocol, step, rope string, day time.Time) []progress.Result {
	var series []progress.Result
	for _, r := range results {
		if r.Protocol != protocol || r.Step != step || r.RopeKind != rope || !level.Counts(r) || !within(r.Day, day, seriesDays) {
			continue
		}
		if known, err := level.RateOf(r); err == nil {
			series = append(series, progress.Result{At: r.Day, Value: known.RPM})
		}
	}
	return series
}

// bestLogs returns the logarithm of each day's best run of at least one rep; a
// step of "" or "any" takes every step.
func bestLogs(results []gym.Result, protocol, step string, day time.Time) []progress.Result {
	best := map[time.Time]int{}
	for _, r := range results {
		if r.Protocol != protocol || r.Rotations == nil || *r.Rotations < 1 || !within(r.Day, day, seriesDays) {
			continue
		}
		if step == "" || step == ladder.Any || step == ladder.One || step == r.Step {
			best[r.Day] = max(best[r.Day], *r.Rotations)
		}
	}
	series := make([]progress.Result, 0, len(best))
	for on, reps := range best {
		series = append(series, progress.Result{At: on, Value: math.Log(float64(reps))})
	}
	return series
}
