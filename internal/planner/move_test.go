package planner

import "testing"

// session is what became of a session with twenty bursts.
func session(step float64, steady, burst, clean int) Outcome {
	return Outcome{StepRPM: step, Split: Split{Steady: steady, Burst: burst}, Bursts: 20, CleanBursts: clean}
}

func TestNextSetting(t *testing.T) {
	tests := []struct {
		name   string
		past   []Outcome
		change func(*Input)
		want   Setting
		rule   Rule
	}{
		{"nothing yet", nil, nil, Setting{Building, 20, Split{Steady: 20, Burst: 10}}, RuleSplitFirst},
		{"one clean session holds", []Outcome{session(20, 20, 10, 20)}, nil,
			Setting{Building, 20, Split{Steady: 20, Burst: 10}}, RuleSplitHeld},
		{"two clean sessions: the split first", []Outcome{session(20, 20, 10, 17), session(20, 20, 10, 17)}, nil,
			Setting{Building, 20, Split{Steady: 15, Burst: 10}}, RuleSplitUp},
		{"16 of 20 is not clean", []Outcome{session(20, 20, 10, 17), session(20, 20, 10, 16)}, nil,
			Setting{Building, 20, Split{Steady: 20, Burst: 10}}, RuleSplitHeld},
		{"then the step", []Outcome{session(20, 20, 10, 20), session(20, 15, 10, 18), session(20, 15, 10, 18)}, nil,
			Setting{Building, 25, Split{Steady: 15, Burst: 10}}, RuleStepUp},
		{"then the split again", []Outcome{session(20, 15, 10, 18), session(25, 15, 10, 18), session(25, 15, 10, 18)}, nil,
			Setting{Building, 25, Split{Steady: 10, Burst: 10}}, RuleSplitUp},
		{"the first session at a new setting moves nothing", []Outcome{session(20, 20, 10, 20), session(20, 20, 10, 20), session(20, 15, 10, 20)}, nil,
			Setting{Building, 20, Split{Steady: 15, Burst: 10}}, RuleSplitHeld},
		{"many catches: the split down", []Outcome{session(20, 20, 10, 11)}, nil,
			Setting{Building, 20, Split{Steady: 30, Burst: 10}}, RuleSplitDown},
		{"12 of 20 holds", []Outcome{session(20, 20, 10, 12)}, nil,
			Setting{Building, 20, Split{Steady: 20, Burst: 10}}, RuleSplitHeld},
		{"many catches after the step went up: the step down", []Outcome{session(20, 15, 10, 20), session(25, 15, 10, 9)}, nil,
			Setting{Building, 20, Split{Steady: 15, Burst: 10}}, RuleStepDown},
		{"many catches at the easiest setting", []Outcome{session(20, 30, 10, 2)}, nil,
			Setting{Building, 20, Split{Steady: 30, Burst: 10}}, RuleAtBottom},
		{"two clean sessions at step 40: established", []Outcome{session(40, 10, 10, 18), session(40, 10, 10, 17)}, nil,
			Setting{Established, 50, Split{Steady: 10, Burst: 10}}, RuleEstablished},
		{"established stays established", []Outcome{session(40, 10, 10, 18), session(40, 10, 10, 17), session(50, 10, 10, 15)}, nil,
			Setting{Established, 50, Split{Steady: 10, Burst: 10}}, RuleStepHeld},
		{"established is carried by the last plan", []Outcome{session(50, 6, 6, 18), session(50, 6, 6, 18)},
			func(in *Input) { in.Phase = Established }, Setting{Established, 50, Split{Steady: 4, Burst: 4}}, RuleSplitUp},
		{"no double without its stage: the step instead", []Outcome{session(50, 4, 4, 18), session(50, 4, 4, 18)},
			func(in *Input) { in.Phase = Established }, Setting{Established, 55, Split{Steady: 4, Burst: 4}}, RuleStepUp},
		{"a double where the stage permits it", []Outcome{session(50, 4, 4, 18), session(50, 4, 4, 18)},
			func(in *Input) {
				in.Phase, in.Stage, in.Double = Established, new(StageAt(12)), &Double{RopeRPM: 240}
			},
			Setting{Established, 50, Split{Steady: 3, Burst: 1, Double: true}}, RuleSplitUp},
		{"nothing left to move", []Outcome{session(70, 4, 4, 18), session(70, 4, 4, 18)},
			func(in *Input) { in.Phase = Established }, Setting{Established, 70, Split{Steady: 4, Burst: 4}}, RuleAtTop},
		{"no step beyond 0.95 of the burst rate: the split instead", []Outcome{session(20, 20, 10, 20), session(20, 15, 10, 18), session(20, 15, 10, 18)},
			func(in *Input) { in.BurstRPM = new(175.0) }, Setting{Building, 20, Split{Steady: 10, Burst: 10}}, RuleSplitUp},
		{"no burst test: the first step", []Outcome{session(30, 10, 10, 14)},
			func(in *Input) { in.BurstRPM = nil }, Setting{Building, 20, Split{Steady: 10, Burst: 10}}, RuleStepFirst},
		{"a slow base starts at 15 %", nil, func(in *Input) { in.BaseRPM = 100 },
			Setting{Building, 15, Split{Steady: 20, Burst: 10}}, RuleStepSlow},
		{"a base grown fast leaves the step", []Outcome{session(16.5, 20, 10, 14)}, nil,
			Setting{Building, 16.5, Split{Steady: 20, Burst: 10}}, RuleStepHeld},
		{"established brings its first step along", []Outcome{session(40, 20, 10, 14)},
			func(in *Input) { in.Phase = Established }, Setting{Established, 50, Split{Steady: 20, Burst: 10}}, RuleStepHeld},
		{"a minor without an adult is not pushed", []Outcome{session(20, 20, 10, 20), session(20, 20, 10, 20)},
			func(in *Input) { in.Caution.UnattendedMinor = true }, Setting{Building, 20, Split{Steady: 20, Burst: 10}}, RuleNotPushed},
		{"a careful return moves nothing up", []Outcome{session(20, 20, 10, 20), session(20, 20, 10, 20)},
			func(in *Input) { in.Caution.DaysAway = 15 }, Setting{Building, 20, Split{Steady: 20, Burst: 10}}, RuleNotPushed},
		{"clean in easier sets than meant moves nothing up", []Outcome{session(20, 20, 10, 20), {20, firstSplit(), 20, 20, true}}, nil,
			Setting{Building, 20, Split{Steady: 20, Burst: 10}}, RuleEased},
		{"sessions without bursts say nothing", []Outcome{session(20, 20, 10, 20), {Split: Split{Steady: 40}}, {StepRPM: 20, Split: firstSplit()}, session(20, 20, 10, 20)}, nil,
			Setting{Building, 20, Split{Steady: 15, Burst: 10}}, RuleSplitUp},
		{"the coach's step stays, the split moves", []Outcome{session(25, 20, 10, 20), session(25, 20, 10, 20)},
			func(in *Input) { in.StepRPM = new(25.0) }, Setting{Building, 25, Split{Steady: 15, Burst: 10}}, RuleStepCoach},
		{"the coach's split stays, the step moves", []Outcome{session(25, 12, 6, 20), session(25, 12, 6, 20)},
			func(in *Input) { in.Split = &Split{Steady: 12, Burst: 6} }, Setting{Building, 30, Split{Steady: 12, Burst: 6}}, RuleStepUp},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			in := Input{BaseRPM: 150, BurstRPM: new(240.0), History: test.past}
			if test.change != nil {
				test.change(&in)
			}
			p := solved(t, in)
			if p.Setting != test.want {
				t.Errorf("setting %+v, want %+v", p.Setting, test.want)
			}
			if _, ok := p.fired(test.rule); !ok {
				t.Errorf("%s is no reason among %v", test.rule, p.Why)
			}
		})
	}
}

