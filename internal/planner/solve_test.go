package planner

import (
	"math"
	"slices"
	"testing"
)

// near reports whether a and b agree to nine digits. NaN is near nothing.
func near(a, b float64) bool {
	return a == b || math.Abs(a-b) <= 1e-9*max(1, math.Abs(a), math.Abs(b))
}

func solved(t *testing.T, in Input) Plan {
	t.Helper()
	p, err := Solve(in)
	if err != nil {
		t.Fatalf("Solve: %v", err)
	}
	return p
}

func (p Plan) fired(rule Rule) (Values, bool) {
	i := slices.IndexFunc(p.Why, func(r Reason) bool { return r.Rule == rule })
	if i < 0 {
		return nil, false
	}
	return p.Why[i].Values, true
}

// Every figure is worked by hand from the rules: a cycle of 20/10 at 150 and
// 170 rpm takes 8 + 3.529 s and 10·(1 − 150/170) = 1.176 rotations of reserve.
func TestSolve(t *testing.T) {
	tests := []struct {
		name   string
		in     Input
		target float64
		split  Split
		cycles int
		limit  Limit
		rest   float64
		sets   int
	}{
		// R = max(8, 20·(200 − 150)/60) = 16.67; (0.8 − 0.4)·R/1.176 = 5.67 cycles;
		// 30/11.529 s is 0.933 of the best rate for 57.6 s: 1:3 of it is 172.9 s.
		{"base 150, burst 200", Input{BaseRPM: 150, BurstRPM: new(200.0)},
			170, Split{Steady: 20, Burst: 10}, 5, LimitReserve, 175, 5},
		// R = 8; 3.2/1.176 = 2.7 cycles; 90·ln((8 − 4.047)/1.6) = 81.4 s.
		{"no burst test", Input{BaseRPM: 150},
			170, Split{Steady: 20, Burst: 10}, 2, LimitReserve, 85, 11},
		// 15 % of 100; R = 10; a cycle takes 1.304 of 4; 30 reps expect 0.7 catches.
		{"slow base, catches", Input{BaseRPM: 100, BurstRPM: new(130.0), Hazard: &Hazard{Steady: 0.01, Burst: 0.05}},
			115, Split{Steady: 20, Burst: 10}, 1, LimitCatches, 50, 18},
		// R = 23.33; (0.75 − 0.30)·R/2.5 = 4.2 cycles of 11 s; exactly 0.9 of the best.
		{"established", Input{BaseRPM: 150, BurstRPM: new(220.0), Phase: Established},
			200, Split{Steady: 20, Burst: 10}, 4, LimitReserve, 135, 7},
		// 0.95 · 170 = 161.5; R = 8; a cycle takes 0.712 of 3.2; 11.715 s each, 0.943
		// of the best for 46.9 s: 1:3 of it is 140.6 s.
		{"burst holds the target down", Input{BaseRPM: 150, BurstRPM: new(170.0)},
			161.5, Split{Steady: 20, Burst: 10}, 4, LimitReserve, 145, 7},
		// S above the target: no reserve is used; five cycles of 14.29 s pass 60 s; 1:2.
		{"a set's length", Input{BaseRPM: 120, BurstRPM: new(180.0), Capacity: &Capacity{SustainableRPM: 170, Reserve: 20}},
			140, Split{Steady: 20, Burst: 10}, 4, LimitTime, 115, 7},
		// 1.0 catch is exactly what a set may expect: 2 · (20·0.005 + 10·0.04).
		{"catches at the limit", Input{BaseRPM: 150, BurstRPM: new(220.0), Hazard: &Hazard{Steady: 0.005, Burst: 0.04}},
			170, Split{Steady: 20, Burst: 10}, 2, LimitCatches, 50, 17},
		// R = 1: 20/10 takes 10·(1 − 150/160) − recovery = 0.625 of 0.4; 10/5 fits.
		{"hardly any reserve", Input{BaseRPM: 140, BurstRPM: new(200.0), AllOut: []AllOut{{30, 76}, {180, 451}}},
			160, Split{Steady: 10, Burst: 5}, 1, LimitReserve, 85, 14},
		// 20·0.04 + 10·0.04 = 1.2 catches; half of it fits once.
		{"too many catches for 20/10", Input{BaseRPM: 150, BurstRPM: new(200.0), Hazard: &Hazard{Steady: 0.04, Burst: 0.04}},
			170, Split{Steady: 10, Burst: 5}, 1, LimitCatches, 30, 34},
		// 150 jumps a set.
		{"contacts for three sets", Input{BaseRPM: 150, BurstRPM: new(200.0), ContactsLeft: new(500)},
			170, Split{Steady: 20, Burst: 10}, 5, LimitContacts, 175, 3},
		{"contacts for part of a set", Input{BaseRPM: 150, BurstRPM: new(200.0), ContactsLeft: new(100)},
			170, Split{Steady: 20, Burst: 10}, 3, LimitContacts, 70, 1},
		{"contacts for no cycle", Input{BaseRPM: 150, BurstRPM: new(200.0), ContactsLeft: new(29)},
			170, Split{Steady: 20, Burst: 10}, 5, LimitContacts, 175, 0},
		{"the week's contacts", Input{BaseRPM: 150, BurstRPM: new(200.0), ContactsLeft: new(500), WeekContactsLeft: new(160)},
			170, Split{Steady: 20, Burst: 10}, 5, LimitContacts, 175, 1},
		// 48 s hold four cycles of 11.53 s.
		{"minutes for part of a set", Input{BaseRPM: 150, BurstRPM: new(200.0), Minutes: new(0.8)},
			170, Split{Steady: 20, Burst: 10}, 4, LimitMinutes, 140, 1},
		// 57.6 + 175 + 57.6 = 290.3 s.
		{"time for two sets and one rest", Input{BaseRPM: 150, BurstRPM: new(200.0), Minutes: new(290.5 / 60)},
			170, Split{Steady: 20, Burst: 10}, 5, LimitReserve, 175, 2},
		// 7.53 s a cycle; 0.903 of the best for 37.6 s: 1:3 of it is 112.9 s.
		{"the coach's split", Input{BaseRPM: 150, BurstRPM: new(200.0), Split: &Split{Steady: 10, Burst: 10}, Minutes: new(10.0)},
			170, Split{Steady: 10, Burst: 10}, 5, LimitReserve, 115, 4},
		{"the coach shortens", Input{BaseRPM: 150, BurstRPM: new(200.0), Tweak: Tweak{MostCycles: 2, MostSets: 3, LeastRestSeconds: 121}},
			170, Split{Steady: 20, Burst: 10}, 2, LimitCoach, 125, 3},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			p := solved(t, test.in)
			if !near(p.TargetRPM, test.target) || p.Split != test.split {
				t.Errorf("target %v split %v, want %v %v", p.TargetRPM, p.Split, test.target, test.split)
			}
			if p.Cycles != test.cycles || p.Limit != test.limit {
				t.Errorf("%d cycles by %s, want %d by %s", p.Cycles, p.Limit, test.cycles, test.limit)
			}
			if p.RestSeconds != test.rest || p.Sets != test.sets {
				t.Errorf("rest %v s, %d sets, want %v s, %d", p.RestSeconds, p.Sets, test.rest, test.sets)
			}
			if eased := test.in.Split == nil && p.Split != firstSplit(); p.Eased != eased {
				t.Errorf("eased %t, split %v", p.Eased, p.Split)
			}
			if want := p.Sets * p.Cycles * (p.Split.Steady + p.Split.Burst); p.Reps != want || p.Contacts != want {
				t.Errorf("%d reps, %d contacts, want %d", p.Reps, p.Contacts, want)
			}
		})
	}
}

