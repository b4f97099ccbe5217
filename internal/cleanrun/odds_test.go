package cleanrun

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func relative(got, want float64) float64 { return math.Abs(got-want) / math.Abs(want) }

func TestOddsAtAKnownChance(t *testing.T) {
	// W. Feller, An Introduction to Probability Theory I, XIII.7; the last row
	// computed from his formula.
	tests := []struct {
		p    float64
		n    int
		want float64
	}{
		{0.5, 2, 6}, {0.5, 3, 14}, {0.5, 4, 30}, {0.9, 10, 18.67971990792441},
	}
	for _, test := range tests {
		got, err := OddsAt(test.p, test.n)
		if err != nil {
			t.Fatal(err)
		}
		if relative(got.Reps, test.want) > 1e-12 {
			t.Errorf("expected reps to %d clean at %g = %v, want %v", test.n, test.p, got.Reps, test.want)
		}
	}
}

func TestOddsAtTheEdges(t *testing.T) {
	tests := []struct {
		name string
		p    float64
		n    int
		want Odds
		err  error
	}{
		{"never a catch", 1, 25, Odds{1, 1, 25}, nil},
		{"always a catch", 0, 3, Odds{}, ErrNoChance},
		{"too rare for a number", 0.001, 200, Odds{}, ErrNoChance},
		{"a chance above 1", 1.1, 3, Odds{}, ErrChance},
		{"no number", math.NaN(), 3, Odds{}, ErrChance},
		{"no reps", 0.5, 0, Odds{}, ErrLength},
		{"one rep", 0.25, 1, Odds{0.25, 4, 4}, nil},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got, err := OddsAt(test.p, test.n)
			if !errors.Is(err, test.err) {
				t.Fatalf("error = %v, want %v", err, test.err)
			}
			if got != test.want {
				t.Errorf("odds = %+v, want %+v", got, test.want)
			}
		})
	}
}

// A catch a long way off: n reps are nearly sure, and take n reps.
func TestOddsKeepTheirDigitsNearCertainty(t *testing.T) {
	got, err := OddsAt(1-1e-12, 50)
	if err != nil {
		t.Fatal(err)
	}
	if relative(got.Reps, 50*(1+25.5e-12)) > 1e-14 {
		t.Errorf("reps = %.17g, want a little over 50", got.Reps)
	}
}

func TestOddsFromATally(t *testing.T) {
	// By hand: one catch and one clean rep give Beta(1.5, 1.5); two clean reps
	// have chance 1.5/3 · 2.5/4 = 0.3125, one attempt takes 1 + 0.5 reps.
	got, err := Tally{Reps: 1, Catches: 1}.Odds(2)
	if err != nil {
		t.Fatal(err)
	}
	want := Odds{Clean: 0.3125, Attempts: 3.2, Reps: 4.8}
	if relative(got.Clean, want.Clean) > 1e-14 || relative(got.Attempts, want.Attempts) > 1e-14 ||
		relative(got.Reps, want.Reps) > 1e-14 {
		t.Errorf("odds = %+v, want %+v", got, want)
	}
	if _, err := (Tally{}).Odds(2); !errors.Is(err, ErrNoRuns) {
		t.Errorf("odds without a trial: error = %v, want %v", err, ErrNoRuns)
	}
}

func TestOddsLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tally := Tally{rapid.IntRange(1, 5000).Draw(t, "reps"), rapid.IntRange(0, 50).Draw(t, "catches")}
		n := rapid.IntRange(1, 100).Draw(t, "n")
		short, err := tally.Odds(n)
		if err != nil {
			t.Fatal(err)
		}
		long, err := tally.Odds(n + 1)
		if err != nil {
			t.Fatal(err)
		}
		if long.Clean >= short.Clean || long.Reps <= short.Reps {
			t.Fatalf("%d reps: %+v; one more: %+v", n, short, long)
		}
		better, err := tally.Add(Tally{Reps: 1}).Odds(n)
		if err != nil {
			t.Fatal(err)
		}
		if better.Clean <= short.Clean {
			t.Fatalf("one more clean rep took the chance from %g to %g", short.Clean, better.Clean)
		}
		if short.Reps < float64(n)*(1-1e-12) {
			t.Fatalf("a run of %d in %g reps", n, short.Reps)
		}
	})
}

