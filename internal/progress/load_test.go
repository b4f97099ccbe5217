package progress

import (
	"errors"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestSessionLoad(t *testing.T) {
	// C. Foster et al., J. Strength Cond. Res. 15 (2001): 75 minutes at 7 are 525.
	got, err := SessionLoad(7, 75)
	if err != nil || got != 525 {
		t.Errorf("SessionLoad(7, 75) = %g, %v, want 525", got, err)
	}
	for _, test := range []struct {
		effort, minutes float64
		want            error
	}{{11, 60, ErrEffort}, {-1, 60, ErrEffort}, {math.NaN(), 60, ErrEffort}, {5, -1, ErrMinutes}, {5, 1441, ErrMinutes}} {
		if _, err := SessionLoad(test.effort, test.minutes); !errors.Is(err, test.want) {
			t.Errorf("SessionLoad(%g, %g): error = %v, want %v", test.effort, test.minutes, err, test.want)
		}
	}
}

func TestWeek(t *testing.T) {
	// Foster's formulas with the sample deviation, computed to 30 digits.
	got, err := WeekOf([]float64{0, 420, 300, 560, 0, 480, 240})
	if err != nil {
		t.Fatal(err)
	}
	if got.Total != 2000 || !near(got.Monotony, 1.28511776234256, 1e-14) || !near(got.Strain, 2570.23552468513, 1e-11) {
		t.Errorf("week = %+v, want 2000, 1.28511776234256, 2570.23552468513", got)
	}
}

func TestWeekWithoutSpread(t *testing.T) {
	for _, load := range []float64{0, 0.1, 300} {
		got, err := WeekOf([]float64{load, load, load, load, load, load, load})
		if err != nil {
			t.Fatal(err)
		}
		if !math.IsNaN(got.Monotony) || !math.IsNaN(got.Strain) {
			t.Errorf("seven days of %g: %+v, want no monotony and no strain", load, got)
		}
	}
}

func TestWeekRefuses(t *testing.T) {
	tests := []struct {
		name string
		days []float64
		want error
	}{
		{"six days", make([]float64, 6), ErrWeek},
		{"a load below 0", []float64{0, 0, -1, 0, 0, 0, 0}, ErrLoad},
		{"no number", []float64{0, 0, math.NaN(), 0, 0, 0, 0}, ErrLoad},
		{"without end", []float64{0, 0, math.Inf(1), 0, 0, 0, 0}, ErrLoad},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if _, err := WeekOf(test.days); !errors.Is(err, test.want) {
				t.Errorf("error = %v, want %v", err, test.want)
			}
		})
	}
}

func TestMonotonyIgnoresTheUnitOfLoad(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		days := rapid.SliceOfN(rapid.Float64Range(0, 900), 7, 7).Draw(t, "days")
		days[0] = days[1] + 50
		week, err := WeekOf(days)
		if err != nil {
			t.Fatal(err)
		}
		for i := range days {
			days[i] *= 4
		}
		scaled, err := WeekOf(days)
		if err != nil {
			t.Fatal(err)
		}
		if !near(scaled.Monotony, week.Monotony, 1e-9) || !near(scaled.Total, 4*week.Total, 1e-6) {
			t.Fatalf("week %+v, four times as hard %+v", week, scaled)
		}
	})
}

func TestContactsCountEveryJumpOnce(t *testing.T) {
	if got := (Jumps{Low: 120, Doubles: 10, Higher: 1}).Contacts(); got != 131 {
		t.Errorf("contacts = %d, want 131", got)
	}
}

func TestRamp(t *testing.T) {
	tests := []struct {
		last, this float64
		want       Ramp
	}{
		{1000, 1000, RampSteady}, {1000, 400, RampSteady}, {1000, 1100, RampSteady}, {1000, 1101, RampRaised},
		{1000, 1150, RampRaised}, {1000, 1151, RampSteep}, {0, 300, RampUnknown}, {0, 0, RampUnknown},
	}
	for _, test := range tests {
		got, rise, err := RampOf(test.last, test.this)
		if err != nil {
			t.Fatal(err)
		}
		if got != test.want {
			t.Errorf("from %g to %g: %q, want %q", test.last, test.this, got, test.want)
		}
		if known := test.last > 0; known != near(rise, test.this/test.last-1, 1e-12) {
			t.Errorf("from %g to %g: a rise of %g", test.last, test.this, rise)
		}
	}
	if _, _, err := RampOf(-1, 5); !errors.Is(err, ErrLoad) {
		t.Errorf("a load below 0: error = %v, want %v", err, ErrLoad)
	}
}

