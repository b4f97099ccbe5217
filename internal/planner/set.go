package planner

import (
	"math"

	"ropewalk.example/internal/capacity"
)

// A block is one run at one rate.
type block struct{ rpm, seconds float64 }

// A shape is one cycle of a set at given rates.
type shape struct {
	split     Split
	steadyRPM float64 // rpm; with a double, jumps a minute
	targetRPM float64 // rope rate of the burst, rpm
	blocks    [2]block
	count     int     // blocks in use: 1 for steady sets
	seconds   float64 // of one cycle
	rotations float64 // of one cycle
	catches   float64 // expected in one cycle
}

// shape returns one cycle of split with bursts at target. A burst no faster
// than the base is caught as the base is. In a split with a double, every jump
// keeps one beat: the base rate, or half of 0.95 of the rope rate measured
// inside a double where that is slower; over its beat the rope turns twice.
func (s *solver) shape(split Split, target float64) shape {
	base := s.in.BaseRPM
	sh := shape{split: split, steadyRPM: base, targetRPM: target, count: 2}
	burstSeconds := 60 * float64(split.Burst) / target
	if split.Double {
		beat := min(base, burstShare*s.in.Double.RopeRPM/2)
		sh.steadyRPM, sh.targetRPM = beat, 2*beat
		burstSeconds = 60 * float64(split.Burst) / beat
	}
	sh.blocks = [2]block{
		{sh.steadyRPM, 60 * float64(split.Steady) / sh.steadyRPM},
		{sh.targetRPM, burstSeconds},
	}
	if split.Burst == 0 {
		sh.count, sh.targetRPM = 1, base
	}
	for _, b := range sh.blocks[:sh.count] {
		sh.seconds += b.seconds
		sh.rotations += b.rpm * b.seconds / 60
	}
	if h := s.in.Hazard; h != nil {
		burst := h.Burst
		if sh.targetRPM <= base {
			burst = h.Steady
		}
		sh.catches = float64(split.Steady)*h.Steady + float64(split.Burst)*burst
	}
	return sh
}

// reps returns the jumps of one cycle.
func (sh *shape) reps() int { return sh.split.Steady + sh.split.Burst }

// cycle returns the balance after one cycle and the lowest within it. Within a
// block the balance only rises or only falls, so the ends of blocks suffice.
func (sh *shape) cycle(m *capacity.Model, balance float64) (end, low float64) {
	low = balance
	for _, b := range sh.blocks[:sh.count] {
		balance = m.After(balance, b.rpm, b.seconds)
		low = min(low, balance)
	}
	return balance, low
}

// most returns the most cycles of sh that a set can have: from the least
// balance a set starts with, never below the floor, no more catches expected
// than meant, and not too long. The limit is the first of these, in this order,
// that one more cycle would break.
func (s *solver) most(sh *shape) (int, Limit) {
	balance := s.limits.ResumeShare * s.model.Reserve
	floor := (s.limits.FloorShare - slack) * s.model.Reserve
	for c := 1; ; c++ {
		var low float64
		balance, low = sh.cycle(&s.model, balance)
		switch {
		case low < floor:
			return c - 1, LimitReserve
		case !within(float64(c)*sh.catches, s.limits.SetCatches):
			return c - 1, LimitCatches
		case !within(float64(c)*sh.seconds, s.limits.SetSeconds):
			return c - 1, LimitTime
		}
	}
}

// A set is a shape repeated, with the rest after it.
type set struct {
	shape
	cycles    int
	limit     Limit // what one more cycle would break
	rest      rest
	cutByRest int // cycles before the rest's range cut them, 0 if it did not
}

func (t *set) workSeconds() float64 { return float64(t.cycles) * t.seconds }

// size returns the longest set of sh, of no more than the given cycles, whose
// rest stays in its range. fits is false where there is none; t then has the
// cycles that all other limits allow.
func (s *solver) size(sh shape, atMost int) (t set, fits bool) {
	t.shape = sh
	t.cycles, t.limit = s.most(&sh)
	if most := s.in.Tweak.MostCycles; most > 0 && t.cycles > most {
		t.cycles, t.limit = most, LimitCoach
	}
	for c := min(t.cycles, atMost); c > 0; c-- {
		if t.rest = s.restAfter(&t.shape, c); !t.rest.inRange() {
			continue
		}
		if c < t.cycles {
			t.cycles, t.limit, t.cutByRest = c, LimitReserve, t.cycles
		}
		return t, true
	}
	t.cycles = min(t.cycles, atMost)
	return t, false
}

