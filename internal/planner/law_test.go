package planner

import (
	"encoding/json"
	"errors"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"ropewalk.example/internal/capacity"
)

// inputs draws what a plan may rest on, usual and unusual.
func inputs() *rapid.Generator[Input] {
	return rapid.Custom(func(t *rapid.T) Input {
		in := Input{BaseRPM: rapid.Float64Range(40, 220).Draw(t, "base")}
		if rapid.Bool().Draw(t, "has burst") {
			in.BurstRPM = new(in.BaseRPM * rapid.Float64Range(1, 1.7).Draw(t, "burst"))
		}
		if rapid.Bool().Draw(t, "has capacity") {
			in.Capacity = &Capacity{
				SustainableRPM: in.BaseRPM * rapid.Float64Range(0.9, 1.3).Draw(t, "sustainable"),
				Reserve:        rapid.Float64Range(0, 60).Draw(t, "reserve"),
			}
			if rapid.Bool().Draw(t, "has tau") {
				in.Capacity.TauSeconds = new(rapid.Float64Range(20, 400).Draw(t, "tau"))
			}
		}
		in.Phase = rapid.SampledFrom([]Phase{"", Building, Established}).Draw(t, "phase")
		if rapid.Bool().Draw(t, "has split") {
			in.Split = new(rapid.SampledFrom(slices.Collect(func(yield func(Split) bool) {
				for _, s := range SplitLadder() {
					if !yield(s) {
						return
					}
				}
			})).Draw(t, "split"))
		}
		in.History = rapid.SliceOfN(outcomes(), 0, 6).Draw(t, "history")
		if rapid.Bool().Draw(t, "has hazard") {
			in.Hazard = &Hazard{rapid.Float64Range(0, 0.3).Draw(t, "steady"), rapid.Float64Range(0, 0.5).Draw(t, "burst")}
		}
		if rapid.Bool().Draw(t, "has minutes") {
			in.Minutes = new(rapid.Float64Range(0.1, 60).Draw(t, "minutes"))
		}
		if rapid.Bool().Draw(t, "has contacts") {
			in.ContactsLeft = new(rapid.IntRange(0, 1500).Draw(t, "contacts"))
			in.WeekContactsLeft = new(rapid.IntRange(0, 3000).Draw(t, "week contacts"))
			in.DoublesLeft = new(rapid.IntRange(0, 60).Draw(t, "doubles"))
		}
		if rapid.Bool().Draw(t, "has stage") {
			in.Stage = new(StageAt(rapid.IntRange(1, 16).Draw(t, "stage")))
			in.Double = &Double{RopeRPM: rapid.Float64Range(150, 300).Draw(t, "double")}
		}
		in.Caution = Caution{
			Released:        rapid.Bool().Draw(t, "released"),
			DaysAway:        rapid.IntRange(0, 60).Draw(t, "away"),
			UnattendedMinor: rapid.Bool().Draw(t, "unattended"),
			LighterWeek:     rapid.Bool().Draw(t, "lighter"),
		}
		return in
	})
}

func outcomes() *rapid.Generator[Outcome] {
	return rapid.Custom(func(t *rapid.T) Outcome {
		bursts := rapid.IntRange(0, 40).Draw(t, "bursts")
		ladder := SplitLadder()
		return Outcome{
			StepRPM:     float64(rapid.IntRange(2, 14).Draw(t, "step")) * 5,
			Split:       rapid.SampledFrom(ladder[:]).Draw(t, "past split"),
			Bursts:      bursts,
			CleanBursts: rapid.IntRange(0, bursts).Draw(t, "clean"),
			Eased:       rapid.Bool().Draw(t, "eased"),
		}
	})
}

// plan solves in; drawn input can lack evidence, but is never wrong.
func plan(t *rapid.T, in Input) (Plan, bool) {
	p, err := Solve(in)
	if _, ok := errors.AsType[*EvidenceError](err); ok {
		return Plan{}, false
	}
	if err != nil {
		t.Fatalf("Solve: %v", err)
	}
	return p, true
}

