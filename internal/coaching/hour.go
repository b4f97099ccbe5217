package coaching

import (
	"math"

	"ropewalk.example/internal/deciding"
	"ropewalk.example/internal/finding"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/planner"
)

// HourOf puts together what the athlete's class hour is composed from: the
// tests of the day, the drill of the stage, and the gate's most likely attempt.
func HourOf(f Facts, o Occasion, in planner.Input) planner.Hour {
	hour := planner.Hour{Minutes: o.Minutes, Tests: o.Tests, Athlete: in}
	hour.Athlete.ContactsLeft = less(in.ContactsLeft, testJumps(in, o.Tests))
	hour.Athlete.WeekContactsLeft = less(in.WeekContactsLeft, testJumps(in, o.Tests))
	if f.Stage == nil {
		return hour
	}
	if drill := drillOf(*f.Stage, ratesOf(f, o, in)); drill.Seconds > 0 || drill.Reps > 0 {
		hour.Drill = &drill
	}
	hour.Gate = attemptOf(*f.Stage, f.Odds, in.BaseRPM)
	return hour
}

func less(left *int, jumps int) *int {
	if left == nil {
		return nil
	}
	return new(max(0, *left-jumps))
}

// burstOverBase is how much faster than the base an athlete without a burst test
// is taken to turn at full effort (assumed).
const burstOverBase = 1.3

// testJumps returns the jumps that the tests of the day will take of the
// ceilings: minutes at the athlete's own rates. Tests at full effort wait for the
// stage with bursts.
func testJumps(in planner.Input, tests []planner.Test) int {
	burst := burstOverBase * in.BaseRPM
	if in.BurstRPM != nil {
		burst = *in.BurstRPM
	}
	effort := in.Stage == nil || in.Stage.Bursts
	jumps := 0.0
	for _, test := range tests {
		switch {
		case test == planner.TestBase || test == planner.TestCleanRun:
			jumps += in.BaseRPM
		case !effort || in.Caution.UnattendedMinor:
		case test == planner.TestBurst:
			jumps += burst / 6 // 10 s
		case test == planner.TestAllOut30:
			jumps += burst / 2
		case test == planner.TestAllOut180:
			jumps += 3 * in.BaseRPM
		}
	}
	return int(math.Ceil(jumps))
}

// ratesOf returns the athlete's own rates for a drill.
func ratesOf(f Facts, o Occasion, in planner.Input) ladder.Rates {
	rates := ladder.Rates{Base: in.BaseRPM}
	if in.BurstRPM != nil {
		rates.Burst = *in.BurstRPM
	}
	doubles := finding.DoublesOf(f.Record.Results, level.Of(f.Record.Results, o.Day), o.Rules.SweepSeconds, o.Day)
	if doubles.Known {
		rates.Double = doubles.Advice.CueCadence
	}
	return rates
}

// freeRepSeconds is how long one rep without a given rate takes (assumed).
const freeRepSeconds = 1

// drillOf returns a stage's drill at the athlete's rates, pauses included.
// Where a rate is missing, reps take a second each.
func drillOf(stage ladder.Stage, rates ladder.Rates) planner.Drill {
	drill := planner.Drill{Name: stage.Drill.Text}
	lines, _ := stage.Drill.At(rates)
	seconds := 0.0
	for _, line := range lines {
		drill.Reps += line.Reps
		if line.Seconds > 0 {
			seconds += line.Seconds
		} else {
			seconds += freeRepSeconds * float64(line.Reps)
		}
		if drill.PerMinute == 0 {
			drill.PerMinute = line.Rate
		}
	}
	cycles, sets := max(1, stage.Drill.Cycles), max(1, stage.Drill.Sets)
	drill.Reps *= cycles * sets
	drill.Contacts = drill.Reps
	drill.Seconds = int(math.Ceil(seconds*float64(cycles*sets))) + stage.Drill.RestSeconds*(sets-1)
	return drill
}

// settleSeconds is the time to stand, breathe and begin before each try of a
// gate (assumed).
const settleSeconds = 30

// attemptOf returns the next attempt at the gate of a stage: at the clause with
// the best odds of those for which a success today helps. nil where no clause
// has odds.
func attemptOf(stage ladder.Stage, odds []deciding.Odds, baseRPM float64) *planner.Attempt {
	var best *deciding.Odds
	for i, o := range odds {
		if o.Known && !o.NotToday && (best == nil || o.Chance > best.Chance) {
			best = &odds[i]
		}
	}
	if best == nil || baseRPM <= 0 {
		return nil
	}
	tries := max(1, best.Tries)
	jumps := tries * (best.Clean.Steady + best.Clean.Burst + best.Clean.Doubles)
	return &planner.Attempt{
		Name: clauseWords(stage, best.Clause), Chance: best.Chance, Contacts: jumps,
		Seconds: tries*settleSeconds + int(math.Ceil(60*float64(jumps)/baseRPM)),
	}
}

// clauseWords says what a clause asks for.
func clauseWords(stage ladder.Stage, key string) string {
	words, err := ladder.WordsIn("en")
	if err != nil {
		return stage.Title
	}
	for _, clause := range stage.Gate.Clauses {
		if clause.Key == key {
			return words.Clause(clause)
		}
	}
	return stage.Title
}