// A clean athlete climbs to the top one move at a time.
func TestOneMoveAtATime(t *testing.T) {
	in := Input{BaseRPM: 150, BurstRPM: new(250.0)}
	at := solved(t, in).Setting
	moves := 0
	for range 60 {
		in.History = append(in.History, Outcome{StepRPM: at.StepRPM, Split: at.Split, Bursts: 20, CleanBursts: 20})
		in.Phase = at.Phase
		next := solved(t, in).Setting
		if next.StepRPM != at.StepRPM && next.Split != at.Split {
			t.Fatalf("from %+v to %+v: both moved", at, next)
		}
		if next != at {
			moves++
		}
		at = next
	}
	// Five splits from 20/10 to 4/4; steps 25, 30, 35, 40, 50, 55, 60, 65, 70.
	if want := (Setting{Established, 70, Split{Steady: 4, Burst: 4}}); at != want || moves != 14 {
		t.Errorf("%d moves to %+v, want 14 to %+v", moves, at, want)
	}
}

func TestRung(t *testing.T) {
	for i, s := range SplitLadder() {
		if s.rung() != i {
			t.Errorf("%v stands on rung %d, want %d", s, s.rung(), i)
		}
	}
	for s, want := range map[Split]int{
		{Steady: 40, Burst: 10}: 0, {Steady: 25, Burst: 10}: 1, {Steady: 12, Burst: 6}: 3,
		{Steady: 5, Burst: 3}: 6, {Steady: 1, Burst: 1}: 6,
	} {
		if s.rung() != want {
			t.Errorf("%v stands on rung %d, want %d", s, s.rung(), want)
		}
	}
}
