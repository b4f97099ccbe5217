package capacity

import (
	"math"

	"ropewalk.example/internal/stats"
)

// Limits of the recovery fit.
const (
	leastBouts = 4    // two are fitted, and scatter must remain (assumed)
	leastTau   = 5.0  // s, where the search begins (assumed)
	mostTau    = 1800 // s, where it ends (assumed)
	// countVariance is that of a count known to ±1: (1/√3)² (GUM, 4.3.7).
	countVariance = 1.0 / 3
	// settledFactor is how narrow an interval must be to replace DefaultTauSeconds.
	settledFactor = 2
)

// A RepeatBurst is k equal all-out bouts with equal rests, standing, between.
type RepeatBurst struct {
	Rotations   []float64 // counted in each bout, in order
	BoutSeconds float64   // above 0
	RestSeconds float64   // above 0
}

// Recovery is the time constant that a repeat-burst test shows, with its 95 %
// interval, all in seconds. Low is 0 and High +Inf where the counts set no
// bound. Share is the part of the balance that one bout takes, 0–1.
type Recovery struct {
	TauSeconds, Low, High float64
	Share                 float64
	Bouts                 int
}

// Settled reports whether the interval is narrower than a factor 2, so that the
// fitted τ replaces the assumed one.
func (r Recovery) Settled() bool { return r.High < settledFactor*r.Low }

// WithRecovery returns m with the fitted τ in place of its own once that is
// settled, and m itself before.
func (m Model) WithRecovery(r Recovery) Model {
	if !r.Settled() {
		return m
	}
	m.TauSeconds = r.TauSeconds
	var assumed []string
	for _, a := range m.Assumed {
		if a != AssumedTau {
			assumed = append(assumed, a)
		}
	}
	m.Assumed = assumed
	return m
}

// FitRecovery fits the recovery time constant of an athlete with the given S and
// R to the fall of counts in a repeat-burst test, by least squares.
//
// An all-out bout is taken to use the same share f of the balance each time: it
// counts S·w/60 + f·B, and the rest after it lets B climb as [Model.After] has
// it. f and τ are fitted; the interval is the profile's at 95 %, Student's t
// with k − 2 degrees of freedom, the scatter taken as no smaller than that of a
// count known to ±1.
//
// It returns a [*Refused] for the reasons TooFewBouts to NoRecovery,
// [rate.ErrSeconds] and [rate.ErrRotations].
//
// Source: the balance of Skiba et al. (2015); that a bout takes a fixed share is
// assumed, as is that S and R are exact.
func FitRecovery(m Model, test RepeatBurst) (Recovery, error) {
	if err := test.refuse(m); err != nil {
		return Recovery{}, err
	}
	misfit := func(logTau float64) float64 {
		_, squares := test.bestShare(m, math.Exp(logTau))
		return squares
	}
	low, high := math.Log(leastTau), math.Log(mostTau)
	best, least := minimum(misfit, low, high)
	switch margin := 1e-3; {
	case best-low < margin:
		return Recovery{}, &Refused{Reason: NoFall}
	case high-best < margin:
		return Recovery{}, &Refused{Reason: NoRecovery}
	}
	freedom := float64(len(test.Rotations) - 2)
	t := stats.StudentT(0.975, freedom)
	limit := least + t*t*max(least/freedom, countVariance)

	r := Recovery{TauSeconds: math.Exp(best), High: math.Inf(1), Bouts: len(test.Rotations)}
	r.Share, _ = test.bestShare(m, r.TauSeconds)
	if misfit(low) > limit {
		r.Low = math.Exp(crossing(misfit, limit, low, best))
	}
	if misfit(high) > limit {
		r.High = math.Exp(crossing(misfit, limit, high, best))
	}
	return r, nil
}

func (test RepeatBurst) refuse(m Model) error {
	if err := checkWindow(test.BoutSeconds); err != nil {
		return err
	}
	if err := checkWindow(test.RestSeconds); err != nil {
		return err
	}
	for _, n := range test.Rotations {
		if err := checkRotations(n); err != nil {
			return err
		}
	}
	switch {
	case len(test.Rotations) < leastBouts:
		return &Refused{Reason: TooFewBouts}
	case !(test.Rotations[0] > m.SustainableRPM*test.BoutSeconds/60) || !(m.Reserve > 0):
		return &Refused{Reason: NotAllOut}
	}
	return nil
}

// bestShare returns the share that fits the counts best at a given τ, and the
// sum of squared misfits that remains, in rotations squared.
func (test RepeatBurst) bestShare(m Model, tau float64) (share, squares float64) {
	kept := math.Exp(-test.RestSeconds / tau)
	steady := m.SustainableRPM * test.BoutSeconds / 60
	return minimum(func(share float64) float64 {
		var squares float64
		balance := m.Reserve
		for _, n := range test.Rotations {
			e := n - steady - share*balance
			squares += e * e
			balance = m.Reserve - (m.Reserve-(1-share)*balance)*kept
		}
		return squares
	}, 0, 1)
}

// minimum returns where f is least between low and high, and its value there: a
// scan finds the valley, golden sections its floor.
func minimum(f func(float64) float64, low, high float64) (at, value float64) {
	const steps = 48
	width := (high - low) / steps
	at, value = low, f(low)
	for i := 1; i <= steps; i++ {
		x := low + float64(i)*width
		if v := f(x); v < value {
			at, value = x, v
		}
	}
	a, b := max(low, at-width), min(high, at+width)
	ratio := (math.Sqrt(5) - 1) / 2
	for range 60 {
		x, y := b-ratio*(b-a), a+ratio*(b-a)
		if f(x) < f(y) {
			b = y
		} else {
			a = x
		}
	}
	if x := (a + b) / 2; f(x) < value {
		at, value = x, f(x)
	}
	return at, value
}

// crossing returns where f passes limit between outside, where it is above, and
// inside, where it is below.
func crossing(f func(float64) float64, limit, outside, inside float64) float64 {
	for range 60 {
		middle := (outside + inside) / 2
		if f(middle) > limit {
			outside = middle
		} else {
			inside = middle
		}
	}
	return (outside + inside) / 2
}
