// Package capacity answers how fast an athlete can turn for how long: the
// sustainable rate and the reserve above it from all-out tests, what work
// takes from the reserve, and what rest gives back. It is pure computation and
// imports only the standard library and the project's stats and rate packages.
package capacity

import "math"

// DefaultTauSeconds is the assumed time constant of the reserve's recovery.
//
// Published recoveries run from a phosphocreatine half-time near 30 s to a
// half-time of 234 s after exhaustion (Ferguson et al., J. Appl. Physiol. 108
// (2010) 866–874); no published model fits all of them, so this is assumed.
const DefaultTauSeconds = 90

// Names of what a [Model] may rest on without a test of its own.
const (
	AssumedSustainable = "sustainable" // the base rate stands for it
	AssumedReserve     = "reserve"     // guessed from burst and base rate
	AssumedTau         = "tau"         // DefaultTauSeconds stands for it
)

// A Model is an athlete's rate–duration relation with the reserve's recovery.
type Model struct {
	SustainableRPM float64  // S, the rate that could be held, rpm, above 0
	Reserve        float64  // R, rotations available above S, 0 or more
	TauSeconds     float64  // recovery time constant τ, s, above 0
	Assumed        []string // which of the above no test supports; never written to
}

// Assume returns the model for an athlete without all-out tests: the base rate
// is taken as sustainable, the reserve as what 20 s at the burst rate take,
// at least 8 rotations, and τ as [DefaultTauSeconds]. All three are marked as
// assumed. Rates are in rpm; base must be above 0.
//
// Source: assumed; common practice of 20 s blocks.
func Assume(baseRPM, burstRPM float64) Model {
	return Model{
		SustainableRPM: baseRPM,
		Reserve:        max(leastReserve, burstReserveSeconds*(burstRPM-baseRPM)/60),
		TauSeconds:     DefaultTauSeconds,
		Assumed:        []string{AssumedSustainable, AssumedReserve, AssumedTau},
	}
}

// The assumed reserve of an athlete without all-out tests (assumed).
const (
	leastReserve        = 8.0  // rotations
	burstReserveSeconds = 20.0 // seconds at the burst rate
)

// A Segment is a stretch of constant rate.
type Segment struct{ RPM, Seconds float64 }

// After returns the reserve's balance, in rotations, after seconds at rpm from
// the given balance. Above S it falls by (r − S)·t/60 and is not held at 0, so
// that the caller sees exhaustion. Below S it climbs towards the reserve as
//
//	B(t) = R − (R − B₀)·exp(−t·(S − r)/(S·τ))
//
// and never passes it; at S it stays. Standing is rpm 0. It allocates nothing.
//
// Source: the differential W′-balance form of Skiba, Fulford, Clarke et al.,
// Eur. J. Appl. Physiol. 115 (2015) 703–713, with its recovery constant freed:
// τ = 60·R/S gives that paper's equation.
func (m Model) After(balance, rpm, seconds float64) float64 {
	if rpm >= m.SustainableRPM {
		return min(m.Reserve, balance-(rpm-m.SustainableRPM)*seconds/60)
	}
	if balance >= m.Reserve {
		return m.Reserve
	}
	decay := math.Exp(-seconds * (m.SustainableRPM - rpm) / (m.SustainableRPM * m.TauSeconds))
	return min(m.Reserve, m.Reserve-(m.Reserve-balance)*decay)
}

// DifferentialTau returns the τ, in seconds, that turns [Model.After] into the
// differential W′-balance equation itself: 60·R/S.
func DifferentialTau(sustainableRPM, reserve float64) float64 {
	return 60 * reserve / sustainableRPM
}

// RestSeconds returns how long standing still takes to bring the balance up to
// target, both in rotations: 0 if it is there already, +Inf if the target is the
// full reserve or more, which is only approached.
func (m Model) RestSeconds(balance, target float64) float64 {
	switch {
	case balance >= target:
		return 0
	case target >= m.Reserve:
		return math.Inf(1)
	}
	return m.TauSeconds * math.Log((m.Reserve-balance)/(m.Reserve-target))
}

// BestRPM returns the best mean rate, in rpm, that the model allows over the
// given seconds (above 0) of all-out work: S + 60·R/t.
func (m Model) BestRPM(seconds float64) float64 {
	return m.SustainableRPM + 60*m.Reserve/seconds
}
