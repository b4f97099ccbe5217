package capacity

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// near reports whether got lies within tol of want; NaN is near nothing.
func near(got, want, tol float64) bool { return got == want || math.Abs(got-want) <= tol }

// Source: P. F. Skiba et al., Eur. J. Appl. Physiol. 115 (2015); Skiba and
// Clarke (2021), equation 12; computed with R 4.2.2. Watts and joules stand for
// rotations per second and rotations: the equation is the same.
func TestBalanceIsTheDifferentialForm(t *testing.T) {
	power := Model{SustainableRPM: 60 * 250, Reserve: 20000, TauSeconds: DifferentialTau(60*250, 20000)}
	after := power.After(20000, 60*350, 60)
	if !near(after, 14000, 1e-9) {
		t.Errorf("after 60 s at 350: %.12g, want 14000", after)
	}
	if after = power.After(after, 60*150, 120); !near(after, 16707.13018343583, 1e-10) {
		t.Errorf("then 120 s at 150: %.16g, want 16707.13018343583", after)
	}

	rope := Model{SustainableRPM: 150, Reserve: 30, TauSeconds: DifferentialTau(150, 30)}
	work := func(b float64) float64 { return rope.After(b, 240, 10) }
	rest := func(b float64) float64 { return rope.After(b, 0, 20) }
	b := rope.Reserve
	for i, want := range []float64{15, 12.166866, 11.631756} {
		b = work(b)
		if !near(b, want, 5e-7) {
			t.Errorf("after cycle %d: %.9g, want %g", i+1, b, want)
		}
		b = rest(b)
	}
	for range 100 {
		b = rest(work(b))
	}
	if got := work(b); !near(got, 11.507152229085207, 1e-13) {
		t.Errorf("limit %.16g, want 11.507152229085207", got)
	}
}

// The same equation integrated in small steps: dB/dt = (1 − B/R)·(S − r) below
// S, with τ = 60·R/S.
func TestBalanceAgreesWithIntegration(t *testing.T) {
	m := Model{SustainableRPM: 144, Reserve: 22, TauSeconds: DifferentialTau(144, 22)}
	b, seconds := 5.0, 37.0
	const steps = 20000
	h := seconds / steps
	slope := func(b float64) float64 { return (1 - b/m.Reserve) * (144 - 60) / 60 }
	for range steps { // the midpoint rule
		b += h * slope(b+h/2*slope(b))
	}
	if got := m.After(5, 60, seconds); !near(got, b, 1e-8) {
		t.Errorf("closed form %.10g, integrated %.10g", got, b)
	}
}

func TestAfter(t *testing.T) {
	m := Model{SustainableRPM: 150, Reserve: 20, TauSeconds: 90}
	tests := []struct {
		name                          string
		balance, rpm, seconds, remain float64
	}{
		{"above S", 20, 210, 10, 10},
		{"below nothing is shown as it is", 5, 210, 10, -5},
		{"at S nothing moves", 7, 150, 100, 7},
		{"full stays full", 20, 0, 60, 20},
		{"no time", 7, 0, 0, 7},
		{"standing for one τ", 0, 0, 90, 20 * (1 - math.Exp(-1))},
		{"at half of S for two τ", 0, 75, 180, 20 * (1 - math.Exp(-1))},
	}
	for _, test := range tests {
		if got := m.After(test.balance, test.rpm, test.seconds); !near(got, test.remain, 1e-12) {
			t.Errorf("%s: %.15g, want %.15g", test.name, got, test.remain)
		}
	}
	none := Model{SustainableRPM: 150, Reserve: 0, TauSeconds: 0}
	if got := none.After(0, 0, 0); got != 0 {
		t.Errorf("no reserve, no time: %g, want 0", got)
	}
}

func TestRestSeconds(t *testing.T) {
	m := Model{SustainableRPM: 150, Reserve: 20, TauSeconds: 90}
	if got := m.RestSeconds(16, 15); got != 0 {
		t.Errorf("already there: %g s", got)
	}
	if got := m.RestSeconds(10, 20); !math.IsInf(got, 1) {
		t.Errorf("to the full reserve: %g s, want never", got)
	}
	if got := m.RestSeconds(10, 15); !near(got, 90*math.Ln2, 1e-12) {
		t.Errorf("half of what is missing: %g s, want %g", got, 90*math.Ln2)
	}
}

