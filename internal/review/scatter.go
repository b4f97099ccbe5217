package review

import (
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/progress"
	"ropewalk.example/internal/rate"
)

// RepeatDays is how far apart two tests may lie to tell how far tests differ by
// themselves: two weekly meetings on. What is learned in between widens the
// scatter a little, so a change is called real rather too seldom. Assumed.
const RepeatDays = 14

// minRepeats is the number of pairs below which the gym's own scatter is not
// trusted and the assumed one stands in. Our caution, no source.
const minRepeats = 10

// assumedPercent is the day-to-day variation of a rate in percent that stands in
// while too few pairs are known. Assumed, as in package rate.
const assumedPercent = 4

// A Scatter says how far two tests of one athlete lie apart when nothing has
// changed, for each of the rates.
type Scatter struct{ Whole, Turning, Burst progress.Retest }

// ScatterOf learns the scatter from pairs of tests of the whole gym.
func ScatterOf(repeats []gym.Repeat) Scatter {
	var whole, turning, burst pairs
	for _, r := range repeats {
		first, second := 60*float64(r.First)/r.Seconds, 60*float64(r.Second)/r.Seconds
		if r.Protocol == rate.Burst {
			burst.add(first, second)
			continue
		}
		whole.add(first, second)
		if r.FirstLost != nil && r.SecondLost != nil && *r.FirstLost < r.Seconds && *r.SecondLost < r.Seconds {
			turning.add(60*float64(r.First)/(r.Seconds-*r.FirstLost), 60*float64(r.Second)/(r.Seconds-*r.SecondLost))
		}
	}
	return Scatter{Whole: whole.retest(), Turning: turning.retest(), Burst: burst.retest()}
}

// pairs are first and second tests, in rpm.
type pairs struct{ first, second []float64 }

func (p *pairs) add(first, second float64) {
	p.first, p.second = append(p.first, first), append(p.second, second)
}

// retest returns the typical error of the pairs, the zero Retest if there are
// too few.
func (p *pairs) retest() progress.Retest {
	if len(p.first) < minRepeats {
		return progress.Retest{}
	}
	r, err := progress.RetestOf(p.first, p.second)
	if err != nil {
		return progress.Retest{}
	}
	return r
}

// or returns r, or what is assumed at a level in rpm where too few pairs are
// known; assumed says which.
func or(r progress.Retest, rpm float64) (known progress.Retest, assumed bool) {
	if r.Pairs > 0 && r.TypicalError > 0 {
		return r, false
	}
	return progress.Retest{Pairs: minRepeats, TypicalError: rpm * assumedPercent / 100}, true
}
