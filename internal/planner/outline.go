package planner

// Tread is one level piece of a plan's step line.
type Tread struct {
	Kind    TreadKind
	Set     int     // 1, 2, …; a rest counts to the set before it
	Cycle   int     // within the set, 1, 2, …; 0 for a rest
	RPM     float64 // 0 for a rest
	Reps    int     // jumps; 0 for a rest
	Start   float64 // seconds from the first rep
	Seconds float64
	Balance float64 // of the reserve at its end, rotations
}

// TreadKind says what a tread is.
type TreadKind string

// The kinds of tread.
const (
	TreadSteady TreadKind = "steady"
	TreadBurst  TreadKind = "burst"
	TreadDouble TreadKind = "double" // a burst of double unders
	TreadRest   TreadKind = "rest"
)

// Outline lists a plan's work and rest in order, for its step line. All sets of
// a plan are alike, so that one sentence says it: p.Sets sets of p.Cycles times
// p.Split at p.SteadyRPM and p.TargetRPM, p.RestSeconds between.
func Outline(p Plan) []Tread {
	blocks := []Tread{{Kind: TreadSteady, Reps: p.Split.Steady}}
	switch {
	case p.Split.Double:
		blocks = append(blocks, Tread{Kind: TreadDouble, Reps: p.Split.Burst})
	case p.Split.Burst > 0:
		blocks = append(blocks, Tread{Kind: TreadBurst, Reps: p.Split.Burst})
	}
	treads := make([]Tread, 0, len(p.Segments))
	set, block, start := 1, 0, 0.0
	for _, s := range p.Segments {
		t := Tread{Kind: TreadRest, Set: set}
		if s.RPM > 0 {
			t = blocks[block%len(blocks)]
			t.Set, t.Cycle = set, 1+block/len(blocks)
			block++
		} else {
			set, block = set+1, 0
		}
		t.RPM, t.Seconds, t.Balance, t.Start = s.RPM, s.Seconds, s.Balance, start
		start += s.Seconds
		treads = append(treads, t)
	}
	return treads
}

// Totals is what a whole plan comes to.
type Totals struct {
	Bursts        int // burst blocks
	SteadyReps    int
	BurstReps     int
	SteadySeconds float64
	BurstSeconds  float64
	RestSeconds   float64
	Lowest        float64 // balance of the reserve, rotations; 0 without segments
}

// Total adds a plan's treads up.
func Total(treads []Tread) Totals {
	var sum Totals
	for i, t := range treads {
		switch t.Kind {
		case TreadSteady:
			sum.SteadyReps += t.Reps
			sum.SteadySeconds += t.Seconds
		case TreadBurst, TreadDouble:
			sum.Bursts++
			sum.BurstReps += t.Reps
			sum.BurstSeconds += t.Seconds
		case TreadRest:
			sum.RestSeconds += t.Seconds
		}
		if i == 0 || t.Balance < sum.Lowest {
			sum.Lowest = t.Balance
		}
	}
	return sum
}
