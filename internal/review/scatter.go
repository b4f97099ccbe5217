package review

import (
	"github.com/google/uuid"

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

// ScattersOf learns the scatter of each class: beginners' tests lie further apart
// than those of people who hardly catch. uuid.Nil has that of all together.
func ScattersOf(repeats []gym.Repeat) map[uuid.UUID]Scatter {
	parts := map[uuid.UUID][]gym.Repeat{uuid.Nil: repeats}
	for _, r := range repeats {
		if r.ClassID != uuid.Nil {
			parts[r.ClassID] = append(parts[r.ClassID], r)
		}
	}
	scatters := make(map[uuid.UUID]Scatter, len(parts))
	for class, part := range parts {
		scatters[class] = scatterOf(part)
	}
	return scatters
}

// scatterFor is how far tests of an athlete lie apart: as in the class of the
// last meeting, or where that has too few pairs, as in the whole gym.
func (g Ground) scatterFor(meetings []gym.Meeting) Scatter {
	all := g.Scatters[uuid.Nil]
	if len(meetings) == 0 {
		return all
	}
	own := g.Scatters[meetings[len(meetings)-1].ClassID]
	for _, rate := range []struct{ own, all *progress.Retest }{{&own.Whole, &all.Whole}, {&own.Turning, &all.Turning}, {&own.Burst, &all.Burst}} {
		if rate.own.Pairs == 0 {
			*rate.own = *rate.all
		}
	}
	return own
}

func scatterOf(repeats []gym.Repeat) Scatter {
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