func TestSolveSegments(t *testing.T) {
	p := solved(t, Input{BaseRPM: 150, BurstRPM: new(200.0), Minutes: new(5.0)})
	if p.Sets != 2 || len(p.Segments) != 2*10+1 {
		t.Fatalf("%d sets, %d segments", p.Sets, len(p.Segments))
	}
	r := 50.0 / 3
	drop := 10 * (1 - 150.0/170)
	end := r - 5*drop
	after := r - (r-end)*math.Exp(-175.0/90)
	for i, want := range map[int]Segment{
		0:  {150, 8, r},
		1:  {170, 600.0 / 170, r - drop},
		9:  {170, 600.0 / 170, end},
		10: {0, 175, after},
		11: {150, 8, after},
		20: {170, 600.0 / 170, after - 5*drop},
	} {
		got := p.Segments[i]
		if got.RPM != want.RPM || !near(got.Seconds, want.Seconds) || !near(got.Balance, want.Balance) {
			t.Errorf("segment %d = %v, want %v", i, got, want)
		}
	}
	total := 0.0
	for _, s := range p.Segments {
		total += s.Seconds
	}
	if !near(total, p.Seconds) {
		t.Errorf("segments last %v s, the plan says %v s", total, p.Seconds)
	}
}

func TestSolveSteady(t *testing.T) {
	tests := []struct {
		name  string
		in    Input
		reps  int
		limit Limit
		rest  float64
		fired Rule
	}{
		{"nothing known of clean runs: 15 s", Input{BaseRPM: 100, Stage: new(StageAt(4))}, 25, LimitTime, 30, RuleUnproven},
		{"few catches: 30 s", Input{BaseRPM: 100, Stage: new(StageAt(5)), Hazard: &Hazard{Steady: 0.01}}, 50, LimitTime, 60, RuleSteady},
		{"one catch in 40", Input{BaseRPM: 100, Stage: new(StageAt(5)), Hazard: &Hazard{Steady: 0.025}}, 40, LimitCatches, 50, RuleCyclesCatches},
		{"one catch in 10: still 15 s", Input{BaseRPM: 100, Stage: new(StageAt(3)), Hazard: &Hazard{Steady: 0.1}}, 25, LimitCatches, 30, RuleCatchesRemain},
		{"burst too near the base", Input{BaseRPM: 150, BurstRPM: new(155.0)}, 38, LimitTime, 35, RuleNoRoom},
		// 1 − 80/100 of a rotation is lost a rep; 0.4 · 10 is there to lose.
		{"base above sustainable", Input{BaseRPM: 100, Stage: new(StageAt(5)), Capacity: &Capacity{SustainableRPM: 80, Reserve: 10}}, 20, LimitReserve, 100, RuleRestBeyond},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			p := solved(t, test.in)
			if p.Kind != KindSteady || p.Split != (Split{Steady: test.reps}) || p.TargetRPM != test.in.BaseRPM || p.Cycles != 1 {
				t.Errorf("%s plan, split %v at %v rpm, %d cycles; want %d steady reps", p.Kind, p.Split, p.TargetRPM, p.Cycles, test.reps)
			}
			if p.CycleLimit != test.limit || p.RestSeconds != test.rest {
				t.Errorf("limit %s, rest %v s; want %s, %v s", p.CycleLimit, p.RestSeconds, test.limit, test.rest)
			}
			if _, ok := p.fired(test.fired); !ok {
				t.Errorf("%s is no reason among %v", test.fired, p.Why)
			}
		})
	}
}