// fit returns the longest set of the split at the target. Where not even one
// cycle fits, both blocks get shorter; then the target gets lower. A set whose
// blocks got shorter for the sake of its rest gets no more cycles for that.
//
// A rest that is longer than its range even after the shortest set stays that
// long: less would start the next set too low. More catches than meant in the
// easiest set stay too, as nothing shorter is prescribed. A base rate that
// alone takes the balance below its floor is an [*EvidenceError].
func (s *solver) fit(split Split, target float64) (set, error) {
	for atMost := math.MaxInt; ; {
		t, fits := s.size(s.shape(split, target), atMost)
		if fits {
			return t, nil
		}
		if t.cycles > 0 {
			atMost = t.cycles
		}
		shorter := split.shortened()
		if shorter == split {
			if t.cycles == 0 {
				return s.slower(t, target)
			}
			return s.once(t), nil
		}
		s.explainShorter(split, shorter)
		split = shorter
	}
}

func (s *solver) explainShorter(from, to Split) {
	steady, burst := to.values()
	if from.Double {
		s.why.add(RuleNoDoubles, steady, burst)
		return
	}
	fromSteady, fromBurst := from.fromValues()
	s.why.add(RuleSplitShortened, fromSteady, fromBurst, steady, burst)
}

// once returns t with one cycle.
func (s *solver) once(t set) set {
	t.cycles = 1
	t.rest = s.restAfter(&t.shape, 1)
	return t
}

// slower returns one cycle of t's split at the fastest lower target that fits.
func (s *solver) slower(t set, from float64) (set, error) {
	base := s.in.BaseRPM
	for target := from; t.cycles == 0 && target > base; {
		target = max(base, target-stepMoveRPM)
		t, _ = s.size(s.shape(t.split, target), 1)
	}
	if t.cycles == 0 && t.limit == LimitReserve {
		return set{}, errReserve()
	}
	if t.targetRPM < from {
		s.why.add(RuleTargetLowered, Value{"from_rpm", from}, Value{"to_rpm", t.targetRPM})
	}
	if t.cycles == 0 && t.limit == LimitCatches {
		s.why.add(RuleCatchesRemain, Value{"expected", t.catches}, Value{"most", s.limits.SetCatches})
	}
	return s.once(t), nil
}

func errReserve() error {
	return &EvidenceError{
		Code:    "reserve_too_small",
		Problem: "the base rate alone empties the reserve; repeat the base test and the all-out tests",
		Test:    TestAllOut,
	}
}

// steadySet returns one steady block of 15–30 s at the base rate: the longest
// that expects no more catches than meant, the shortest where no clean runs are
// known. Only a reserve that the base rate empties makes it shorter.
func (s *solver) steadySet() (set, error) {
	perSecond := s.in.BaseRPM / 60
	least := max(1, int(math.Ceil(shortSteady*perSecond-slack)))
	reps, limit := max(least, int(math.Floor(longSteady*perSecond+slack))), LimitTime
	switch h := s.in.Hazard; {
	case h == nil:
		reps = least
		s.why.add(RuleUnproven, Value{"seconds", shortSteady})
	case !within(float64(reps)*h.Steady, s.limits.SetCatches):
		reps, limit = max(least, int(math.Floor(s.limits.SetCatches/h.Steady+slack))), LimitCatches
		if expected := float64(reps) * h.Steady; !within(expected, s.limits.SetCatches) {
			s.why.add(RuleCatchesRemain, Value{"expected", expected}, Value{"most", s.limits.SetCatches})
		}
	}
	if drop := 1 - s.model.SustainableRPM/s.in.BaseRPM; drop > 0 {
		room := (s.limits.ResumeShare - s.limits.FloorShare) * s.model.Reserve
		if most := math.Floor(room/drop + slack); most < float64(reps) {
			reps, limit = int(most), LimitReserve
		}
	}
	if reps < 1 {
		return set{}, errReserve()
	}
	t := set{shape: s.shape(Split{Steady: reps}, s.in.BaseRPM), cycles: 1, limit: limit}
	t.rest = s.restAfter(&t.shape, 1)
	return t, nil
}