// Source: P = CP + W′/t with pairs from public data files: Caen et al. (2019)
// print 285 W (285.9 cut, not rounded), Chidnok et al. (2012) 329 W.
func TestBestRateOverATime(t *testing.T) {
	tests := []struct{ power, work, seconds, want float64 }{
		{248, 18200, 480, 285},
		{241, 21100, 240, 329},
	}
	for _, test := range tests {
		m := Model{SustainableRPM: test.power, Reserve: test.work / 60}
		if got := m.BestRPM(test.seconds); !near(got, test.want, 1) {
			t.Errorf("over %g s: %g, want %g", test.seconds, got, test.want)
		}
	}
}

func TestAssume(t *testing.T) {
	tests := []struct {
		name                 string
		base, burst, reserve float64
	}{
		{"20 s at the difference", 150, 210, 20},
		{"at least 8", 150, 160, 8},
		{"no burst above base", 150, 150, 8},
	}
	for _, test := range tests {
		m := Assume(test.base, test.burst)
		if m.SustainableRPM != test.base || m.Reserve != test.reserve || m.TauSeconds != 90 || len(m.Assumed) != 3 {
			t.Errorf("%s: %+v, want R = %g, all assumed", test.name, m, test.reserve)
		}
	}
}

func TestBalanceLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := Model{
			SustainableRPM: rapid.Float64Range(60, 240).Draw(t, "S"),
			Reserve:        rapid.Float64Range(5, 60).Draw(t, "R"),
			TauSeconds:     rapid.Float64Range(20, 400).Draw(t, "τ"),
		}
		balance := rapid.Float64Range(0, m.Reserve).Draw(t, "B")
		rpm := rapid.Float64Range(0, 400).Draw(t, "rpm")
		seconds := rapid.Float64Range(0, 120).Draw(t, "seconds")
		after := m.After(balance, rpm, seconds)
		if after > m.Reserve || rpm <= m.SustainableRPM && after < balance-1e-9 || rpm >= m.SustainableRPM && after > balance+1e-9 {
			t.Fatalf("%g rpm for %g s took %g to %g", rpm, seconds, balance, after)
		}
		if faster := m.After(balance, rpm+10, seconds); faster > after+1e-9 {
			t.Fatalf("turning faster left more: %g, %g", faster, after)
		}
		if whole := m.After(m.After(balance, rpm, seconds/3), rpm, seconds*2/3); !near(whole, after, 1e-6) {
			t.Fatalf("in two parts %g, in one %g", whole, after)
		}
		longer := m.After(balance, 0, seconds+1)
		if shorter := m.After(balance, 0, seconds); longer < shorter {
			t.Fatalf("more rest left less: %g, %g", longer, shorter)
		}
		target := rapid.Float64Range(0, 0.99).Draw(t, "target") * m.Reserve
		if got := m.After(balance, 0, m.RestSeconds(balance, target)); got < target-1e-9 {
			t.Fatalf("rest to %g reached %g", target, got)
		}
	})
}

func TestAfterAllocatesNothing(t *testing.T) {
	m := Assume(150, 210)
	var b float64
	if n := testing.AllocsPerRun(100, func() { b = m.After(m.After(b, 0, 20), 210, 5) }); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

func BenchmarkAfter(b *testing.B) {
	m := Assume(150, 210)
	balance := m.Reserve
	for b.Loop() {
		balance = m.After(m.After(balance, 210, 3), 0, 20)
	}
}

func TestWithRecovery(t *testing.T) {
	m := Assume(150, 210)
	settled := m.WithRecovery(Recovery{TauSeconds: 60, Low: 45, High: 80})
	if settled.TauSeconds != 60 || slices.Contains(settled.Assumed, AssumedTau) || len(settled.Assumed) != 2 {
		t.Errorf("settled: %+v", settled)
	}
	for _, r := range []Recovery{{TauSeconds: 60, Low: 40, High: 80}, {TauSeconds: 60, Low: 0, High: math.Inf(1)}} {
		if got := m.WithRecovery(r); got.TauSeconds != DefaultTauSeconds || !slices.Contains(got.Assumed, AssumedTau) {
			t.Errorf("not settled: %+v", got)
		}
	}
	if len(m.Assumed) != 3 {
		t.Errorf("the model given was changed: %v", m.Assumed)
	}
}
