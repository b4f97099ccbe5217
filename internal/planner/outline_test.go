package planner

import (
	"testing"

	"pgregory.net/rapid"
)

func TestOutline(t *testing.T) {
	p := solved(t, Input{BaseRPM: 150, BurstRPM: new(200.0), Minutes: new(5.0)})
	treads := Outline(p)
	if len(treads) != 21 {
		t.Fatalf("%d treads", len(treads))
	}
	work := p.WorkSeconds
	for i, want := range map[int]Tread{
		0:  {Kind: TreadSteady, Set: 1, Cycle: 1, RPM: 150, Reps: 20},
		1:  {Kind: TreadBurst, Set: 1, Cycle: 1, RPM: 170, Reps: 10, Start: 8},
		9:  {Kind: TreadBurst, Set: 1, Cycle: 5, RPM: 170, Reps: 10, Start: work - 600.0/170},
		10: {Kind: TreadRest, Set: 1, Start: work},
		11: {Kind: TreadSteady, Set: 2, Cycle: 1, RPM: 150, Reps: 20, Start: work + 175},
	} {
		got := treads[i]
		if got.Kind != want.Kind || got.Set != want.Set || got.Cycle != want.Cycle || got.RPM != want.RPM ||
			got.Reps != want.Reps || !near(got.Start, want.Start) {
			t.Errorf("tread %d = %+v, want %+v", i, got, want)
		}
	}
	sum := Total(treads)
	if sum.Bursts != 10 || sum.SteadyReps != 200 || sum.BurstReps != 100 || sum.RestSeconds != 175 || !near(sum.SteadySeconds, 80) {
		t.Errorf("totals %+v", sum)
	}
	if steady := Outline(solved(t, Input{BaseRPM: 100, Stage: new(StageAt(4))})); steady[0].Kind != TreadSteady || steady[1].Kind != TreadRest || steady[2].Set != 2 {
		t.Errorf("steady sets: %+v", steady[:3])
	}
	if hold := Outline(solved(t, Input{Caution: Caution{Hold: true}})); len(hold) != 0 {
		t.Errorf("a plan on hold has treads %v", hold)
	}
}

func TestOutlineAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, ok := plan(t, inputs().Draw(t, "input"))
		if !ok {
			return
		}
		sum := Total(Outline(p))
		if sum.SteadyReps+sum.BurstReps != p.Reps || !near(sum.SteadySeconds+sum.BurstSeconds+sum.RestSeconds, p.Seconds) {
			t.Fatalf("totals %+v of %d reps in %v s", sum, p.Reps, p.Seconds)
		}
	})
}
