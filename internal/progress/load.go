package progress

import (
	"errors"
	"math"

	"ropewalk.example/internal/stats"
)

// Errors about effort and load.
var (
	// ErrEffort reports an effort outside 0–10.
	ErrEffort = errors.New("effort must be 0 to 10")
	// ErrMinutes reports a session outside 0–1440 minutes.
	ErrMinutes = errors.New("minutes must be 0 to 1440")
	// ErrWeek reports a week that has not seven days.
	ErrWeek = errors.New("a week has seven days; give rest days as 0")
	// ErrLoad reports a load below 0 or not finite.
	ErrLoad = errors.New("a load must be 0 or more")
)

// SessionLoad returns the load of a session in arbitrary units (AU): effort on a
// scale of 0 (rest) to 10 (the hardest there is), asked after the session, times
// its minutes. It returns [ErrEffort] and [ErrMinutes].
//
// Source: C. Foster et al., J. Strength Cond. Res. 15 (2001) 109–115. The words
// of the scale are ours.
func SessionLoad(effort, minutes float64) (float64, error) {
	switch {
	case !(effort >= 0 && effort <= 10):
		return 0, ErrEffort
	case !(minutes >= 0 && minutes <= 24*60):
		return 0, ErrMinutes
	}
	return effort * minutes, nil
}

// A Week sums up seven daily loads.
type Week struct {
	Total    float64 // AU
	Monotony float64 // mean daily load over its standard deviation; NaN when all days are equal
	Strain   float64 // Total × Monotony, AU; NaN likewise
}

// WeekOf returns total, monotony and strain of the loads of seven days in a row,
// rest days as 0. The standard deviation is the sample's (n−1). High monotony
// says that easy and hard days are too alike.
//
// It returns [ErrWeek] and [ErrLoad].
//
// Source: C. Foster, Med. Sci. Sports Exerc. 30 (1998) 1164–1168.
func WeekOf(days []float64) (Week, error) {
	if len(days) != 7 {
		return Week{}, ErrWeek
	}
	w := Week{Monotony: math.NaN(), Strain: math.NaN()}
	alike := true
	for _, load := range days {
		if !(load >= 0) {
			return Week{}, ErrLoad
		}
		w.Total += load
		alike = alike && load == days[0]
	}
	if math.IsInf(w.Total, 1) {
		return Week{}, ErrLoad
	}
	if alike {
		return w, nil
	}
	_, mean, sd := stats.Summary(days)
	w.Monotony = mean / sd
	w.Strain = w.Total * w.Monotony
	if !finite(w.Monotony, w.Strain) {
		return Week{}, ErrLoad
	}
	return w, nil
}

// Jumps counts what the floor felt in a set or session.
type Jumps struct {
	Low     int // single bounces and steps, one rotation each
	Doubles int // double-under tries, missed ones too
	Higher  int // triple-under tries and beyond, missed ones too
}

// Contacts returns the floor contacts: every jump once, a double or triple once.
func (j Jumps) Contacts() int { return j.Low + j.Doubles + j.Higher }

// Ramp says how this week stands against the last. The pages word it, always as
// a question: it never diagnoses.
type Ramp string

// The ramps.
const (
	RampSteady  Ramp = "steady"
	RampRaised  Ramp = "raised"  // more than 10 % up
	RampSteep   Ramp = "steep"   // more than 15 % up
	RampUnknown Ramp = "unknown" // nothing was done last week to compare with
)

// The rises in a week, in percent of the last one, above which the coach is
// asked. Common practice, no source.
const (
	raisedPercent = 10
	steepPercent  = 15
)

// RampOf compares the load or the contacts of two weeks that follow each other
// and returns the rise as a share of the last, NaN when that was 0. The ratio of
// acute to chronic load is not used to foretell injury.
//
// It returns [ErrLoad].
func RampOf(lastWeek, thisWeek float64) (Ramp, float64, error) {
	if !(lastWeek >= 0) || !(thisWeek >= 0) || !finite(lastWeek, thisWeek) {
		return "", 0, ErrLoad
	}
	if lastWeek == 0 {
		return RampUnknown, math.NaN(), nil
	}
	more := 100 * (thisWeek - lastWeek)
	rise := more / lastWeek / 100
	switch {
	case !finite(rise):
		return "", 0, ErrLoad
	case more > steepPercent*lastWeek:
		return RampSteep, rise, nil
	case more > raisedPercent*lastWeek:
		return RampRaised, rise, nil
	}
	return RampSteady, rise, nil
}
