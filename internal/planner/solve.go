package planner

import "ropewalk.example/internal/capacity"

// solver holds what one plan is worked out from.
type solver struct {
	in     *Input
	rules  Rules
	limits *PhaseRules
	model  capacity.Model
	why    why
}

// Solve turns an athlete's rates and history into one session's work and rest.
//
// Absent input means: phase building; 20 minutes for the sets; no hazard, hence
// no limit by catches; no contact limit; the split 20/10; the phase's first
// step; sustainable rate, reserve and recovery as [capacity.Assume] gives them.
//
//  1. The target is base and step, at most 0.95 of the burst rate.
//  2. A set has the most cycles for which the balance of the reserve, starting
//     at the phase's share of it, stays above the floor, no more catches are
//     expected than meant, and the set is not too long. Where not even one
//     fits, the blocks get shorter (20/10, 10/5, 5/3, neither block longer than
//     it was), then the target lower by 5 rpm at a time, down to the base.
//  3. Rest is the time for the balance to climb back to that share, within the
//     range of the set's length and above the phase's shortest, rounded up to
//     5 s. A set whose recovery would exceed the range gets shorter.
//  4. There are as many sets as fit the time, the last without a rest, and the
//     contacts. A set for which one of these is too short loses cycles; where
//     not even one cycle is left, the plan has no sets.
//
// Before bursts are permitted by the stage, or while 0.95 of the burst rate is
// no faster than the base, sets are steady. A pain hold gives a plan without
// impact work.
//
// It returns an [*InputError] for input that cannot be right, naming the field,
// and an [*EvidenceError] for tests that support no plan; both name the test to
// do next where there is one.
func Solve(in Input) (Plan, error) {
	if in.Caution.Hold {
		return holdPlan(), nil
	}
	if err := in.check(); err != nil {
		return Plan{}, err
	}
	s := solver{in: &in, rules: in.rules(), why: newWhy()}
	var err error
	if s.model, err = in.model(); err != nil {
		return Plan{}, err
	}
	s.why.add(RuleBase, Value{"base_rpm", in.BaseRPM})
	if s.steadyOnly() {
		return s.steadyPlan()
	}
	return s.splitPlan()
}

func holdPlan() Plan {
	w := newWhy()
	w.add(RuleHold)
	return Plan{
		RulesVersion: RulesVersion, Kind: KindHold,
		Assumed: []string{}, Why: w.reasons, Segments: []Segment{},
	}
}

// steadyOnly reports whether bursts have to wait, and notes why.
func (s *solver) steadyOnly() bool {
	if stage := s.in.Stage; stage != nil && !stage.Bursts {
		s.why.add(RuleSteady, Value{"stage", float64(stage.Number)})
		return true
	}
	if s.in.mostTarget() <= s.in.BaseRPM {
		s.why.add(RuleNoRoom, Value{"burst_rpm", *s.in.BurstRPM}, Value{"share", burstShare}, Value{"base_rpm", s.in.BaseRPM})
		return true
	}
	return false
}

func (s *solver) steadyPlan() (Plan, error) {
	phase := s.in.Phase
	if phase == "" {
		phase = Building
	}
	s.limits = s.rules.of(phase)
	s.explainCapacity()
	t, err := s.steadySet()
	if err != nil {
		return Plan{}, err
	}
	p := s.session(t)
	p.Kind = KindSteady
	p.Setting = Setting{Phase: phase, Split: p.Split}
	return p, nil
}

func (s *solver) splitPlan() (Plan, error) {
	at := s.in.aim(&s.rules, &s.why)
	s.limits = s.rules.of(at.Phase)
	target := min(s.in.BaseRPM+at.StepRPM, s.in.mostTarget())
	if at.Split.Double {
		beat := s.shape(at.Split, target)
		s.why.add(RuleDoubles, Value{"jumps_per_minute", beat.steadyRPM}, Value{"target_rpm", beat.targetRPM},
			Value{"share", burstShare}, Value{"rope_rpm", s.in.Double.RopeRPM})
	} else if s.in.BurstRPM != nil && target < s.in.BaseRPM+at.StepRPM {
		s.why.add(RuleBurstCap, Value{"target_rpm", target}, Value{"share", burstShare}, Value{"burst_rpm", *s.in.BurstRPM})
	}
	s.explainCapacity()
	t, err := s.fit(at.Split, target)
	if err != nil {
		return Plan{}, err
	}
	p := s.session(t)
	p.Kind = KindSplit
	p.Setting = at
	p.Eased = p.Split != at.Split || (!at.Split.Double && p.TargetRPM < target)
	return p, nil
}

