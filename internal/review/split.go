package review

import "math"

// A Split says how much of a change of the whole-test rate came from catching
// less and how much from turning faster, in whole rpm that add up to the change.
type Split struct {
	Known          bool
	FewerCatches   float64
	TurningFaster  float64
	TurnedAtStart  float64 // share of the test time in which the rope turned, 0–1
	TurnedAtTheEnd float64
}

// splitOf parts the change of the whole-test rate W = T·s, where T is the
// turning rate and s the share of time in which the rope turned: a change of T
// counts at the mean share, a change of s at the mean turning rate, and the two
// add up exactly. It is known only where every catch of those tests was timed.
func splitOf(whole, turning Movement) Split {
	if !whole.Judged() || !turning.Judged() ||
		whole.Start.Tests != turning.Start.Tests || whole.End.Tests != turning.End.Tests ||
		turning.Start.RPM == 0 || turning.End.RPM == 0 {
		return Split{}
	}
	before, after := whole.Start.RPM/turning.Start.RPM, whole.End.RPM/turning.End.RPM
	faster := (turning.End.RPM - turning.Start.RPM) * (before + after) / 2
	rounded := math.Round(faster)
	return Split{Known: true, FewerCatches: whole.Gain() - rounded, TurningFaster: rounded,
		TurnedAtStart: min(1, before), TurnedAtTheEnd: min(1, after)}
}
