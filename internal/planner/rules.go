package planner

import (
	"strconv"

	"ropewalk.example/internal/rhythm"
)

// Rules are the numbers a gym may change. The zero value is no set of rules:
// start from [StandardRules].
type Rules struct {
	Building    PhaseRules `json:"building"`
	Established PhaseRules `json:"established"`
}

// PhaseRules bound the work of one [Phase].
type PhaseRules struct {
	FloorShare   float64 `json:"floor_share"`    // the balance never falls below this share of the reserve, 0–1
	ResumeShare  float64 `json:"resume_share"`   // a set starts at this share of the reserve, above FloorShare, below 1
	SetSeconds   float64 `json:"set_seconds"`    // longest set, s
	SetCatches   float64 `json:"set_catches"`    // most catches expected in a set
	RestSeconds  float64 `json:"rest_seconds"`   // shortest rest between sets, s
	RestRatio    float64 `json:"rest_ratio"`     // shortest rest as a multiple of the set's length
	FirstStepRPM float64 `json:"first_step_rpm"` // burst above base at first, rpm
	MostStepRPM  float64 `json:"most_step_rpm"`  // burst above base at most, rpm
}

// StandardRules returns the rules that hold where a gym has not set its own.
// [Constants] names the source of each number.
func StandardRules() Rules {
	return Rules{
		Building: PhaseRules{
			FloorShare: 0.40, ResumeShare: 0.80, SetSeconds: 60, SetCatches: 1,
			RestSeconds: 30, RestRatio: 2, FirstStepRPM: 20, MostStepRPM: 40,
		},
		Established: PhaseRules{
			FloorShare: 0.30, ResumeShare: 0.75, SetSeconds: 90, SetCatches: 0.5,
			RestSeconds: 15, RestRatio: 0, FirstStepRPM: 50, MostStepRPM: 70,
		},
	}
}

// of returns the rules of one phase.
func (r *Rules) of(p Phase) *PhaseRules {
	if p == Established {
		return &r.Established
	}
	return &r.Building
}

// Rules that no gym changes; [Constants] gives each its source.
const (
	lowestRPM         = 10.0  // a base rate below is no rate
	highestRPM        = 600.0 // a rate above is refused
	burstShare        = 0.95  // of the measured burst rate, the most a target may be
	slowBaseRPM       = 120.0 // below it the first step is a share of the base
	slowStepShare     = 0.15  // that share
	stepMoveRPM       = 5.0   // the target moves by this
	establishedStep   = 40.0  // step, rpm, at which clean bursts make established
	cleanShareUp      = 0.85  // clean bursts in two sessions running: one move up
	cleanShareDown    = 0.60  // clean bursts below it: one move down
	firstBurstStage   = 6     // no bursts at an earlier stage
	firstDoubleStage  = 10    // no doubles at an earlier stage
	shortSteady       = 15.0  // s, shortest steady set before bursts
	longSteady        = 30.0  // s, longest
	nearAllOutShare   = 0.9   // of the best mean rate for that time
	restStepSeconds   = 5.0   // rest is rounded up to this
	defaultMinutes    = 20.0  // of set time, net of warm-up and technique
	mostMinutes       = 480.0 // of set time that are still computed
	mostBlockReps     = 1000  // reps in one block that are still computed
	mostReserve       = 1e4   // rotations that are still computed
	mostTauSeconds    = 1e4   // of recovery that are still computed
	mostTestSeconds   = 3600  // of an all-out test that are still computed
	releasedVolume    = 0.5   // of the contacts, after a hold is released
	awayDays          = 14    // days away from which less is done
	awayVolume        = 0.6   // of the contacts then
	longAwayDays      = 28    // days away from which half is done, with new tests
	longAwayVolume    = 0.5   // of the contacts then
	lighterVolume     = 0.6   // of the sets, in a lighter week
	lighterEvery      = 4     // every fourth teaching week is lighter
	testEvery         = 3     // base and burst tests every third teaching week
	allOutEvery       = 6     // all-out tests every sixth teaching week
	likelyGate        = 0.3   // odds from which a gate is tried
	shortestHour      = 10    // minutes of a class hour
	longestHour       = 240   // minutes
	leadInBeats       = 4     // beats of cue before a set
	slack             = 1e-9  // relative difference that counts as none
	defaultSteadyReps = 20    // beginners' split
	defaultBurstReps  = 10
)

