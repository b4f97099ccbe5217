package finding

import (
	"cmp"
	"slices"
	"time"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/rhythm"
)

// Doubles say what a double under asks of the athlete, and what is there.
type Doubles struct {
	Known     bool    // there is a rope rate to go by
	Inside    bool    // measured with two turns a jump; else the burst rate, a first guess
	RopeRPM   float64 // rpm
	On        time.Time
	Turn      float64 // seconds of one turn
	Readiness rhythm.Readiness
	Cadence   float64 // jumps a minute that the athlete jumps at: the base rate
	Advice    rhythm.Advice
	Flight    float64   // newest measured flight time, s; 0: not measured
	FlightOn  time.Time // its day
	Needs     []rhythm.Need
	Rows      Runs // doubles in a row
	Sweep     float64
}

// The rope rates that the picture of needed heights spans, in rpm.
const (
	slowestDrawn = 120
	fastestDrawn = 320
)

// DoublesOf puts together what is known of an athlete's doubles. sweep is the
// gym's, in seconds.
func DoublesOf(results []gym.Result, levels level.Levels, sweep float64, day time.Time) Doubles {
	d := Doubles{Sweep: sweep, Rows: RunsOf(results, rate.DoublesRun, day)}
	d.Needs, _ = rhythm.Needs(slowestDrawn, fastestDrawn, sweep) // the bounds are constants, the sweep was checked
	if inside, on, ok := insideRate(results, day); ok {
		d.Known, d.Inside, d.RopeRPM, d.On = true, true, inside, on
	} else if levels.Burst.Known() {
		d.Known, d.RopeRPM, d.On = true, levels.Burst.RPM, levels.Burst.Newest
	}
	d.Flight, d.FlightOn = newestFlight(results, day)
	d.Cadence = levels.Planning().RPM
	if !d.Known || d.Cadence == 0 {
		d.Known = false
		return d
	}
	var err error
	if d.Turn, d.Readiness, err = rhythm.Turn(d.RopeRPM); err != nil {
		d.Known = false
		return d
	}
	d.Advice, err = rhythm.Advise(rhythm.Jumper{RopeRPM: d.RopeRPM, InsideDouble: d.Inside, Cadence: d.Cadence, Flight: d.Flight, Sweep: sweep})
	d.Known = err == nil
	return d
}

// insideRate combines the rates measured inside a double, of the newest one's
// rope.
func insideRate(results []gym.Result, day time.Time) (rpm float64, on time.Time, ok bool) {
	var alike []rate.Result
	for _, r := range results {
		if r.Protocol != rate.InDouble || !level.Counts(r) {
			continue
		}
		if known, err := level.RateOf(r); err == nil {
			alike = append(alike, rate.Result{Rate: known, Kind: rate.Kind{Family: r.Protocol, Rope: r.RopeKind}, On: r.Day})
		}
	}
	if len(alike) == 0 {
		return 0, time.Time{}, false
	}
	newest := slices.MaxFunc(alike, func(a, b rate.Result) int { return cmp.Compare(a.On.Unix(), b.On.Unix()) })
	combined, err := rate.Recent(alike, newest.Kind, day)
	return combined.RPM, newest.On, err == nil
}

// newestFlight returns the newest flight time of the last twelve weeks.
func newestFlight(results []gym.Result, day time.Time) (seconds float64, on time.Time) {
	var taken time.Time
	for _, r := range results {
		if r.Protocol == rate.Flight && r.FlightSeconds != nil && within(r.Day, day, runDays) && r.TakenAt.After(taken) {
			seconds, on, taken = *r.FlightSeconds, r.Day, r.TakenAt
		}
	}
	return seconds, on
}
