package cleanrun

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

// simulateRuns turns until the rope catches or the coach stops at limit; hazard
// gives the chance of a catch at rep 1, 2, ….
func simulateRuns(random *rand.Rand, n, limit int, hazard func(rep int) float64) []Run {
	runs := make([]Run, n)
	for i := range runs {
		for runs[i].Reps < limit && !runs[i].Caught {
			if random.Float64() < hazard(runs[i].Reps+1) {
				runs[i].Caught = true
			} else {
				runs[i].Reps++
			}
		}
	}
	return runs
}

// evenRuns are n runs spread as a steady hazard spreads them, without luck.
func evenRuns(n int, hazard float64) []Run {
	runs := make([]Run, n)
	for i := range runs {
		share := (float64(i) + 0.5) / float64(n)
		runs[i] = Run{Reps: int(math.Log1p(-share) / math.Log1p(-hazard)), Caught: true}
	}
	return runs
}

func TestFindPattern(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 9))
	tests := []struct {
		name string
		runs []Run
		want Pattern
	}{
		{"catches at the start", simulateRuns(random, 60, 40, func(rep int) float64 {
			if rep <= 3 {
				return 0.15
			}
			return 0.005
		}), AtStart},
		{"catches as the run grows", simulateRuns(random, 60, 60, func(rep int) float64 {
			return 0.002 * float64(rep)
		}), AsItGrows},
		{"the same all along", evenRuns(60, 0.03), NoPattern},
		{"eleven catches, all at once", append(simulateRuns(random, 11, 9, func(int) float64 { return 1 }),
			Run{40, false}, Run{40, false}), NoPattern},
		{"every run caught at the first rep", simulateRuns(random, 20, 9, func(int) float64 { return 1 }), NoPattern},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got, err := FindPattern(test.runs)
			if err != nil {
				t.Fatal(err)
			}
			if got.Pattern != test.want {
				t.Errorf("found %+v, want %q", got, test.want)
			}
		})
	}
}

func TestFindPatternSaysHowManyCatchesAreMissing(t *testing.T) {
	got, err := FindPattern([]Run{{3, true}, {8, true}, {30, false}})
	if err != nil {
		t.Fatal(err)
	}
	if got.Catches != 2 || got.Missing != 10 || got.Pattern != NoPattern {
		t.Errorf("found %+v, want 2 catches, 10 missing", got)
	}
	if _, err := FindPattern([]Run{{0, false}}); !errors.Is(err, ErrNoRuns) {
		t.Errorf("no rep tried: error = %v, want %v", err, ErrNoRuns)
	}
}

// A steady hazard may be called a pattern by luck, but no oftener than stated.
func TestAPatternIsSeldomFoundWhereThereIsNone(t *testing.T) {
	const trials = 2000
	random := rand.New(rand.NewPCG(11, 4))
	for _, hazard := range []float64{0.01, 0.05, 0.2} {
		found := 0
		for range trials {
			runs := simulateRuns(random, 40, 50, func(int) float64 { return hazard })
			f, err := FindPattern(runs)
			if err != nil {
				t.Fatal(err)
			}
			if f.Pattern != NoPattern {
				found++
			}
		}
		limit := patternLevel + 3*math.Sqrt(patternLevel*(1-patternLevel)/trials)
		if share := float64(found) / trials; share > limit {
			t.Errorf("hazard %g: a pattern in %.1f %% of athletes without one, at most %.1f %% allowed",
				hazard, 100*share, 100*limit)
		}
	}
}

func TestThirdsShareTheRepsAndTheCatches(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		runs := append(anyRuns(50).Draw(t, "runs"), Run{10, true})
		f, err := FindPattern(runs)
		if err != nil {
			t.Fatal(err)
		}
		all, err := TallyRuns(runs)
		if err != nil {
			t.Fatal(err)
		}
		if 3*f.Early.Trials() < all.Trials() || 3*f.Late.Trials() > all.Trials() {
			t.Fatalf("thirds %+v and %+v of %+v", f.Early, f.Late, all)
		}
		if f.Early.Catches+f.Late.Catches > all.Catches || f.Early.To >= f.Late.From && f.Late.Trials() > 0 {
			t.Fatalf("thirds %+v and %+v of %+v overlap", f.Early, f.Late, all)
		}
		if !(f.P > 0 && f.P <= 1) {
			t.Fatalf("P = %g", f.P)
		}
	})
}

func TestFisher(t *testing.T) {
	tests := []struct {
		name string
		a, b Tally
		want float64
	}{
		// R. A. Fisher, The Design of Experiments (1935), the tea-tasting table;
		// 34 of the 70 ways are as uneven, counted by hand.
		{"tea with milk", Tally{1, 3}, Tally{3, 1}, 34.0 / 70},
		// R 4.2.2: fisher.test(matrix(c(5, 95, 14, 86), 2)) and so on.
		{"5 of 100 against 14 of 100", Tally{95, 5}, Tally{86, 14}, 0.0513061383838},
		{"5 of 500 against 14 of 400", Tally{495, 5}, Tally{386, 14}, 0.0171929333734},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if got := fisher(test.a, test.b); relative(got, test.want) > 1e-11 {
				t.Errorf("fisher = %.13g, want %.13g", got, test.want)
			}
		})
	}
}
