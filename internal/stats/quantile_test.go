package stats

import (
	"math"
	"testing"
)

// Computed with R 4.2.2, qt, qbeta and qnorm.
func TestQuantiles(t *testing.T) {
	tests := []struct {
		name      string
		got, want float64
	}{
		{"t .975, 1", StudentT(0.975, 1), 12.706204736174694},
		{"t .975, 2", StudentT(0.975, 2), 4.3026527297494619},
		{"t .975, 3", StudentT(0.975, 3), 3.1824463052837078},
		{"t .975, 4", StudentT(0.975, 4), 2.7764451051977934},
		{"t .995, 10", StudentT(0.995, 10), 3.16927267261695},
		{"t .95, 7", StudentT(0.95, 7), 1.8945786050900062},
		{"t .975, 100", StudentT(0.975, 100), 1.9839715185235516},
		{"t .025, 5", StudentT(0.025, 5), -2.570581835636315},
		{"t .6, 3", StudentT(0.6, 3), 0.27667066233268983},
		{"t .975, a million", StudentT(0.975, 1e6), 1.9599663568141066},
		{"t .5", StudentT(0.5, 3), 0},
		{"t .975, infinite", StudentT(0.975, math.Inf(1)), 1.959963984540054},
		{"t 1", StudentT(1, 3), math.Inf(1)},
		{"t 0", StudentT(0, 3), math.Inf(-1)},
		{"t, no freedom", StudentT(0.9, 0), math.NaN()},
		{"t, p above 1", StudentT(1.1, 2), math.NaN()},
		{"normal .975", Normal(0.975), 1.959963984540054},
		{"normal .995", Normal(0.995), 2.5758293035489004},
		{"normal .5", Normal(0.5), 0},
		{"normal .9", Normal(0.9), 1.2815515655446004},
		{"normal 1e-10", Normal(1e-10), -6.361340902404056},
		{"normal, p NaN", Normal(math.NaN()), math.NaN()},
		{"beta, no catch in 10, low", BetaQuantile(0.025, 0.5, 10.5), 4.7890433157581876e-05},
		{"beta, no catch in 10, high", BetaQuantile(0.975, 0.5, 10.5), 0.21719626750921053},
		{"beta, 3 in 100, low", BetaQuantile(0.025, 3.5, 97.5), 0.00852028310740358},
		{"beta, 3 in 100, high", BetaQuantile(0.975, 3.5, 97.5), 0.07788756942640256},
		{"beta, 10 in 10, high", BetaQuantile(0.975, 10.5, 0.5), 0.9999521095668424},
		{"beta, 10 in 10, low", BetaQuantile(0.025, 10.5, 0.5), 0.7828037324907894},
		{"beta, none in 1000", BetaQuantile(0.05, 0.5, 1000.5), 1.9655766121360938e-06},
		{"beta, 100 in 100 000, high", BetaQuantile(0.975, 100.5, 99900.5), 0.0012106486647282628},
		{"beta, 100 in 100 000, low", BetaQuantile(0.025, 100.5, 99900.5), 0.0008182225087040386},
		{"beta 2, 3", BetaQuantile(0.5, 2, 3), 0.3857275681323895},
		{"beta ½, ½", BetaQuantile(0.025, 0.5, 0.5), 0.001541333133436012},
		{"beta, 12 in half a million", BetaQuantile(0.975, 12.5, 500000.5), 4.0645135012513994e-05},
		{"beta 0", BetaQuantile(0, 2, 3), 0},
		{"beta 1", BetaQuantile(1, 2, 3), 1},
		{"beta, no shape", BetaQuantile(0.5, 0, 3), math.NaN()},
	}
	for _, test := range tests {
		if !near(test.got, test.want, 1e-10) {
			t.Errorf("%s = %.17g, want %.17g", test.name, test.got, test.want)
		}
	}
}

// Source: GUM, JCGM 100:2008, example H.1: u_c = 32 nm, 16 effective degrees of
// freedom, t99 = 2.92, U99 = 93 nm, at that rounding.
func TestExpandedUncertaintyOfAnEndGauge(t *testing.T) {
	k := StudentT(0.995, 16)
	if got := math.Round(100*k) / 100; got != 2.92 {
		t.Errorf("t99(16) = %g, want 2.92", got)
	}
	if got := math.Round(32 * k); got != 93 {
		t.Errorf("U99 = %g nm, want 93", got)
	}
}