func modelOf(t *rapid.T, in Input) capacity.Model {
	m, err := in.model()
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func TestLawsOfAPlan(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := inputs().Draw(t, "input")
		p, ok := plan(t, in)
		if !ok {
			return
		}
		m, rules := modelOf(t, in), StandardRules()
		limits := rules.of(p.Setting.Phase)

		balance, seconds, reps := m.Reserve, 0.0, 0.0
		for i, s := range p.Segments {
			balance = m.After(balance, s.RPM, s.Seconds)
			if s.Balance != balance {
				t.Fatalf("segment %d ends at %v, the reserve's equation gives %v", i, s.Balance, balance)
			}
			if s.Balance < (limits.FloorShare-1e-6)*m.Reserve {
				t.Fatalf("segment %d: balance %v of %v is below the floor", i, s.Balance, m.Reserve)
			}
			if s.RPM == 0 && s.Balance < (limits.ResumeShare-1e-6)*m.Reserve {
				t.Fatalf("segment %d: the next set starts at %v of %v", i, s.Balance, m.Reserve)
			}
			if s.RPM > 0 && !p.Split.Double {
				reps += s.RPM * s.Seconds / 60
			}
			seconds += s.Seconds
		}
		minutes := 20.0
		if in.Minutes != nil {
			minutes = *in.Minutes
		}
		if seconds > 60*minutes+1e-6 || !near(seconds, p.Seconds) {
			t.Fatalf("%v s of segments, %v s planned, %v min given", seconds, p.Seconds, minutes)
		}
		if !p.Split.Double && math.Abs(reps-float64(p.Reps)) > 1e-6*max(1, reps) {
			t.Fatalf("%v reps in the segments, %d in the plan", reps, p.Reps)
		}
		if in.ContactsLeft != nil && (p.Contacts > min(*in.ContactsLeft, *in.WeekContactsLeft) || p.Doubles > *in.DoublesLeft) {
			t.Fatalf("%d contacts and %d doubles, %d, %d and %d left", p.Contacts, p.Doubles, *in.ContactsLeft, *in.WeekContactsLeft, *in.DoublesLeft)
		}
		if in.BurstRPM != nil && p.Kind == KindSplit && !p.Split.Double && p.TargetRPM > max(0.95**in.BurstRPM, in.BaseRPM) {
			t.Fatalf("target %v above 0.95 of %v", p.TargetRPM, *in.BurstRPM)
		}
		if p.WorkSeconds > limits.SetSeconds+1e-6 {
			t.Fatalf("a set of %v s", p.WorkSeconds)
		}
		if p.RestSeconds < max(limits.RestSeconds, limits.RestRatio*p.WorkSeconds) || math.Mod(p.RestSeconds, 5) != 0 {
			t.Fatalf("rest %v s after %v s", p.RestSeconds, p.WorkSeconds)
		}
		if in.Caution.UnattendedMinor && p.Doubles > 0 {
			t.Fatalf("%d doubles for a minor without an adult", p.Doubles)
		}
		if in.Stage != nil && !in.Stage.Bursts && p.Kind != KindSteady {
			t.Fatalf("bursts at stage %d", in.Stage.Number)
		}
	})
}

func TestSameInputSamePlan(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := inputs().Draw(t, "input")
		stored, err := json.Marshal(in)
		if err != nil {
			t.Fatal(err)
		}
		var again Input
		if err := json.Unmarshal(stored, &again); err != nil {
			t.Fatal(err)
		}
		p, ok := plan(t, in)
		q, okAgain := plan(t, again)
		first, err := json.Marshal(p)
		if err != nil {
			t.Fatal(err)
		}
		if second, _ := json.Marshal(q); ok != okAgain || string(first) != string(second) {
			t.Fatalf("two plans:\n%s\n%s", first, second)
		}
	})
}

func TestMoreRestNeverLowersTheBalance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := inputs().Draw(t, "input")
		in.ContactsLeft, in.WeekContactsLeft, in.DoublesLeft, in.Caution = nil, nil, nil, Caution{}
		in.Minutes = new(30.0)
		p, ok := plan(t, in)
		if !ok {
			return
		}
		in.Tweak.LeastRestSeconds = p.RestSeconds + rapid.Float64Range(0, 200).Draw(t, "more rest")
		q, _ := plan(t, in)
		for i := range min(len(p.Segments), len(q.Segments)) {
			if q.Segments[i].Balance < p.Segments[i].Balance-1e-9 {
				t.Fatalf("segment %d: %v with %v s of rest, %v with %v s", i,
					p.Segments[i].Balance, p.RestSeconds, q.Segments[i].Balance, q.RestSeconds)
			}
		}
	})
}

