package planner

// splitRungs is how many splits there are to climb.
const splitRungs = 8

// SplitLadder returns the splits that an athlete climbs, the easiest first:
// fewer steady reps mean more changes of rate in a set. The last is three
// singles and a double under.
//
// Source: common practice, no source.
func SplitLadder() [splitRungs]Split {
	return [...]Split{
		{Steady: 30, Burst: 10},
		{Steady: 20, Burst: 10},
		{Steady: 15, Burst: 10},
		{Steady: 10, Burst: 10},
		{Steady: 8, Burst: 8},
		{Steady: 6, Burst: 6},
		{Steady: 4, Burst: 4},
		{Steady: 3, Burst: 1, Double: true},
	}
}

// firstSplit is where beginners start.
func firstSplit() Split { return Split{Steady: defaultSteadyReps, Burst: defaultBurstReps} }

// rung returns where s stands on the split ladder; a split that is not on it
// counts as the easiest one with fewer steady reps.
func (s Split) rung() int {
	if s.Double {
		return splitRungs - 1
	}
	for i, rung := range SplitLadder() {
		if rung == s || rung.Steady < s.Steady {
			return min(i, splitRungs-2)
		}
	}
	return splitRungs - 2
}

// shortened returns the next easier split after s for one set: 20/10, 10/5,
// 5/3, with no block longer than it was. A double under gives way to a single.
// It returns s where nothing is left.
func (s Split) shortened() Split {
	if s.Double {
		return Split{Steady: s.Steady, Burst: s.Burst}
	}
	for _, row := range [...]Split{{Steady: 20, Burst: 10}, {Steady: 10, Burst: 5}, {Steady: 5, Burst: 3}} {
		next := Split{Steady: min(s.Steady, row.Steady), Burst: min(s.Burst, row.Burst)}
		if next != s {
			return next
		}
	}
	return s
}

// withoutDouble returns the split of singles nearest to one with a double.
func withoutDouble() Split { return SplitLadder()[splitRungs-2] }

// values names the reps of s.
func (s Split) values() (steady, burst Value) {
	return Value{"steady", float64(s.Steady)}, Value{"burst", float64(s.Burst)}
}

// fromValues names the reps of s as what something came from.
func (s Split) fromValues() (steady, burst Value) {
	return Value{"from_steady", float64(s.Steady)}, Value{"from_burst", float64(s.Burst)}
}
