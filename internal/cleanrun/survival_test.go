package cleanrun

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// near reports whether a and b agree to the absolute tolerance. NaN is near
// nothing.
func near(a, b, tolerance float64) bool { return math.Abs(a-b) <= tolerance }

// maintained is the maintained arm of the leukaemia study in R. G. Miller,
// Survival Analysis (1981), R's survival::aml, read as run lengths.
var maintained = []Run{
	{9, true}, {13, true}, {13, false}, {18, true}, {23, true}, {28, false},
	{31, true}, {34, true}, {45, false}, {48, true}, {161, false},
}

func TestSurvivalOfThePublishedExample(t *testing.T) {
	curve, err := Survival(maintained, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	// R survival's summary(survfit(Surv(time, status) ~ 1, conf.type = "log-log")).
	want := []struct {
		reps, atRisk, caught int
		survival             float64
	}{
		{9, 11, 1, 0.909091}, {13, 10, 1, 0.818182}, {18, 8, 1, 0.715909}, {23, 7, 1, 0.613636},
		{28, 6, 0, 0.613636}, {31, 5, 1, 0.490909}, {34, 4, 1, 0.368182}, {45, 3, 0, 0.368182},
		{48, 2, 1, 0.184091}, {161, 1, 0, 0.184091},
	}
	if len(curve) != len(want) {
		t.Fatalf("%d rows, want %d", len(curve), len(want))
	}
	for i, w := range want {
		p := curve[i]
		if p.Reps != w.reps || p.AtRisk != w.atRisk || p.Caught != w.caught || !near(p.Survival, w.survival, 5e-7) {
			t.Errorf("row %d = %+v, want %+v", i, p, w)
		}
	}
	first := curve[0]
	if !near(first.SE, 0.0866784, 5e-8) || !near(first.Low, 0.5080802, 5e-8) || !near(first.High, 0.986674, 5e-7) {
		t.Errorf("first row = %+v, want se 0.0866784, interval 0.5080802–0.986674", first)
	}
	if median, ok := curve.Median(); !ok || median != 31 {
		t.Errorf("Median = %d, %t, want 31", median, ok)
	}
}

func TestSurvivalAtTheEdges(t *testing.T) {
	tests := []struct {
		name   string
		runs   []Run
		last   Point
		median int
		ok     bool
	}{
		{"every run caught", []Run{{3, true}, {5, true}}, Point{Reps: 5, AtRisk: 1, Caught: 1}, 3, true},
		{"every run stopped clean", []Run{{3, false}, {5, false}}, Point{Reps: 5, AtRisk: 1, Survival: 1}, 0, false},
		{"caught at the first rep", []Run{{0, true}}, Point{AtRisk: 1, Caught: 1}, 0, true},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			curve, err := Survival(test.runs, 0.95)
			if err != nil {
				t.Fatal(err)
			}
			last := curve[len(curve)-1]
			if !math.IsNaN(last.Low) || !math.IsNaN(last.High) {
				t.Errorf("interval %g–%g where survival is %g, want none", last.Low, last.High, last.Survival)
			}
			last.Low, last.High = 0, 0
			if last != test.last {
				t.Errorf("last row = %+v, want %+v", last, test.last)
			}
			if median, ok := curve.Median(); median != test.median || ok != test.ok {
				t.Errorf("Median = %d, %t, want %d, %t", median, ok, test.median, test.ok)
			}
		})
	}
}

func TestSurvivalRefuses(t *testing.T) {
	tests := []struct {
		name       string
		runs       []Run
		confidence float64
		want       error
	}{
		{"no runs", nil, 0.95, ErrNoRuns},
		{"a negative count", []Run{{-1, true}}, 0.95, ErrReps},
		{"a count beyond any run", []Run{{MaxReps + 1, true}}, 0.95, ErrReps},
		{"certainty", maintained, 1, ErrConfidence},
		{"no confidence", maintained, math.NaN(), ErrConfidence},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if _, err := Survival(test.runs, test.confidence); !errors.Is(err, test.want) {
				t.Errorf("error = %v, want %v", err, test.want)
			}
		})
	}
}