// With much evidence the posterior predictive meets the odds at the known rate.
func TestOddsFromMuchEvidenceMeetTheKnownChance(t *testing.T) {
	known, err := OddsAt(0.98, 30)
	if err != nil {
		t.Fatal(err)
	}
	learned, err := Tally{Reps: 980_000_000, Catches: 20_000_000}.Odds(30)
	if err != nil {
		t.Fatal(err)
	}
	if relative(learned.Clean, known.Clean) > 1e-5 || relative(learned.Reps, known.Reps) > 1e-5 {
		t.Errorf("learned %+v, known %+v", learned, known)
	}
}

func TestAtLeast(t *testing.T) {
	// By hand: one made, one missed give Beta(1.5, 1.5); one try is made with
	// chance 1/2, both of two with 1.5/3 · 2.5/4 = 0.3125.
	for _, test := range []struct {
		k, m int
		want float64
	}{{1, 1, 0.5}, {2, 2, 0.3125}, {1, 2, 0.6875}} {
		got, err := AtLeast(test.k, test.m, 1, 1)
		if err != nil {
			t.Fatal(err)
		}
		if relative(got, test.want) > 1e-12 {
			t.Errorf("AtLeast(%d of %d) = %v, want %v", test.k, test.m, got, test.want)
		}
	}
	if _, err := AtLeast(3, 5, 0, 0); !errors.Is(err, ErrNoRuns) {
		t.Errorf("without a try: error = %v, want %v", err, ErrNoRuns)
	}
	if _, err := AtLeast(6, 5, 1, 1); !errors.Is(err, ErrTries) {
		t.Errorf("six of five: error = %v, want %v", err, ErrTries)
	}
}

func TestHazard(t *testing.T) {
	tests := []struct {
		name      string
		tally     Tally
		rate      float64
		low, high float64 // R 4.2.2: qbeta(c(.025, .975), catches + .5, reps + .5)
	}{
		{"seven catches in 423 trials", Tally{416, 7}, 7.0 / 423, 0.00743174640009, 0.03221457747632},
		{"none in 20", Tally{20, 0}, 0, 2.42464784592e-05, 0.116638982905},
		{"one of one", Tally{0, 1}, 1, 0.146746316310, 0.999614419019},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got, err := test.tally.Hazard(0.95)
			if err != nil {
				t.Fatal(err)
			}
			if got.Rate != test.rate || !near(got.Low, test.low, 1e-12) || !near(got.High, test.high, 1e-12) {
				t.Errorf("hazard = %+v, want %g, %g–%g", got, test.rate, test.low, test.high)
			}
		})
	}
}

func TestBlocksAreTalliedByPace(t *testing.T) {
	base, burst, err := TallyBlocks([]Block{{Base, 20, 0}, {Burst, 8, 1}, {Base, 19, 1}, {Burst, 10, 0}})
	if err != nil {
		t.Fatal(err)
	}
	if want := (Tally{39, 1}); base != want {
		t.Errorf("base = %+v, want %+v", base, want)
	}
	if want := (Tally{18, 1}); burst != want {
		t.Errorf("burst = %+v, want %+v", burst, want)
	}
	if _, _, err := TallyBlocks([]Block{{Base, -1, 0}}); !errors.Is(err, ErrReps) {
		t.Errorf("a negative count: error = %v, want %v", err, ErrReps)
	}
}

func TestRunsAreTalliedAsTrials(t *testing.T) {
	tally, err := TallyRuns(maintained)
	if err != nil {
		t.Fatal(err)
	}
	if tally.Reps != 423 || tally.Catches != 7 || tally.Trials() != 430 {
		t.Errorf("tally = %+v, want 423 clean reps and 7 catches", tally)
	}
}

func FuzzOdds(f *testing.F) {
	f.Add(0.9, 10, 40, 3)
	f.Add(5e-324, 1, 0, 1)
	f.Add(0.9999999999999999, 1_000_000, 1_000_000, 0)
	f.Fuzz(func(t *testing.T, p float64, n, reps, catches int) {
		known, errKnown := OddsAt(p, n)
		learned, errLearned := Tally{reps % MaxReps, catches % MaxReps}.Odds(n)
		for _, o := range []struct {
			Odds
			err error
		}{{known, errKnown}, {learned, errLearned}} {
			if o.err != nil {
				continue
			}
			if !(o.Clean > 0 && o.Clean <= 1) || !(o.Attempts >= 1) || !(o.Reps >= float64(n)*(1-1e-9)) || math.IsInf(o.Reps, 1) {
				t.Fatalf("%+v for a run of %d", o.Odds, n)
			}
		}
	})
}