// A Constant is one number of the rules with where it comes from.
type Constant struct {
	Name       string
	Value      float64
	Unit       string
	Source     string // a publication, "common practice, no source" or "assumed"
	Changeable bool   // a gym may set its own
}

// Sources that are none.
const (
	practice = "common practice, no source"
	assumed  = "assumed"
	caution  = "our caution, no source"
)

// Constants lists the numbers behind every plan under the given rules.
func Constants(r Rules) []Constant {
	list := []Constant{
		{"rate refused above", highestRPM, "rpm", "no one is known to turn faster than 460 rpm", false},
		{"target as a share of the burst rate, at most", burstShare, "", assumed, false},
		{"base below which the first step is a share", slowBaseRPM, "rpm", assumed, false},
		{"first step as a share of a slow base", slowStepShare, "", assumed, false},
		{"one move of the target", stepMoveRPM, "rpm", assumed, false},
		{"step that makes established", establishedStep, "rpm", practice, false},
		{"share of clean bursts for a move up", cleanShareUp, "", assumed, false},
		{"share of clean bursts for a move down", cleanShareDown, "", assumed, false},
		{"first stage with bursts", firstBurstStage, "", practice, false},
		{"first stage with doubles", firstDoubleStage, "", practice, false},
		{"steady set, shortest", shortSteady, "s", assumed, false},
		{"steady set, longest", longSteady, "s", assumed, false},
		{"near all-out, share of the best mean rate", nearAllOutShare, "", assumed, false},
		{"rest rounded up to", restStepSeconds, "s", practice, false},
		{"height of a double, at most", rhythm.MaxHeight, "m", caution, false},
		{"contacts after a hold", releasedVolume, "", caution, false},
		{"contacts after two weeks away", awayVolume, "", caution, false},
		{"contacts after four weeks away", longAwayVolume, "", caution, false},
		{"sets in a lighter week", lighterVolume, "", practice, false},
		{"lighter week, one in", lighterEvery, "weeks", practice, false},
		{"base and burst tests, every", testEvery, "weeks", assumed, false},
		{"all-out tests, every", allOutEvery, "weeks", assumed, false},
		{"odds from which a gate is tried", likelyGate, "", assumed, false},
		{"cue before a set", leadInBeats, "beats", practice, false},
	}
	for _, row := range restRanges() {
		const source = "NSCA, Essentials of Strength Training and Conditioning, work-to-rest ratios by energy system"
		list = append(list,
			Constant{"rest, least multiple of a near all-out set of " + seconds(row.atSeconds), row.low, "", source, false},
			Constant{"rest, most multiple of a near all-out set of " + seconds(row.atSeconds), row.high, "", source, false})
	}
	list = append(list, phaseConstants("building", r.Building)...)
	return append(list, phaseConstants("established", r.Established)...)
}

func phaseConstants(phase string, r PhaseRules) []Constant {
	return []Constant{
		{phase + ": floor of the balance", r.FloorShare, "of the reserve", assumed, true},
		{phase + ": balance at a set's start", r.ResumeShare, "of the reserve", assumed, true},
		{phase + ": longest set", r.SetSeconds, "s", assumed, true},
		{phase + ": catches expected in a set, at most", r.SetCatches, "", assumed, true},
		{phase + ": shortest rest", r.RestSeconds, "s", practice, true},
		{phase + ": shortest rest as a multiple of the set", r.RestRatio, "", practice, true},
		{phase + ": first step", r.FirstStepRPM, "rpm", practice, true},
		{phase + ": largest step", r.MostStepRPM, "rpm", practice, true},
	}
}

func seconds(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) + " s" }
