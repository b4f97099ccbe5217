package planner

import "math"

// restRange is the published rest for work of a length, as multiples of it.
type restRange struct{ atSeconds, low, high float64 }

// restRanges returns the ends of the published rows for work near all-out, in
// order of time; between rows the multiples run straight in the logarithm of
// time.
//
// Source: NSCA, Essentials of Strength Training and Conditioning, table of
// work-to-rest ratios by energy system: 5–10 s 1:12–1:20, 15–30 s 1:3–1:5,
// 1–3 min 1:3–1:4.
func restRanges() [6]restRange {
	return [...]restRange{
		{5, 12, 20}, {10, 12, 20},
		{15, 3, 5}, {30, 3, 5},
		{60, 3, 4}, {180, 3, 4},
	}
}

// longWorkRange is the last row of the same table: above 3 min 1:1–1:3.
func longWorkRange() restRange { return restRange{low: 1, high: 3} }

// easyRange is the range for work that is not near all-out (assumed).
func easyRange() restRange { return restRange{low: 1, high: 5} }

// allOutRange returns the range for near all-out work of the given seconds.
func allOutRange(seconds float64) restRange {
	rows := restRanges()
	if seconds <= rows[0].atSeconds {
		return rows[0]
	}
	for i, to := range rows[1:] {
		if seconds > to.atSeconds {
			continue
		}
		from := rows[i]
		f := math.Log(seconds/from.atSeconds) / math.Log(to.atSeconds/from.atSeconds)
		return restRange{seconds, from.low + f*(to.low-from.low), from.high + f*(to.high-from.high)}
	}
	return longWorkRange()
}

// A rest is how long to stand between two sets, and why.
type rest struct {
	from, to    float64 // balance at the set's end and wanted at the next start
	needSeconds float64 // for the balance to climb from one to the other
	bounds      restRange
	share       float64 // the set's mean rate, of the best for its length
	nearAllOut  bool
	lowSeconds  float64 // shortest and longest rest that the rules know
	highSeconds float64
}

// restAfter returns the rest after a set of the given cycles that starts with
// the least balance a set may start with. The range is that of the set's
// length; where the phase's shortest rest is longer, it replaces both ends.
func (s *solver) restAfter(sh *shape, cycles int) rest {
	work := float64(cycles) * sh.seconds
	r := rest{to: s.limits.ResumeShare * s.model.Reserve, bounds: easyRange()}
	r.from = r.to
	for range cycles {
		r.from, _ = sh.cycle(&s.model, r.from)
	}
	r.needSeconds = s.model.RestSeconds(r.from, r.to)
	r.share = 60 * sh.rotations / sh.seconds / s.model.BestRPM(work)
	r.nearAllOut = sh.split.Burst > 0 && r.share >= nearAllOutShare-slack
	if r.nearAllOut {
		r.bounds = allOutRange(work)
	}
	least := s.leastRest(work)
	r.lowSeconds = max(r.bounds.low*work, least)
	r.highSeconds = max(r.bounds.high*work, least)
	return r
}

// leastRest returns the phase's shortest rest after work of the given seconds.
func (s *solver) leastRest(work float64) float64 {
	return max(s.limits.RestSeconds, s.limits.RestRatio*work)
}

// inRange reports whether the recovery fits into the range.
func (r *rest) inRange() bool { return within(r.needSeconds, r.highSeconds) }

// restSeconds returns the rest that is prescribed.
func (s *solver) restSeconds(r *rest) float64 {
	exact := max(r.needSeconds, r.lowSeconds, s.in.Tweak.LeastRestSeconds)
	return restStepSeconds * math.Ceil(exact/restStepSeconds-slack)
}

// explainRest notes where the rest of a set comes from.
func (s *solver) explainRest(r *rest, work float64) {
	w := &s.why
	w.add(RuleRestRecovery, Value{"seconds", r.needSeconds}, Value{"from_balance", r.from}, Value{"to_balance", r.to})
	rule := RuleRestEasy
	if r.nearAllOut {
		rule = RuleRestAllOut
	}
	w.add(rule, Value{"low", r.bounds.low}, Value{"high", r.bounds.high}, Value{"share", r.share})
	if least := s.leastRest(work); least > max(r.needSeconds, r.bounds.low*work) {
		w.add(RuleRestLeast, Value{"seconds", least})
	}
	if !r.inRange() {
		w.add(RuleRestBeyond, Value{"seconds", r.needSeconds}, Value{"high_seconds", r.highSeconds})
	}
	if coach := s.in.Tweak.LeastRestSeconds; coach > max(r.needSeconds, r.lowSeconds) {
		w.add(RuleRestCoach, Value{"seconds", coach})
	}
	w.add(RuleRestRounded, Value{"seconds", s.restSeconds(r)})
}

// within reports whether a is at most b, but for rounding in the last digits.
func within(a, b float64) bool { return a <= b+slack*math.Abs(b) }
