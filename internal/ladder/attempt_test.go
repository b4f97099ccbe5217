package ladder

import (
	"reflect"
	"testing"
)

func TestAttempts(t *testing.T) {
	adult := Athlete{Age: 30}
	tests := []struct {
		name     string
		stage    string
		athlete  Athlete
		evidence []Evidence
		want     []Attempt
	}{
		{"a first long run", "long-clean-run", adult, nil, []Attempt{
			{Clause: "long-run", Measure: "clean_run", Step: "bounce", Target: 200, Clean: Portion{Steady: 200}}}},
		{"a child's second", "long-clean-run", Athlete{Age: 12}, []Evidence{run("a", 3, 120)}, []Attempt{
			{Clause: "long-run", Measure: "clean_run", Step: "bounce", Rope: Beaded, Target: 100, Clean: Portion{Steady: 100}, Completes: true}}},
		{"a second on the same day", "long-clean-run", adult, []Evidence{run("a", 0, 220)}, []Attempt{
			{Clause: "long-run", Measure: "clean_run", Step: "bounce", Rope: Beaded, Target: 200, Clean: Portion{Steady: 200}, NotToday: true}}},
		{"a rate has no odds, a split has", "changes-of-pace", adult, nil, []Attempt{
			{Clause: "split", Measure: "split_cycles", Task: "split-10-10", Step: Any, Target: 4, Clean: Portion{Steady: 40, Burst: 40}, Completes: true}}},
		{"five tries", "one-double-go-on", adult, nil, []Attempt{
			{Clause: "three-of-five", Measure: "good_tries", Task: "five-double-five", Step: Any, Target: 3,
				Clean: Portion{Steady: 10, Doubles: 1}, Successes: 3, Tries: 5}}},
		{"eight rounds", "every-fourth", adult, nil, []Attempt{
			{Clause: "eight-rounds", Measure: "pattern_rounds", Task: "three-singles-one-double", Step: Any, Target: 8,
				Clean: Portion{Steady: 24, Doubles: 8}, Completes: true}}},
		{"only what is not met", "two-three-five", adult, []Evidence{row("a", 9, 3), row("b", 2, 3)}, []Attempt{
			{Clause: "five", Measure: "doubles_in_a_row", Step: Any, Target: 5, Clean: Portion{Doubles: 5}}}},
		{"a coach's judgement has no odds", "double-without-rope", adult, nil, nil},
		{"nothing once the gate is met", "ten-then-thirty", adult, []Evidence{run("a", 9, 40), run("b", 1, 40)}, nil},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			gate := gateOf(t, test.stage)
			got := gate.Attempts(test.athlete, gate.Evaluate(test.athlete, test.evidence, today))
			if !reflect.DeepEqual(got, test.want) {
				t.Errorf("got  %+v\nwant %+v", got, test.want)
			}
		})
	}
}

func TestTriesSoFar(t *testing.T) {
	a := Attempt{Task: "one-double-stop"}
	made, missed := a.Tried([]Evidence{
		tries("a", 9, "one-double-stop", 3, 5), tries("b", 2, "one-double-stop", 1, 5), tries("c", 2, "five-double-five", 5, 5),
		with(tries("d", 2, "one-double-stop", 2, 5), func(e *Evidence) { e.Replaces = "b" }), run("e", 1, 30),
	})
	if made != 5 || missed != 5 {
		t.Errorf("%d made, %d missed", made, missed)
	}
}

func TestDrillAtOwnRates(t *testing.T) {
	s, _ := english(t).Stage("changes-of-pace")
	lines, lacking := s.Drill.At(Rates{Base: 120, Target: 150})
	if len(lacking) > 0 || len(lines) != 2 {
		t.Fatalf("%+v, lacking %v", lines, lacking)
	}
	if l := lines[0]; l.Rate != 120 || l.Reps != 20 || l.Seconds != 10 {
		t.Errorf("steady: %+v", l)
	}
	if l := lines[1]; l.Rate != 150 || l.Reps != 10 || l.Seconds != 4 {
		t.Errorf("burst: %+v", l)
	}
	lines, lacking = s.Drill.At(Rates{Base: 120})
	if len(lacking) != 1 || lacking[0] != TargetPace || lines[1].Rate != 0 || lines[1].Seconds != 0 {
		t.Errorf("without a target: %+v, lacking %v", lines, lacking)
	}

	timed := Drill{Blocks: []Block{{Seconds: 20, At: BasePace, Percent: 90}, {Seconds: 10, At: Free}, {Reps: 3, At: DoublePace}, {Reps: 2, At: DoublePace}, {Reps: 2, At: BurstPace, Percent: 50}}}
	lines, lacking = timed.At(Rates{Base: 125, Burst: 200})
	if l := lines[0]; l.Rate != 112.5 || l.Reps != 37 { // 37.5
		t.Errorf("20 s: %+v", l)
	}
	if l := lines[1]; l.Rate != 0 || l.Reps != 0 || l.Seconds != 10 {
		t.Errorf("free: %+v", l)
	}
	if l := lines[4]; l.Rate != 100 || l.Seconds != 1.2 {
		t.Errorf("half the burst: %+v", l)
	}
	if len(lacking) != 1 || lacking[0] != DoublePace {
		t.Errorf("lacking %v", lacking)
	}
}
