package review

import (
	"math"
	"time"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/progress"
	"ropewalk.example/internal/rate"
)

// endDays is how many days at each end of an athlete's tests make up the start
// and the end of the term: enough for two tests where classes test every other
// week. Assumed.
const endDays = 21

// A Test is one timed test of the kind that the rates are about.
type Test struct {
	Day     time.Time
	Seconds float64
	Whole   rate.Rate // over the whole test
	Turning rate.Rate // while the rope turned; the zero Rate where catches were not timed
	Catches int
}

// PerMinute returns the catches in a minute of the test.
func (t Test) PerMinute() float64 { return 60 * float64(t.Catches) / t.Seconds }

// Rates are an athlete's rates over the span. Only like is compared with like:
// one step on one kind of rope.
type Rates struct {
	Step, Rope string
	Tests      []Test // base tests of that step and rope, oldest first
	Whole      Movement
	Turning    Movement
	Split      Split
	PerMinute  Ends // catches in a minute of a base test

	BurstStep, BurstRope string
	Bursts               []Test
	Burst                Movement
}

// Ends are a quantity at both ends of the term, and whether each is known.
type Ends struct {
	Start, End           float64
	KnownStart, KnownEnd bool
}

// An End is the level that the tests at one end of the term show.
type End struct {
	rate.Combined
	From, To time.Time // days of the first and last test in it
}

// Known reports whether there is a level at this end.
func (e End) Known() bool { return e.Tests > 0 }

// A Movement is a rate at the start and at the end of the term, in rpm.
type Movement struct {
	Start, End End
	Change     progress.Change
	Assumed    bool // the typical error is the assumed one, not the gym's own
}

// Gain returns the difference of the two levels as they are shown, in whole rpm.
func (m Movement) Gain() float64 { return math.Round(m.End.RPM) - math.Round(m.Start.RPM) }

// Judged reports whether both ends are known, so that they can be compared.
func (m Movement) Judged() bool { return m.Change.Verdict != progress.TooFewTests }

// Bar returns the rpm that the mean of the tests at the end must pass for the
// change to be real; ok is false where that cannot be said.
func (m Movement) Bar() (rpm float64, ok bool) {
	if !m.Judged() {
		return 0, false
	}
	return m.Start.RPM + m.Change.Needed, true
}

// ratesOf compares the two ends of the term.
func ratesOf(results []gym.Result, scatter Scatter) Rates {
	var r Rates
	r.Tests, r.Step, r.Rope = alike(results, rate.Base)
	start, end := ends(r.Tests)
	whole := func(t Test) (rate.Rate, bool) { return t.Whole, true }
	turning := func(t Test) (rate.Rate, bool) { return t.Turning, t.Turning.RPM > 0 }
	r.Whole = movementOf(start, end, whole, scatter.Whole)
	r.Turning = movementOf(start, end, turning, scatter.Turning)
	r.Split = splitOf(r.Whole, r.Turning)
	r.PerMinute.Start, r.PerMinute.KnownStart = perMinute(start)
	r.PerMinute.End, r.PerMinute.KnownEnd = perMinute(end)

	r.Bursts, r.BurstStep, r.BurstRope = alike(results, rate.Burst)
	start, end = ends(r.Bursts)
	r.Burst = movementOf(start, end, whole, scatter.Burst)
	return r
}

// alike returns the timed tests of a protocol that are of one step and rope: of
// the kind that was tested over the longest part of the term, the newer one of
// two that tie.
func alike(results []gym.Result, protocol string) (tests []Test, step, rope string) {
	type kind struct{ step, rope string }
	byKind := map[kind][]Test{}
	var kinds []kind
	for _, r := range results {
		if r.Protocol != protocol {
			continue
		}
		whole, err := level.RateOf(r)
		if err != nil {
			continue
		}
		t := Test{Day: r.Day, Seconds: *r.Seconds, Whole: whole, Catches: r.Catches}
		if turning, err := level.TurningOf(r); err == nil {
			t.Turning = turning
		}
		k := kind{r.Step, r.RopeKind}
		if byKind[k] == nil {
			kinds = append(kinds, k)
		}
		byKind[k] = append(byKind[k], t)
	}
	longest := -1
	for _, k := range kinds { // in the order of their first tests
		t := byKind[k]
		if over := days(t[0].Day, t[len(t)-1].Day); over >= longest {
			longest, tests, step, rope = over, t, k.step, k.rope
		}
	}
	return tests, step, rope
}

// ends parts the tests at the start from those at the end. Tests that all lie
// within endDays are a start alone.
func ends(tests []Test) (start, end []Test) {
	if len(tests) == 0 {
		return nil, nil
	}
	first, last := tests[0].Day, tests[len(tests)-1].Day
	for _, t := range tests {
		since, left := days(first, t.Day), days(t.Day, last)
		switch {
		case days(first, last) < endDays, since < endDays && since <= left:
			start = append(start, t)
		case left < endDays:
			end = append(end, t)
		}
	}
	return start, end
}

// movementOf compares the tests at both ends by one of their rates.
func movementOf(start, end []Test, of func(Test) (rate.Rate, bool), retest progress.Retest) Movement {
	var m Movement
	var before, after []float64
	m.Start, before = endOf(start, of)
	m.End, after = endOf(end, of)
	retest, m.Assumed = or(retest, m.Start.RPM)
	change, err := retest.Judge(before, after)
	if err != nil || !m.Start.Known() || !m.End.Known() {
		change = progress.Change{Verdict: progress.TooFewTests, Difference: math.NaN(), Needed: math.NaN()}
	}
	m.Change = change
	return m
}

func endOf(tests []Test, of func(Test) (rate.Rate, bool)) (End, []float64) {
	var rates []rate.Rate
	var rpm []float64
	var e End
	for _, t := range tests {
		r, ok := of(t)
		if !ok {
			continue
		}
		if len(rates) == 0 {
			e.From = t.Day
		}
		e.To = t.Day
		rates, rpm = append(rates, r), append(rpm, r.RPM)
	}
	combined, err := rate.Combine(rates)
	if err != nil {
		return End{}, nil
	}
	e.Combined = combined.Shown()
	return e, rpm
}

// perMinute returns the catches in a minute over some tests together.
func perMinute(tests []Test) (catches float64, known bool) {
	seconds := 0.0
	for _, t := range tests {
		catches += float64(t.Catches)
		seconds += t.Seconds
	}
	if seconds == 0 {
		return 0, false
	}
	return 60 * catches / seconds, true
}
