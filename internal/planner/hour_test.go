package planner

import (
	"errors"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func composed(t *testing.T, h Hour) Composed {
	t.Helper()
	c, err := Compose(h)
	if err != nil {
		t.Fatalf("Compose: %v", err)
	}
	return c
}

func (c Composed) kinds() []PartKind {
	var kinds []PartKind
	for _, p := range c.Parts {
		kinds = append(kinds, p.Kind)
	}
	return kinds
}

// everyHour returns hours, by name, that together fire every rule of hours.
func everyHour() map[string]Hour {
	hour := func(change func(*Hour)) Hour {
		h := Hour{
			Minutes: 45,
			Drill:   &Drill{Name: "double without a rope", Reps: 20, Contacts: 20, PerMinute: 70},
			Gate:    &Attempt{Name: "long clean run", Chance: 0.4, Seconds: 120, Contacts: 200},
			Athlete: Input{BaseRPM: 140, BurstRPM: new(190.0), Stage: new(StageAt(7)), ContactsLeft: new(800)},
		}
		change(&h)
		return h
	}
	return map[string]Hour{
		"likely":         hour(func(h *Hour) {}),
		"unlikely":       hour(func(h *Hour) { h.Gate.Chance = 0.29 }),
		"unattended":     hour(func(h *Hour) { h.Athlete.Caution.UnattendedMinor = true }),
		"gate too long":  hour(func(h *Hour) { h.Gate.Seconds = 3600 }),
		"gate contacts":  hour(func(h *Hour) { h.Athlete.ContactsLeft = new(219) }),
		"drill contacts": hour(func(h *Hour) { h.Athlete.WeekContactsLeft = new(19) }),
		"on hold":        hour(func(h *Hour) { h.Athlete.Caution.Hold = true }),
	}
}

func TestCompose(t *testing.T) {
	c := composed(t, everyHour()["likely"])
	// 45 min: an eighth is 6, a twelfth 4, a fifth 9; two for the gate leave 24.
	for i, want := range []Part{
		{Kind: PartWarmUp, Seconds: 360},
		{Kind: PartTechnique, Name: "double without a rope", Reps: 20, Seconds: 540, Cue: Cue{SteadyPerMinute: 70, LeadInBeats: 4}},
		{Kind: PartSets, Reps: c.Plan.Reps, Seconds: c.Parts[2].Seconds, Cue: Cue{140, 160, 4}},
		{Kind: PartGate, Name: "long clean run", Seconds: 120},
		{Kind: PartSpare, Seconds: 24*60 - c.Parts[2].Seconds},
		{Kind: PartCoolDown, Seconds: 240},
	} {
		if c.Parts[i] != want {
			t.Errorf("part %d = %+v, want %+v", i, c.Parts[i], want)
		}
	}
	if c.Plan.Contacts > 800-220 || c.Plan.Sets == 0 || c.Plan.Cue.LeadInSeconds() != 4*60/140.0 {
		t.Errorf("%d contacts in %d sets, lead-in %v s", c.Plan.Contacts, c.Plan.Sets, c.Plan.Cue.LeadInSeconds())
	}
}

func TestComposeLeavesOut(t *testing.T) {
	for _, test := range []struct {
		name   string
		change func(*Hour)
		want   []PartKind
	}{
		{"an unlikely gate", func(h *Hour) { h.Gate.Chance = 0.29 },
			[]PartKind{PartWarmUp, PartTechnique, PartSets, PartSpare, PartCoolDown}},
		{"a gate for a minor without an adult", func(h *Hour) { h.Athlete.Caution.UnattendedMinor = true },
			[]PartKind{PartWarmUp, PartTechnique, PartSets, PartSpare, PartCoolDown}},
		{"a drill without contacts left", func(h *Hour) { h.Athlete.ContactsLeft, h.Gate = new(10), nil },
			[]PartKind{PartWarmUp, PartSpare, PartCoolDown}},
		{"everything with impact on a hold", func(h *Hour) { h.Athlete.Caution.Hold = true }, []PartKind{PartHold}},
		{"full-effort tests of a minor without an adult", func(h *Hour) {
			h.Athlete.Caution.UnattendedMinor, h.Tests, h.Gate = true, []Test{TestBase, TestBurst, TestAllOut30}, nil
		}, []PartKind{PartWarmUp, PartTest, PartTechnique, PartSets, PartSpare, PartCoolDown}},
		{"full-effort tests before the stage with bursts", func(h *Hour) {
			h.Athlete.Stage, h.Tests, h.Gate = new(StageAt(5)), []Test{TestBase, TestBurst, TestAllOut}, nil
		}, []PartKind{PartWarmUp, PartTest, PartTechnique, PartSets, PartSpare, PartCoolDown}},
		{"nothing on a test day", func(h *Hour) { h.Tests = []Test{TestBase, TestBurst} },
			[]PartKind{PartWarmUp, PartTest, PartTest, PartTechnique, PartSets, PartGate, PartSpare, PartCoolDown}},
		{"technique and sets in a short hour", func(h *Hour) { h.Minutes, h.Tests = 12, []Test{TestBase} },
			[]PartKind{PartWarmUp, PartTest, PartTechnique, PartGate, PartCoolDown}},
	} {
		t.Run(test.name, func(t *testing.T) {
			h := everyHour()["likely"]
			gate := *h.Gate
			h.Gate = &gate
			test.change(&h)
			if got := composed(t, h).kinds(); !slices.Equal(got, test.want) {
				t.Errorf("parts %v, want %v", got, test.want)
			}
		})
	}
}

func TestComposeRefuses(t *testing.T) {
	athlete := Input{BaseRPM: 140}
	for field, h := range map[string]Hour{
		"minutes":           {Minutes: 9, Athlete: athlete},
		"warm_up_minutes":   {Minutes: 30, WarmUpMinutes: new(11), Athlete: athlete},
		"cool_down_minutes": {Minutes: 30, CoolDownMinutes: new(-1), Athlete: athlete},
		"drill":             {Minutes: 30, Drill: &Drill{Seconds: -1}, Athlete: athlete},
		"gate":              {Minutes: 30, Gate: &Attempt{Chance: 1.1, Seconds: 60}, Athlete: athlete},
		"base_rpm":          {Minutes: 30},
	} {
		_, err := Compose(h)
		if input, ok := errors.AsType[*InputError](err); !ok || input.Field != field {
			t.Errorf("%s: error %v", field, err)
		}
	}
	_, err := Compose(Hour{Minutes: 15, Tests: []Test{TestBase, TestBurst, TestAllOut}, Athlete: athlete})
	if input, ok := errors.AsType[*InputError](err); !ok || input.Field != "minutes" {
		t.Errorf("a quarter of an hour for four tests: %v", err)
	}
}

func TestMinutesAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := Hour{
			Minutes: rapid.IntRange(10, 240).Draw(t, "hour"),
			Tests:   rapid.SliceOfN(rapid.SampledFrom([]Test{TestBase, TestBurst, TestAllOut30, TestAllOut180}), 0, 4).Draw(t, "tests"),
			Athlete: inputs().Draw(t, "athlete"),
		}
		h.Athlete.Caution.Hold = rapid.IntRange(0, 9).Draw(t, "hold") == 0
		if rapid.Bool().Draw(t, "has drill") {
			h.Drill = &Drill{Seconds: rapid.IntRange(0, 1200).Draw(t, "drill"), Contacts: rapid.IntRange(0, 300).Draw(t, "drill contacts")}
		}
		if rapid.Bool().Draw(t, "has gate") {
			h.Gate = &Attempt{Chance: rapid.Float64Range(0, 1).Draw(t, "chance"), Seconds: rapid.IntRange(1, 900).Draw(t, "gate"), Contacts: rapid.IntRange(0, 300).Draw(t, "gate contacts")}
		}
		c, err := Compose(h)
		if _, ok := errors.AsType[*EvidenceError](err); ok {
			return
		}
		if input, ok := errors.AsType[*InputError](err); ok && input.Field == "minutes" && len(h.Tests) > 0 {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		seconds, contacts := 0, c.Plan.Contacts
		for _, p := range c.Parts {
			if p.Seconds <= 0 {
				t.Fatalf("%s lasts %d s", p.Kind, p.Seconds)
			}
			seconds += p.Seconds
			switch p.Kind {
			case PartTechnique:
				contacts += h.Drill.Contacts
			case PartGate:
				contacts += h.Gate.Contacts
			}
		}
		if seconds != 60*h.Minutes {
			t.Fatalf("parts last %d s in an hour of %d min", seconds, h.Minutes)
		}
		if left := h.Athlete.ContactsLeft; left != nil && contacts > *left {
			t.Fatalf("%d contacts, %d left", contacts, *left)
		}
	})
}

// A kept plan can be worked out again from what it was solved from.
func TestComposedPlanComesFromItsAthlete(t *testing.T) {
	burst, left := 190.0, 900
	hour := Hour{Minutes: 60, Tests: []Test{TestBase}, Drill: &Drill{Name: "first doubles", Reps: 40, Contacts: 40},
		Gate: &Attempt{Name: "long run", Chance: 0.5, Seconds: 120, Contacts: 200}, Athlete: Input{BaseRPM: 150, BurstRPM: &burst, ContactsLeft: &left}}
	composed, err := Compose(hour)
	if err != nil {
		t.Fatal(err)
	}
	again, err := Solve(composed.Athlete)
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(again, composed.Plan) {
		t.Errorf("the hour's plan has %d sets, solved from its athlete %d", composed.Plan.Sets, again.Sets)
	}
	if got := *composed.Athlete.ContactsLeft; got != 660 {
		t.Errorf("%d jumps left for the sets, want 660: 900 less drill and gate", got)
	}
}