func TestSolveDoubles(t *testing.T) {
	split := &Split{Steady: 3, Burst: 1, Double: true}
	allowed := Input{BaseRPM: 120, BurstRPM: new(200.0), Split: split, Stage: new(StageAt(12)), Double: &Double{RopeRPM: 230}}

	// 0.95 · 230 / 2 = 109.25 jumps a minute; R = 26.67; a double takes 2 − 120/109.25
	// rotations, three singles below S give some back; 4 jumps take 2.197 s.
	p := solved(t, allowed)
	if !p.Split.Double || !near(p.SteadyRPM, 109.25) || !near(p.TargetRPM, 218.5) || p.Doubles != p.Sets*p.Cycles {
		t.Errorf("split %v at %v and %v rpm, %d doubles", p.Split, p.SteadyRPM, p.TargetRPM, p.Doubles)
	}
	if p.Cue.BurstPerMinute != p.Cue.SteadyPerMinute || !near(p.Segments[1].Seconds, 60/109.25) {
		t.Errorf("cue %v, the double takes %v s", p.Cue, p.Segments[1].Seconds)
	}
	for _, test := range []struct {
		name   string
		change func(*Input)
	}{
		{"stage without doubles", func(in *Input) { in.Stage = new(StageAt(9)) }},
		{"no ladder", func(in *Input) { in.Stage = nil }},
		{"rope rate inside a double unknown", func(in *Input) { in.Double = nil }},
		{"would need a jump above 0.20 m", func(in *Input) { in.Double = &Double{RopeRPM: 178} }},
		{"minor without an adult", func(in *Input) { in.Caution.UnattendedMinor = true }},
		{"after a hold", func(in *Input) { in.Caution.Released = true }},
		{"four weeks away", func(in *Input) { in.Caution.DaysAway = 28 }},
		{"no tries left", func(in *Input) { in.DoublesLeft = new(0) }},
	} {
		t.Run(test.name, func(t *testing.T) {
			in := allowed
			test.change(&in)
			p := solved(t, in)
			if _, ok := p.fired(RuleNoDoubles); !ok || p.Doubles != 0 || p.Setting.Split != (Split{Steady: 4, Burst: 4}) {
				t.Errorf("%d doubles in %v; reasons %v", p.Doubles, p.Split, p.Why)
			}
		})
	}
	in := allowed
	in.DoublesLeft = new(12)
	if p := solved(t, in); p.Doubles > 12 || p.Limit != LimitContacts {
		t.Errorf("%d doubles by %s with 12 left", p.Doubles, p.Limit)
	}
}