func TestHigherHazardNeverGivesMoreCycles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := inputs().Draw(t, "input")
		in.ContactsLeft, in.WeekContactsLeft, in.Minutes, in.Caution = nil, nil, nil, Caution{}
		low := Hazard{rapid.Float64Range(0, 0.2).Draw(t, "steady"), rapid.Float64Range(0, 0.4).Draw(t, "burst")}
		high := Hazard{low.Steady + rapid.Float64Range(0, 0.2).Draw(t, "more steady"), low.Burst + rapid.Float64Range(0, 0.2).Draw(t, "more burst")}
		in.Hazard = &low
		p, ok := plan(t, in)
		in.Hazard = &high
		q, okHigh := plan(t, in)
		if !ok || !okHigh {
			return
		}
		if q.Cycles > p.Cycles || q.Cycles*(q.Split.Steady+q.Split.Burst) > p.Cycles*(p.Split.Steady+p.Split.Burst) {
			t.Fatalf("%d of %v at %v, %d of %v at %v", p.Cycles, p.Split, low, q.Cycles, q.Split, high)
		}
	})
}

// Twice the rates over half the time leave the same rotations: with every rate
// and nothing else doubled, a plan has the same reps a cycle in half the time.
func TestDoubleRatesHalveTheWork(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		base := rapid.Float64Range(125, 250).Draw(t, "base")
		step := rapid.Float64Range(20, 40).Draw(t, "step")
		reserve := rapid.Float64Range(4, 12).Draw(t, "reserve")
		slow := Input{BaseRPM: base, StepRPM: &step, Capacity: &Capacity{SustainableRPM: base, Reserve: reserve}}
		fast := slow
		fast.BaseRPM, fast.StepRPM, fast.Capacity = 2*base, new(2*step), &Capacity{SustainableRPM: 2 * base, Reserve: reserve}
		p, ok := plan(t, slow)
		q, okFast := plan(t, fast)
		if !ok || !okFast {
			t.Fatal("no plan")
		}
		if p.CycleLimit != LimitReserve || q.CycleLimit != LimitReserve || p.Split != q.Split || p.cutByRest() || q.cutByRest() {
			return // time and rest do not scale with the rates
		}
		if p.Cycles != q.Cycles || !near(p.WorkSeconds, 2*q.WorkSeconds) || !near(p.TargetRPM*2, q.TargetRPM) {
			t.Fatalf("%d cycles in %v s, at twice the rates %d in %v s", p.Cycles, p.WorkSeconds, q.Cycles, q.WorkSeconds)
		}
	})
}

func (p Plan) cutByRest() bool {
	_, cut := p.fired(RuleCyclesRest)
	return cut
}

func TestMoreTimeNeverGivesFewerSets(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := inputs().Draw(t, "input")
		minutes := rapid.Float64Range(2, 60).Draw(t, "minutes given")
		in.Minutes = &minutes
		p, ok := plan(t, in)
		in.Minutes = new(minutes + rapid.Float64Range(0, 60).Draw(t, "more minutes"))
		q, _ := plan(t, in)
		if ok && q.Contacts < p.Contacts {
			t.Fatalf("%d contacts in %v min, %d in %v min", p.Contacts, minutes, q.Contacts, *in.Minutes)
		}
	})
}

// FuzzInput feeds any text that reads as an input: it gives a plan whose JSON
// is stable and whose ceilings hold, or a typed refusal.
func FuzzInput(f *testing.F) {
	for _, in := range everyRule() {
		data, err := json.Marshal(in)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		var in Input
		if json.Unmarshal(data, &in) != nil {
			return
		}
		if in.Minutes != nil && *in.Minutes > 60 || len(in.History) > 100 {
			return // long, not different
		}
		p, err := Solve(in)
		if err != nil {
			_, wrong := errors.AsType[*InputError](err)
			_, lacking := errors.AsType[*EvidenceError](err)
			if !wrong && !lacking {
				t.Fatalf("untyped error %v", err)
			}
			return
		}
		first, err := json.Marshal(p)
		if err != nil {
			t.Fatal(err)
		}
		var again Plan
		if err := json.Unmarshal(first, &again); err != nil {
			t.Fatal(err)
		}
		if second, _ := json.Marshal(again); string(first) != string(second) {
			t.Fatalf("not stable:\n%s\n%s", first, second)
		}
		if in.ContactsLeft != nil && p.Contacts > *in.ContactsLeft {
			t.Fatalf("%d contacts, %d left", p.Contacts, *in.ContactsLeft)
		}
	})
}
