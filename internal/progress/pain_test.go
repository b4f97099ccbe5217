package progress

import (
	"errors"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func session(at time.Time, pains ...Pain) Report { return Report{At: at, Session: true, Pains: pains} }

func TestPainThatStopsImpactWork(t *testing.T) {
	shin1, shin2, heel2 := Pain{Score: 1, Place: "shin"}, Pain{Score: 2, Place: "shin"}, Pain{Score: 2, Place: "heel"}
	flagged := func(f Flag) []Report { return []Report{session(today, Pain{Score: 1, Place: "foot", Flags: f})} }
	tests := []struct {
		name    string
		reports []Report
		state   State
		reasons []Reason // of the last report
		advice  bool
	}{
		{"nothing hurts", []Report{session(today)}, Clear, nil, false},
		{"two of ten, once", []Report{session(today, shin2)}, Clear, nil, false},
		{"three of ten", []Report{session(today, Pain{Score: 3, Place: "shin"})}, Held, []Reason{HighScore}, false},
		{"a little at one place, two sessions running", []Report{session(today, shin2), session(today, shin1)}, Held,
			[]Reason{SamePlace}, true},
		{"a little at two places in turn", []Report{session(today, shin2), session(today, heel2)}, Clear, nil, false},
		{"a session without pain between", []Report{session(today, shin2), session(today), session(today, shin1)}, Clear, nil, false},
		{"at home after a sore session", []Report{session(today, shin2), {At: today, Pains: []Pain{shin1}}}, Clear, nil, false},
		{"sharp", flagged(Sharp), Held, []Reason{RedFlag}, true},
		{"limping", flagged(Limping), Held, []Reason{RedFlag}, true},
		{"getting worse", flagged(Worsening), Held, []Reason{RedFlag}, true},
		{"at night", flagged(AtNight), Held, []Reason{RedFlag}, true},
		{"on a bone", flagged(OnBone), Held, []Reason{RedFlag}, true},
		{"unwell, with no place", []Report{session(today, Pain{Flags: Unwell})}, Held, []Reason{Emergency}, true},
		{"sharp and high", []Report{session(today, Pain{Score: 8, Place: "knee", Flags: Sharp})}, Held,
			[]Reason{RedFlag, HighScore}, true},
		{"five of ten at home", []Report{{At: today, Pains: []Pain{{Score: 5, Place: "heel"}}}}, Held, []Reason{HighScore}, false},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			var care Care
			var reasons []Reason
			for _, report := range test.reports {
				var err error
				if care, reasons, err = care.After(report); err != nil {
					t.Fatal(err)
				}
			}
			if care.State != test.state || !slices.Equal(reasons, test.reasons) || care.AdviceFirst != test.advice {
				t.Errorf("care %+v, reasons %q, want %q, %q, advice %t", care, reasons, test.state, test.reasons, test.advice)
			}
		})
	}
}

func TestPainReportsAreRead(t *testing.T) {
	for _, test := range []struct {
		pain Pain
		want error
	}{{Pain{Score: 11, Place: "shin"}, ErrScore}, {Pain{Score: -1, Place: "shin"}, ErrScore}, {Pain{Score: 2}, ErrPlace}} {
		if _, _, err := (Care{}).After(session(today, test.pain)); !errors.Is(err, test.want) {
			t.Errorf("%+v: error = %v, want %v", test.pain, err, test.want)
		}
	}
}

func held(t *testing.T, pain Pain) Care {
	t.Helper()
	care, _, err := Care{}.After(session(today, pain))
	if err != nil || care.State != Held {
		t.Fatalf("%+v gave %+v, %v", pain, care, err)
	}
	return care
}

func TestRelease(t *testing.T) {
	high, flagged := Pain{Score: 4, Place: "shin"}, Pain{Score: 1, Place: "shin", Flags: AtNight}
	twoDays := today.Add(48 * time.Hour)
	tests := []struct {
		name    string
		care    Care
		release Release
		want    error
	}{
		{"by a coach, with a reason, after two days", held(t, high), Release{At: twoDays, ByCoach: true, Reason: "hops freely"}, nil},
		{"no hold", Care{}, Release{At: twoDays, ByCoach: true, Reason: "hops freely"}, ErrNotHeld},
		{"by the athlete", held(t, high), Release{At: twoDays, Reason: "I am fine"}, ErrCoachOnly},
		{"without a reason", held(t, high), Release{At: twoDays, ByCoach: true}, ErrNoReason},
		{"a minute early", held(t, high), Release{At: twoDays.Add(-time.Minute), ByCoach: true, Reason: "hops freely"}, ErrPainTooRecent},
		{"it hurt on the stairs yesterday", held(t, high),
			Release{At: twoDays, ByCoach: true, Reason: "hops freely", LastPain: today.Add(24 * time.Hour)}, ErrPainTooRecent},
		{"red flag without advice", held(t, flagged), Release{At: twoDays, ByCoach: true, Reason: "hops freely"}, ErrAdviceFirst},
		{"red flag with advice", held(t, flagged), Release{At: twoDays, ByCoach: true, Reason: "seen", Advised: true}, nil},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got, err := test.care.Release(test.release)
			if !errors.Is(err, test.want) {
				t.Fatalf("error = %v, want %v", err, test.want)
			}
			if err == nil && (got.State != Restarting || got.Share() != 0.5) {
				t.Errorf("care = %+v, want half the contacts", got)
			}
			if err != nil && got.State != test.care.State {
				t.Errorf("care became %+v", got)
			}
		})
	}
}