func TestSolveCaution(t *testing.T) {
	full := Input{BaseRPM: 150, BurstRPM: new(200.0), Minutes: new(40.0)}
	whole := solved(t, full)
	if whole.Sets != 11 {
		t.Fatalf("%d sets without caution", whole.Sets)
	}
	for _, test := range []struct {
		name    string
		caution Caution
		rule    Rule
		sets    int
	}{
		{"after a hold: half", Caution{Released: true}, RuleReleased, 5},
		{"two weeks away: 40 % less", Caution{DaysAway: 14}, RuleAway, 6},
		{"27 days away: 40 % less", Caution{DaysAway: 27}, RuleAway, 6},
		{"four weeks away: half", Caution{DaysAway: 28}, RuleAway, 5},
		{"lighter week: 40 % fewer sets", Caution{LighterWeek: true}, RuleLighterWeek, 6},
		{"the smallest share counts", Caution{LighterWeek: true, Released: true}, RuleReleased, 5},
		{"13 days away: nothing", Caution{DaysAway: 13}, RuleSetsMinutes, 11},
	} {
		t.Run(test.name, func(t *testing.T) {
			in := full
			in.Caution = test.caution
			p := solved(t, in)
			if _, ok := p.fired(test.rule); !ok || p.Sets != test.sets {
				t.Errorf("%d sets, want %d; reasons %v", p.Sets, test.sets, p.Why)
			}
		})
	}
	t.Run("a single set loses cycles", func(t *testing.T) {
		in := full
		in.ContactsLeft, in.Caution.Released = new(150), true
		if p := solved(t, in); p.Sets != 1 || p.Cycles != 2 || p.CycleLimit != LimitContacts {
			t.Errorf("%d sets of %d cycles by %s, want 1 of 2 by contacts", p.Sets, p.Cycles, p.CycleLimit)
		}
	})
	t.Run("four weeks away: new tests", func(t *testing.T) {
		in := full
		in.Caution.DaysAway = 40
		if p := solved(t, in); !slices.Equal(p.NextTest, []Test{TestBase, TestBurst}) {
			t.Errorf("next tests %v", p.NextTest)
		}
	})
	t.Run("pain hold: no work", func(t *testing.T) {
		p := solved(t, Input{Caution: Caution{Hold: true}})
		if p.Kind != KindHold || p.Sets != 0 || p.Contacts != 0 || len(p.Segments) != 0 || len(p.Why) != 1 {
			t.Errorf("plan on hold: %+v", p)
		}
	})
}

// Spread between the rows: half-way in log time from 10 to 15 s is √150 s.
func TestAllOutRange(t *testing.T) {
	for _, test := range []struct{ seconds, low, high float64 }{
		{2, 12, 20}, {5, 12, 20}, {10, 12, 20},
		{math.Sqrt(150), 7.5, 12.5},
		{15, 3, 5}, {20, 3, 5}, {30, 3, 5},
		{math.Sqrt(1800), 3, 4.5},
		{60, 3, 4}, {180, 3, 4}, {180.1, 1, 3},
	} {
		got := allOutRange(test.seconds)
		if !near(got.low, test.low) || !near(got.high, test.high) {
			t.Errorf("%v s: %v–%v, want %v–%v", test.seconds, got.low, got.high, test.low, test.high)
		}
	}
}

