package finding

import (
	"cmp"
	"math"
	"slices"
	"time"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/progress"
	"ropewalk.example/internal/rate"
)

// A Change says what became of the base rate over the whole test since the
// first tests of the last half year, and whether that is more than scatter.
type Change struct {
	progress.Change
	Tests                   int
	BeforeRPM, AfterRPM     float64
	BeforeTests, AfterTests int
	From, To                time.Time
	Retest                  progress.Retest // how far two tests lie apart by themselves
	Assumed                 bool            // Retest rests on the assumed day-to-day variation
	HasTrend                bool
	Trend                   progress.Trend // rpm a week
	Results                 []progress.Result
}

const (
	seriesDays = 182  // half a year (assumed)
	mostMeans  = 3    // tests in each of the two means (assumed)
	leastTrend = 4    // tests that show a trend (our caution, no source)
	leastPairs = 10   // below it the scatter of the class is not trusted (our caution, no source)
	dayToDay   = 0.04 // coefficient of variation that stands in then (assumed, as in package rate)
)

// PairDays is how far apart two tests may lie to tell how far tests differ by
// themselves: two weekly meetings on. What is learned in between widens the
// scatter a little, so a change is called real rather too seldom. Assumed.
const PairDays = 14

// ChangeOf compares the athlete's newest base tests with the first of the last
// half year: tests of the level's step and rope. pairs are tests of the athlete
// and classmates that followed each other closely.
func ChangeOf(results []gym.Result, base level.Level, pairs Pairs, day time.Time) Change {
	var c Change
	var tests []gym.Result
	for _, r := range results {
		if r.Protocol == rate.Base && r.Step == base.Step && r.RopeKind == base.RopeKind && level.Counts(r) && within(r.Day, day, seriesDays) {
			tests = append(tests, r)
		}
	}
	slices.SortStableFunc(tests, func(a, b gym.Result) int { return cmp.Compare(a.TakenAt.UnixNano(), b.TakenAt.UnixNano()) })
	var rates []float64
	for _, r := range tests {
		if known, err := level.RateOf(r); err == nil {
			rates = append(rates, known.RPM)
			c.Results = append(c.Results, progress.Result{At: r.Day, Value: known.RPM})
		}
	}
	c.Tests = len(rates)
	c.Retest, _ = progress.RetestOf(pairs.First, pairs.Second) // zero below two pairs
	if c.Retest.Pairs < leastPairs {
		c.Retest, c.Assumed = progress.Retest{Pairs: leastPairs, TypicalError: dayToDay * base.RPM}, true
	}
	c.Change = progress.Change{Verdict: progress.TooFewTests, Difference: math.NaN(), Needed: math.NaN()}
	if len(rates) < 2 {
		return c
	}
	k := min(mostMeans, len(rates)/2)
	before, after := rates[:k], rates[len(rates)-k:]
	c.BeforeRPM, c.AfterRPM, c.BeforeTests, c.AfterTests = mean(before), mean(after), k, k
	c.From, c.To = c.Results[0].At, c.Results[len(c.Results)-1].At
	if change, err := c.Retest.Judge(before, after); err == nil {
		c.Change = change
	}
	if trend, err := progress.TrendOf(c.Results, day, confidence); err == nil && len(rates) >= leastTrend && !math.IsNaN(trend.Low) {
		c.HasTrend, c.Trend = true, trend
	}
	return c
}

// Pairs are rates of tests that followed each other, in rpm.
type Pairs struct{ First, Second []float64 }

func mean(values []float64) float64 {
	sum := 0.0
	for _, v := range values {
		sum += v
	}
	return sum / float64(len(values))
}
