package cleanrun

import "math"

// Odds say what a run of n clean reps asks.
type Odds struct {
	Clean    float64 // chance of the run in one attempt, 0–1
	Attempts float64 // expected attempts until the first such run, 1 or more
	Reps     float64 // expected reps tried until then, catches counted, n or more
}

// OddsAt returns the odds of n clean reps in a row when each rep is clean with
// the known chance p: pⁿ, 1/pⁿ and (1 − pⁿ)/((1 − p)·pⁿ).
//
// It returns [ErrChance] unless 0 ≤ p ≤ 1, [ErrLength], and [ErrNoChance] when p
// is 0 or pⁿ too small for a number.
//
// Source: W. Feller, An Introduction to Probability Theory and Its Applications
// I, XIII.7.
func OddsAt(p float64, n int) (Odds, error) {
	switch {
	case !(p >= 0 && p <= 1):
		return Odds{}, ErrChance
	case n < 1 || n > MaxReps:
		return Odds{}, ErrLength
	case p == 1:
		return Odds{Clean: 1, Attempts: 1, Reps: float64(n)}, nil
	}
	caught := -math.Expm1(float64(n) * math.Log(p)) // 1 − pⁿ, with its digits near p = 1
	return odds(math.Pow(p, float64(n)), caught/(1-p))
}

// Odds returns the odds of n clean reps in a row for an athlete known by t: the
// posterior predictive (Beta–binomial) chance, that is the product over i < n of
// (r + ½ + i)/(r + c + 1 + i) with r clean reps and c catches. It takes the
// uncertainty of the hazard in, so few reps give modest odds, and supposes that
// the hazard is the same all along the run (see [Pattern]).
//
// Attempts is 1/Clean; Reps adds, as Feller's formula does, the chances to be
// still clean before each rep and divides by Clean.
//
// It returns [ErrNoRuns], [ErrReps], [ErrLength] and [ErrNoChance].
func (t Tally) Odds(n int) (Odds, error) {
	if err := t.check(); err != nil {
		return Odds{}, err
	}
	if n < 1 || n > MaxReps {
		return Odds{}, ErrLength
	}
	a, b := t.posterior()
	clean, perAttempt := 1.0, 0.0
	for i := range n {
		perAttempt += clean
		clean *= (b + float64(i)) / (a + b + float64(i))
	}
	return odds(clean, perAttempt)
}

// odds completes the odds from the chance of the run and the reps that one
// attempt is expected to take.
func odds(clean, perAttempt float64) (Odds, error) {
	o := Odds{Clean: clean, Attempts: 1 / clean, Reps: perAttempt / clean}
	if math.IsInf(o.Attempts, 1) || math.IsInf(o.Reps, 1) {
		return Odds{}, ErrNoChance
	}
	return o, nil
}

// AtLeast returns the chance to make k or more of m tries, such as the three of
// five of a gate, for an athlete who made and missed so many tries before: the
// Beta–binomial tail from Jeffreys' prior.
//
// It returns [ErrNoRuns] without a try, [ErrReps] for a count below 0 or above
// [MaxReps], and [ErrTries] unless 1 ≤ k ≤ m ≤ [MaxReps].
func AtLeast(k, m, made, missed int) (float64, error) {
	switch {
	case made < 0 || missed < 0 || made > MaxReps || missed > MaxReps:
		return 0, ErrReps
	case made+missed == 0:
		return 0, ErrNoRuns
	case k < 1 || k > m || m > MaxReps:
		return 0, ErrTries
	}
	a, b := float64(made)+0.5, float64(missed)+0.5
	var chance float64
	for j := k; j <= m; j++ {
		hit, miss := float64(j), float64(m-j)
		chance += math.Exp(logChoose(m, j) + logBeta(a+hit, b+miss) - logBeta(a, b))
	}
	return min(chance, 1), nil
}

func logBeta(a, b float64) float64 { return logGamma(a) + logGamma(b) - logGamma(a+b) }

func logChoose(n, k int) float64 {
	return logGamma(float64(n)+1) - logGamma(float64(k)+1) - logGamma(float64(n-k)+1)
}

// logGamma returns ln Γ(x) for x > 0.
func logGamma(x float64) float64 {
	v, _ := math.Lgamma(x) // the sign is + for x > 0
	return v
}