func TestReach(t *testing.T) {
	curve, err := Survival(maintained, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct {
		reps int
		want float64
	}{{0, 1}, {9, 1}, {10, 0.909091}, {13, 0.909091}, {14, 0.818182}, {500, 0.184091}} {
		if got := curve.Reach(test.reps); !near(got, test.want, 5e-7) {
			t.Errorf("Reach(%d) = %g, want %g", test.reps, got, test.want)
		}
	}
}

func anyRuns(maxReps int) *rapid.Generator[[]Run] {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Run {
		return Run{rapid.IntRange(0, maxReps).Draw(t, "reps"), rapid.Bool().Draw(t, "caught")}
	}), 1, 60)
}

func TestSurvivalFallsAndStaysWithinItsInterval(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		runs := anyRuns(40).Draw(t, "runs")
		curve, err := Survival(runs, 0.9)
		if err != nil {
			t.Fatal(err)
		}
		before := Point{Reps: -1, AtRisk: len(runs), Survival: 1}
		for _, p := range curve {
			if p.Reps <= before.Reps || p.AtRisk > before.AtRisk || p.Survival > before.Survival || p.Survival < 0 {
				t.Fatalf("%+v after %+v", p, before)
			}
			if inside := p.Low <= p.Survival && p.Survival <= p.High; !inside && p.Survival > 0 && p.Survival < 1 {
				t.Fatalf("survival %g outside %g–%g", p.Survival, p.Low, p.High)
			}
			before = p
		}
	})
}

// Without stopped runs the curve is the plain share of longer runs.
func TestSurvivalOfCaughtRunsIsTheShareOfLongerRuns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		runs := anyRuns(40).Draw(t, "runs")
		for i := range runs {
			runs[i].Caught = true
		}
		curve, err := Survival(runs, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range curve {
			longer := 0
			for _, r := range runs {
				if r.Reps > p.Reps {
					longer++
				}
			}
			if share := float64(longer) / float64(len(runs)); !near(p.Survival, share, 1e-12) {
				t.Fatalf("survival past %d = %g, want %g", p.Reps, p.Survival, share)
			}
		}
	})
}

func TestTableAndSortingAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		runs := anyRuns(200).Draw(t, "runs")
		kept := slices.Clone(runs)
		if a, b := endsByTable(runs, 200), endsBySorting(runs); !slices.Equal(a, b) {
			t.Fatalf("by table %v, by sorting %v", a, b)
		}
		if !slices.Equal(runs, kept) {
			t.Fatal("the runs were changed")
		}
	})
}

func FuzzSurvival(f *testing.F) {
	f.Add([]byte{9, 1, 13, 1, 13, 0, 161, 0}, 0.95, 1)
	f.Add([]byte{0, 1}, 0.5, 100_000)
	f.Fuzz(func(t *testing.T, data []byte, confidence float64, scale int) {
		var runs []Run
		for i := 0; i+1 < len(data); i += 2 {
			runs = append(runs, Run{Reps: int(int8(data[i])) * scale, Caught: data[i+1]%2 == 1})
		}
		curve, err := Survival(runs, confidence)
		if err != nil {
			return
		}
		total := 0
		for _, p := range curve {
			total += p.Caught
			if !(p.Survival >= 0 && p.Survival <= 1) || !(p.SE >= 0) {
				t.Fatalf("%+v", p)
			}
		}
		if total > len(runs) {
			t.Fatalf("%d catches in %d runs", total, len(runs))
		}
		if _, err := FindPattern(runs); err != nil && !errors.Is(err, ErrNoRuns) {
			t.Fatal(err)
		}
	})
}

// millionRuns are a simulated gym's runs: about one catch in 40 reps, a tenth
// of the runs stopped at 30.
func millionRuns() []Run {
	random := rand.New(rand.NewPCG(26, 7))
	runs := make([]Run, 1_000_000)
	for i := range runs {
		reps := int(random.ExpFloat64() * 40)
		runs[i] = Run{Reps: reps, Caught: true}
		if reps > 30 && random.IntN(10) == 0 {
			runs[i] = Run{Reps: 30}
		}
	}
	return runs
}

func BenchmarkSurvivalMillionRuns(b *testing.B) {
	runs := millionRuns()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Survival(runs, 0.95); err != nil {
			b.Fatal(err)
		}
	}
}