func TestReturnAfterABreak(t *testing.T) {
	const day = 24 * time.Hour
	tests := []struct {
		name     string
		away     time.Duration
		daysBack int
		want     Return
	}{
		{"a week away", 7 * day, 0, Return{}},
		{"two weeks away", 14 * day, 0, Return{Less: 0.4}},
		{"three weeks away", 21 * day, 5, Return{Less: 0.4}},
		{"four weeks away", 28 * day, 0, Return{Less: 0.5, NewTests: true, NoDoubles: true}},
		{"four weeks away, second session", 28 * day, 2, Return{Less: 0.5, NewTests: true}},
		{"back for a week", 60 * day, 7, Return{}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if got := ReturnAfter(test.away, test.daysBack); got != test.want {
				t.Errorf("%+v, want %+v", got, test.want)
			}
		})
	}
}

func TestCeilings(t *testing.T) {
	// Double unders of adults: NSCA, Essentials of Strength Training and
	// Conditioning, 80–100, 100–120, 120–140 contacts by training age. The rest is
	// our caution, no source.
	tests := []struct {
		name       string
		kind       Kind
		under16    bool
		day        int
		plan, most int
	}{
		{"an adult's first doubles", DoubleUnder, false, 0, 80, 100},
		{"an adult's doubles in the first year", DoubleUnder, false, 100, 100, 120},
		{"an adult's doubles after years", DoubleUnder, false, 900, 120, 140},
		{"a child's first month of doubles", DoubleUnder, true, 27, 30, 40},
		{"a child's later doubles", DoubleUnder, true, 28, 60, 80},
		{"a child's first month", LowBounce, true, 0, 500, 500},
		{"a child later", LowBounce, true, 200, 800, 1000},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got, ok := CeilingFor(DefaultCeilings(), test.kind, test.under16, test.day)
			if !ok || got.Plan != test.plan || got.Most != test.most {
				t.Errorf("%+v, want %d–%d", got, test.plan, test.most)
			}
		})
	}
	if _, ok := CeilingFor(nil, LowBounce, true, 0); ok {
		t.Error("a ceiling found where the gym has none")
	}
}

func TestDefaultCeilingsNeverGrowWithYouthAndNameTheirSource(t *testing.T) {
	for _, kind := range []Kind{LowBounce, DoubleUnder} {
		before := map[bool]Ceiling{}
		for day := range 1000 {
			adult, okAdult := CeilingFor(DefaultCeilings(), kind, false, day)
			child, okChild := CeilingFor(DefaultCeilings(), kind, true, day)
			if !okAdult || !okChild || child.Plan > adult.Plan || child.Most > adult.Most {
				t.Fatalf("day %d: child %+v, adult %+v", day, child, adult)
			}
			for _, c := range []Ceiling{adult, child} {
				if c.Plan > c.Most || c.Week < c.Plan || c.Source == "" || c.Plan < before[c.Under16].Plan {
					t.Fatalf("day %d: %+v after %+v", day, c, before[c.Under16])
				}
				before[c.Under16] = c
			}
		}
	}
}

func TestLeftOfACeiling(t *testing.T) {
	c := Ceiling{Kind: DoubleUnder, Plan: 60, Most: 80, Week: 180, HoursBetween: 48}
	tests := []struct {
		name string
		done Done
		want int
	}{
		{"nothing done", Done{HoursSince: -1}, 60},
		{"rested", Done{SixDays: 60, HoursSince: 48}, 60},
		{"the week is nearly full", Done{SixDays: 150, HoursSince: 48}, 30},
		{"the week is full", Done{SixDays: 190, HoursSince: 60}, 0},
		{"too soon", Done{SixDays: 60, HoursSince: 47}, 0},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if got := c.Left(test.done); got != test.want {
				t.Errorf("%d left, want %d", got, test.want)
			}
		})
	}
}

func FuzzWeek(f *testing.F) {
	f.Add(0.0, 420.0, 300.0, 560.0, 0.0, 480.0, 240.0)
	f.Add(1e308, 1e308, 1e308, 0.0, 0.0, 0.0, 5e-324)
	f.Fuzz(func(t *testing.T, a, b, c, d, e, g, h float64) {
		w, err := WeekOf([]float64{a, b, c, d, e, g, h})
		if err != nil {
			return
		}
		if !finite(w.Total) || math.IsInf(w.Monotony, 0) || math.IsNaN(w.Monotony) != math.IsNaN(w.Strain) {
			t.Fatalf("%+v", w)
		}
	})
}
