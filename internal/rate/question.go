package rate

import "math"

// Codes of a [Question].
const (
	AboveBest     = "above_best"      // above the known best for its window
	FarFromRecent = "far_from_recent" // far from the athlete's own recent level
)

// A Question asks whether a count is right. It never blocks: the answer is kept
// with the result. Against is the known best or the recent level, in rpm;
// Allowed is how far, in rpm, a rate may lie from the recent level unasked.
type Question struct {
	Code    string
	RPM     float64
	Against float64
	Allowed float64
}

// farUncertainties is how many combined standard uncertainties a rate may lie
// from the recent level before it is asked about (assumed).
const farUncertainties = 4

// Questions returns what to ask about a rate measured over a window of seconds,
// nothing if it is plausible. recent is the athlete's level in tests of the
// same kind; its zero value means none is known.
func Questions(r Rate, seconds float64, recent Combined) []Question {
	var ask []Question
	if best := knownBest(seconds); r.RPM > best {
		ask = append(ask, Question{Code: AboveBest, RPM: r.RPM, Against: best})
	}
	if recent.Tests == 0 {
		return ask
	}
	allowed := farUncertainties * math.Hypot(r.U, recent.U)
	if math.Abs(r.RPM-recent.RPM) > allowed {
		ask = append(ask, Question{Code: FarFromRecent, RPM: r.RPM, Against: recent.RPM, Allowed: allowed})
	}
	return ask
}

// knownBest returns the best known rate, in rpm, over a window: that of the
// longest window on record which is no longer, since rates fall with time.
// Source: 230 rotations in 30 s, 408 in 60 s, 1141 in 180 s; 460 rpm for
// anything shorter: best known performances, not checked against a record list.
func knownBest(seconds float64) float64 {
	switch {
	case seconds >= 180:
		return 60 * 1141.0 / 180
	case seconds >= 60:
		return 408
	default:
		return 460
	}
}