func TestShortened(t *testing.T) {
	for _, test := range []struct {
		from Split
		want []Split
	}{
		{Split{Steady: 30, Burst: 10}, []Split{{Steady: 20, Burst: 10}, {Steady: 10, Burst: 5}, {Steady: 5, Burst: 3}}},
		{Split{Steady: 20, Burst: 10}, []Split{{Steady: 10, Burst: 5}, {Steady: 5, Burst: 3}}},
		{Split{Steady: 10, Burst: 10}, []Split{{Steady: 10, Burst: 5}, {Steady: 5, Burst: 3}}},
		{Split{Steady: 8, Burst: 8}, []Split{{Steady: 8, Burst: 5}, {Steady: 5, Burst: 3}}},
		{Split{Steady: 4, Burst: 4}, []Split{{Steady: 4, Burst: 3}}},
		{Split{Steady: 3, Burst: 1, Double: true}, []Split{{Steady: 3, Burst: 1}}},
		{Split{Steady: 3, Burst: 1}, nil},
	} {
		var got []Split
		for s := test.from; s.shortened() != s; {
			s = s.shortened()
			got = append(got, s)
		}
		if !slices.Equal(got, test.want) {
			t.Errorf("%v shortens to %v, want %v", test.from, got, test.want)
		}
	}
}

func TestTargetLowered(t *testing.T) {
	// 4/4 keeps its blocks of four and three; 0.4 of the reserve is 0.2 rotations,
	// which three reps above S = 150 take at 170 (0.35) and 165 (0.27), not at 160.
	p := solved(t, Input{
		BaseRPM: 150, BurstRPM: new(200.0), Split: &Split{Steady: 4, Burst: 4},
		Capacity: &Capacity{SustainableRPM: 150, Reserve: 0.5},
	})
	values, ok := p.fired(RuleTargetLowered)
	if !ok || !p.Eased || p.TargetRPM != 160 || values.Of("from_rpm") != 170 || values.Of("to_rpm") != 160 {
		t.Errorf("target %v, reasons %v", p.TargetRPM, p.Why)
	}
	// Every fifth jump caught: nothing shorter is prescribed.
	p = solved(t, Input{BaseRPM: 150, BurstRPM: new(200.0), Hazard: &Hazard{Steady: 0.2, Burst: 0.4}})
	if _, ok := p.fired(RuleCatchesRemain); !ok || p.Split != (Split{Steady: 5, Burst: 3}) || p.TargetRPM != 150 || p.Cycles != 1 {
		t.Errorf("%v at %v rpm, %d cycles, reasons %v", p.Split, p.TargetRPM, p.Cycles, p.Why)
	}
}

func TestRestShortensTheSet(t *testing.T) {
	// Three cycles of 5.94 s take 0.484 of 0.5 rotations and recover in 96.9 s,
	// more than five times 17.8 s; two recover in 74.6 s, within 13.6 times 11.9 s.
	p := solved(t, everyRule()["rest cuts"])
	values, ok := p.fired(RuleCyclesRest)
	if !ok || p.Cycles != 2 || values.Of("from_cycles") != 3 || p.Limit != LimitReserve || p.RestSeconds != 100 {
		t.Errorf("%d cycles by %s, rest %v s, reasons %v", p.Cycles, p.Limit, p.RestSeconds, p.Why)
	}
	// Catches allow one cycle of 10/10, whose recovery of 51.6 s passes five times
	// its 8.75 s; one of 10/5 recovers in 29.4 s, below the shortest rest of 30 s.
	p = solved(t, Input{
		BaseRPM: 120, BurstRPM: new(168.5), StepRPM: new(40.0), Split: &Split{Steady: 10, Burst: 10},
		Hazard: &Hazard{Steady: 0.02, Burst: 0.05},
	})
	if p.Split != (Split{Steady: 10, Burst: 5}) || p.Cycles != 1 || p.RestSeconds != 30 {
		t.Errorf("%v, %d cycles, rest %v s, reasons %v", p.Split, p.Cycles, p.RestSeconds, p.Why)
	}
}