func (s *solver) explainCapacity() {
	m := &s.model
	sustainable, reserve, tau := RuleCapacityKnown, Value{"reserve", m.Reserve}, RuleTauKnown
	for _, code := range m.Assumed {
		switch code {
		case capacity.AssumedTau:
			tau = RuleTauAssumed
		default:
			sustainable = RuleCapacityAssumed
		}
	}
	s.why.add(sustainable, Value{"sustainable_rpm", m.SustainableRPM}, reserve)
	s.why.add(tau, Value{"tau_seconds", m.TauSeconds})
}

// session repeats the set and returns the plan, all but its kind and setting.
func (s *solver) session(t set) Plan {
	r := s.repeat(&t)
	s.explainCycles(&t, &r)
	s.explainRest(&t.rest, t.workSeconds())
	s.explainRepeat(&r)
	p := Plan{
		RulesVersion: RulesVersion,
		SteadyRPM:    t.steadyRPM, TargetRPM: t.targetRPM, Split: t.split,
		Cycles: t.cycles, Sets: r.sets,
		RestSeconds: s.restSeconds(&t.rest), WorkSeconds: t.workSeconds(),
		Reps:     r.sets * t.cycles * t.reps(),
		SetLimit: r.limit,
		NextTest: s.nextTests(),
		Assumed:  assumedCodes(s.model, s.in.BurstRPM != nil || t.count == 1),
		Cue:      cueOf(&t.shape),
	}
	p.Contacts = p.Reps
	if t.split.Double {
		p.Doubles = r.sets * t.cycles * t.split.Burst
	}
	p.CycleLimit, p.Limit = r.limits(&t)
	if s.in.Hazard != nil {
		p.ExpectedCatches = new(float64(r.sets*t.cycles) * t.catches)
	}
	if r.sets > 0 {
		p.Seconds = float64(r.sets)*p.WorkSeconds + float64(r.sets-1)*p.RestSeconds
	}
	p.Segments = s.segments(&t, &p)
	p.Why = s.why.reasons
	return p
}

// nextTests returns the tests that the next plan would be better for, and notes
// why.
func (s *solver) nextTests() []Test {
	bursts := s.in.Stage == nil || s.in.Stage.Bursts
	if s.in.Caution.DaysAway >= longAwayDays {
		s.why.add(RuleNewTests, Value{"days", float64(s.in.Caution.DaysAway)})
		if bursts {
			return []Test{TestBase, TestBurst}
		}
		return []Test{TestBase}
	}
	if !bursts {
		return nil
	}
	if s.in.BurstRPM == nil {
		s.why.add(RuleNoBurst)
		return []Test{TestBurst}
	}
	if s.in.mostTarget() <= s.in.BaseRPM {
		return []Test{TestBurst}
	}
	return nil
}

// segments returns the work and rest of the whole session with the balance
// after each, from a full reserve on.
func (s *solver) segments(t *set, p *Plan) []Segment {
	if p.Sets == 0 {
		return []Segment{}
	}
	list := make([]Segment, 0, p.Sets*(p.Cycles*t.count+1)-1)
	balance := s.model.Reserve
	for n := range p.Sets {
		if n > 0 {
			balance = s.model.After(balance, 0, p.RestSeconds)
			list = append(list, Segment{0, p.RestSeconds, balance})
		}
		for range p.Cycles {
			for _, b := range t.blocks[:t.count] {
				balance = s.model.After(balance, b.rpm, b.seconds)
				list = append(list, Segment{b.rpm, b.seconds, balance})
			}
		}
	}
	return list
}

// cueOf returns the beats that lead through sh.
func cueOf(sh *shape) Cue {
	c := Cue{SteadyPerMinute: sh.steadyRPM, LeadInBeats: leadInBeats}
	switch {
	case sh.split.Double:
		c.BurstPerMinute = sh.steadyRPM
	case sh.count > 1:
		c.BurstPerMinute = sh.targetRPM
	}
	return c
}
