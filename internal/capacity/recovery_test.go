package capacity

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"ropewalk.example/internal/rate"
)

// bouts returns the counts of an invented athlete who takes the given share of
// the balance in each bout.
func bouts(m Model, share, boutSeconds, restSeconds float64, k int) RepeatBurst {
	test := RepeatBurst{BoutSeconds: boutSeconds, RestSeconds: restSeconds}
	balance := m.Reserve
	for range k {
		test.Rotations = append(test.Rotations, m.SustainableRPM*boutSeconds/60+share*balance)
		balance = m.After(balance*(1-share), 0, restSeconds)
	}
	return test
}

func TestFitRecoveryFindsTheTimeConstant(t *testing.T) {
	for _, tau := range []float64{20, 40, 90, 234} {
		m := Model{SustainableRPM: 150, Reserve: 40, TauSeconds: tau}
		got, err := FitRecovery(m, bouts(m, 0.4, 10, 20, 12))
		if err != nil {
			t.Fatal(err)
		}
		if !near(got.TauSeconds, tau, 1e-3*tau) || !near(got.Share, 0.4, 1e-3) || got.Bouts != 12 {
			t.Errorf("τ = %g s: fitted %+v", tau, got)
		}
		if !(got.Low < tau && tau < got.High) {
			t.Errorf("τ = %g s lies outside %g–%g s", tau, got.Low, got.High)
		}
	}
}

// Simulated athletes, invented: whole rotations counted with an error of ±1 at
// most. The 95 % interval must hold the true τ in at least 93 of 100 tests, and
// a settled one must be near it.
func TestRecoveryIntervalHolds(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 14))
	const athletes = 300
	held, settled := 0, 0
	for range athletes {
		m := Model{
			SustainableRPM: 120 + 60*random.Float64(),
			Reserve:        20 + 30*random.Float64(),
			TauSeconds:     30 + 150*random.Float64(),
		}
		test := bouts(m, 0.3+0.3*random.Float64(), 10, 20, 10)
		for i := range test.Rotations {
			test.Rotations[i] = math.Round(test.Rotations[i] + 2*random.Float64() - 1)
		}
		got, err := FitRecovery(m, test)
		if err != nil {
			t.Fatalf("%+v: %v", test, err)
		}
		if got.Low <= m.TauSeconds && m.TauSeconds <= got.High {
			held++
		}
		if got.Settled() {
			settled++
			if got.TauSeconds < m.TauSeconds/2 || got.TauSeconds > 2*m.TauSeconds {
				t.Errorf("settled at %g s, true %g s", got.TauSeconds, m.TauSeconds)
			}
		}
	}
	if held < 93*athletes/100 {
		t.Errorf("%d of %d intervals hold the true time constant", held, athletes)
	}
	if settled == 0 {
		t.Error("no test settles the time constant")
	}
	t.Logf("%d of %d intervals hold, %d settle", held, athletes, settled)
}

func TestFitRecoveryRefusals(t *testing.T) {
	m := Model{SustainableRPM: 150, Reserve: 30, TauSeconds: 90}
	tests := []struct {
		name   string
		test   RepeatBurst
		reason string
	}{
		{"three bouts", RepeatBurst{[]float64{34, 32, 31}, 10, 20}, TooFewBouts},
		{"not above S", RepeatBurst{[]float64{25, 25, 25, 25}, 10, 20}, NotAllOut},
		{"no fall", RepeatBurst{[]float64{34, 34, 34, 34}, 10, 20}, NoFall},
		{"rising", RepeatBurst{[]float64{34, 35, 36, 37}, 10, 20}, NoFall},
		{"a fall without end", RepeatBurst{[]float64{40, 32.5, 28.75, 26.875, 25.9375}, 10, 20}, NoRecovery},
	}
	for _, test := range tests {
		_, err := FitRecovery(m, test.test)
		var refused *Refused
		if !errors.As(err, &refused) || refused.Reason != test.reason || refused.Error() == "" {
			t.Errorf("%s: error %v, want %s", test.name, err, test.reason)
		}
	}
	for _, test := range []struct {
		test RepeatBurst
		want error
	}{
		{RepeatBurst{[]float64{34, 32, 31, 30}, 0, 20}, rate.ErrSeconds},
		{RepeatBurst{[]float64{34, 32, 31, 30}, 10, -1}, rate.ErrSeconds},
		{RepeatBurst{[]float64{34, 32, math.NaN(), 30}, 10, 20}, rate.ErrRotations},
	} {
		if _, err := FitRecovery(m, test.test); !errors.Is(err, test.want) {
			t.Errorf("%+v: error %v, want %v", test.test, err, test.want)
		}
	}
}

// One noisy short test must not replace the assumed time constant.
func TestAFewBoutsLeaveTheTimeConstantAssumed(t *testing.T) {
	m := Assume(150, 210)
	r, err := FitRecovery(m, RepeatBurst{[]float64{34, 33, 32, 32}, 10, 20})
	if err != nil {
		t.Fatal(err)
	}
	if r.Settled() || m.WithRecovery(r).TauSeconds != DefaultTauSeconds {
		t.Errorf("four bouts settled τ: %+v", r)
	}
}