func TestRestart(t *testing.T) {
	released, err := held(t, Pain{Score: 4, Place: "shin"}).Release(Release{At: today.Add(72 * time.Hour), ByCoach: true, Reason: "hops freely"})
	if err != nil {
		t.Fatal(err)
	}
	sore, fine := Pain{Score: 1, Place: "shin"}, Pain{Score: 1, Place: "wrist"}
	tests := []struct {
		name     string
		sessions [][]Pain
		want     State
		advice   bool
	}{
		{"one good session", [][]Pain{nil}, Restarting, false},
		{"two good sessions", [][]Pain{nil, nil}, Clear, false},
		{"pain at the same place again", [][]Pain{{sore}}, Held, true},
		{"a little pain elsewhere starts the count anew", [][]Pain{nil, {fine}, nil}, Restarting, false},
		{"and then two good sessions", [][]Pain{nil, {fine}, nil, nil}, Clear, false},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			care := released
			for _, pains := range test.sessions {
				if care, _, err = care.After(session(today.Add(96*time.Hour), pains...)); err != nil {
					t.Fatal(err)
				}
			}
			if care.State != test.want || care.AdviceFirst != test.advice {
				t.Errorf("care = %+v, want %q, advice %t", care, test.want, test.advice)
			}
		})
	}
}

func drawReport(t *rapid.T) Report {
	pain := rapid.Custom(func(t *rapid.T) Pain {
		return Pain{
			Score: rapid.IntRange(0, 10).Draw(t, "score"),
			Place: rapid.SampledFrom([]string{"shin", "heel", "knee"}).Draw(t, "place"),
			Flags: Flag(rapid.SampledFrom([]int{0, 0, 0, 0, int(Sharp), int(Unwell)}).Draw(t, "flags")),
		}
	})
	return Report{
		At:      today.Add(time.Duration(rapid.IntRange(0, 1000).Draw(t, "hours")) * time.Hour),
		Session: rapid.Bool().Draw(t, "session"),
		Pains:   rapid.SliceOfN(pain, 0, 3).Draw(t, "pains"),
	}
}

// Only a release ends a hold, whatever is reported, and reports never change
// what was remembered before.
func TestNoReportEndsAHold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var care Care
		for range rapid.IntRange(1, 12).Draw(t, "reports") {
			before, sore := care, slices.Clone(care.Sore)
			report := drawReport(t)
			next, reasons, err := care.After(report)
			if err != nil {
				t.Fatal(err)
			}
			if !slices.Equal(before.Sore, sore) {
				t.Fatal("the report changed the places remembered before")
			}
			if before.State == Held && (next.State != Held || before.AdviceFirst && !next.AdviceFirst) {
				t.Fatalf("%+v became %+v", before, next)
			}
			if len(reasons) > 0 && next.State != Held {
				t.Fatalf("reasons %q, yet %+v", reasons, next)
			}
			if next.Share() > before.Share() && before.State != Restarting {
				t.Fatalf("%+v became %+v", before, next)
			}
			care = next
		}
	})
}

func TestAllowance(t *testing.T) {
	ready := Circumstances{
		Person:      Person{Attended: true, Stage: 10},
		Low:         Ceiling{Kind: LowBounce, Plan: 800, Most: 1000, Week: 2400},
		Doubles:     Ceiling{Kind: DoubleUnder, Plan: 60, Most: 80, Week: 180, HoursBetween: 48},
		LowDone:     Done{HoursSince: -1},
		DoublesDone: Done{HoursSince: -1},
	}
	tests := []struct {
		name   string
		change func(*Circumstances)
		want   Allowance
	}{
		{"nothing against it", func(*Circumstances) {},
			Allowance{Low: 800, Doubles: 60, AllOut: true, GateAttempt: true, Raise: true}},
		{"pain hold", func(c *Circumstances) { c.Care.State = Held },
			Allowance{Why: []Why{PainHold}}},
		{"after a hold", func(c *Circumstances) { c.Care.State = Restarting },
			Allowance{Low: 400, Why: []Why{PainRestart}}},
		{"a minor alone", func(c *Circumstances) { c.Minor, c.Attended = true, false },
			Allowance{Low: 800, Why: []Why{Unattended}}},
		{"a minor with an adult", func(c *Circumstances) { c.Minor = true },
			Allowance{Low: 800, Doubles: 60, AllOut: true, GateAttempt: true, Raise: true}},
		{"stage 5", func(c *Circumstances) { c.Stage = 5 },
			Allowance{Low: 800, Doubles: 60, GateAttempt: true, Raise: true, Why: []Why{EarlyStage}}},
		{"two weeks away", func(c *Circumstances) { c.Return = Return{Less: 0.4} },
			Allowance{Low: 480, Doubles: 36, AllOut: true, GateAttempt: true, Raise: true, Why: []Why{LongAway}}},
		{"four weeks away", func(c *Circumstances) { c.Return = Return{Less: 0.5, NewTests: true, NoDoubles: true} },
			Allowance{Low: 400, AllOut: true, GateAttempt: true, Raise: true, NewTests: true, Why: []Why{LongAway}}},
		{"doubles yesterday", func(c *Circumstances) { c.DoublesDone = Done{SixDays: 40, HoursSince: 24} },
			Allowance{Low: 800, AllOut: true, GateAttempt: true, Raise: true, Why: []Why{CeilingMet}}},
		{"no ceiling for doubles", func(c *Circumstances) { c.Doubles = Ceiling{} },
			Allowance{Low: 800, AllOut: true, GateAttempt: true, Raise: true, Why: []Why{NoCeiling}}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			c := ready
			test.change(&c)
			got := AllowanceFor(c)
			why := slices.Equal(got.Why, test.want.Why)
			got.Why, test.want.Why = nil, nil
			if !why || !equal(got, test.want) {
				t.Errorf("%+v, want %+v", got, test.want)
			}
		})
	}
}

// equal compares all but the reasons.
func equal(a, b Allowance) bool {
	return a.Low == b.Low && a.Doubles == b.Doubles && a.AllOut == b.AllOut && a.GateAttempt == b.GateAttempt &&
		a.Raise == b.Raise && a.NewTests == b.NewTests
}

func TestNoAllowanceIsAboveACeilingOrNegative(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) int { return rapid.IntRange(0, 3000).Draw(t, name) }
		c := Circumstances{
			Person:      Person{rapid.Bool().Draw(t, "minor"), rapid.Bool().Draw(t, "attended"), rapid.IntRange(1, 16).Draw(t, "stage")},
			Care:        Care{State: rapid.SampledFrom([]State{Clear, Held, Restarting}).Draw(t, "state")},
			Return:      ReturnAfter(time.Duration(rapid.IntRange(0, 60).Draw(t, "away"))*24*time.Hour, rapid.IntRange(0, 9).Draw(t, "back")),
			LowDone:     Done{draw("low today"), draw("low before"), rapid.IntRange(-1, 100).Draw(t, "since low")},
			DoublesDone: Done{draw("doubles today"), draw("doubles before"), rapid.IntRange(-1, 100).Draw(t, "since doubles")},
		}
		under16, day := rapid.Bool().Draw(t, "under 16"), rapid.IntRange(0, 800).Draw(t, "day")
		c.Low, _ = CeilingFor(DefaultCeilings(), LowBounce, under16, day)
		c.Doubles, _ = CeilingFor(DefaultCeilings(), DoubleUnder, under16, day)
		a := AllowanceFor(c)
		if a.Low < 0 || a.Doubles < 0 || a.Low > c.Low.Plan || a.Doubles > c.Doubles.Plan {
			t.Fatalf("%+v of %+v", a, c)
		}
		if a.Low+c.LowDone.Today+c.LowDone.SixDays > max(c.Low.Week, c.LowDone.Today+c.LowDone.SixDays) {
			t.Fatalf("%+v passes the week of %+v", a, c)
		}
		if c.Care.State == Held && (a.Low > 0 || a.Doubles > 0 || a.AllOut || a.GateAttempt) {
			t.Fatalf("%+v during a hold", a)
		}
		if c.alone() && (a.Doubles > 0 || a.AllOut || a.GateAttempt || a.Raise) {
			t.Fatalf("%+v for a minor alone", a)
		}
	})
}
