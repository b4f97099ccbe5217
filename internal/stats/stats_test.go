package stats

import (
	"errors"
	"math"
	"testing"
)

// near reports whether got lies within the share rel of want. NaN is near NaN
// only, which is how undefined values are written in the tables.
func near(got, want, rel float64) bool {
	if math.IsNaN(want) || math.IsInf(want, 0) || want == 0 {
		return got == want || math.IsNaN(got) && math.IsNaN(want) || want == 0 && math.Abs(got) <= rel
	}
	return math.Abs(got-want) <= rel*math.Abs(want)
}

// norris is NIST's Norris data, linear regression, lower level of difficulty.
// Source: NIST Statistical Reference Datasets, Norris.
var norris = [][2]float64{ // y, x
	{0.1, 0.2}, {338.8, 337.4}, {118.1, 118.2}, {888.0, 884.6}, {9.2, 10.1}, {228.1, 226.5},
	{668.5, 666.3}, {998.5, 996.3}, {449.1, 448.6}, {778.9, 777.0}, {559.2, 558.2}, {0.3, 0.4},
	{0.1, 0.6}, {778.1, 775.5}, {668.8, 666.9}, {339.3, 338.0}, {448.9, 447.5}, {10.8, 11.6},
	{557.7, 556.0}, {228.3, 228.1}, {998.0, 995.8}, {888.8, 887.6}, {119.6, 120.2}, {0.3, 0.3},
	{0.6, 0.3}, {557.6, 556.8}, {339.3, 339.1}, {888.0, 887.2}, {998.5, 999.0}, {778.9, 779.0},
	{10.2, 11.1}, {117.6, 118.3}, {228.9, 229.2}, {668.4, 669.1}, {449.2, 448.9}, {0.2, 0.5},
}

func TestLine(t *testing.T) {
	nan := math.NaN()
	var nx, ny []float64
	for _, p := range norris {
		nx, ny = append(nx, p[1]), append(ny, p[0])
	}
	tests := []struct {
		name string
		x, y []float64
		want LineFit
		rel  float64
	}{
		// Source: NIST Statistical Reference Datasets, Norris, certified values.
		{"Norris", nx, ny, LineFit{1.00211681802045, -0.262323073774029, 0.429796848199937e-03,
			0.232818234301152, 0.884796396144373, 0.999993745883712}, 2e-13},
		// Computed with R 4.2.2, lm.
		{"three all-out tests", []float64{30, 60, 180}, []float64{90, 165, 450},
			LineFit{2.392857142857, 19.642857142857, 0.0206196525, 2.2868300848, 2.31455024943136, 0.99992574992575}, 3e-9},
		// Source: Wakayoshi et al. (1992), method: 0.952 m/s.
		{"200 m in 180 s, 400 m in 390 s", []float64{180, 390}, []float64{200, 400},
			LineFit{20.0 / 21, 200 - 180*20.0/21, nan, nan, nan, 1}, 1e-13},
		// By hand.
		{"two points", []float64{1, 3}, []float64{5, 9}, LineFit{2, 3, nan, nan, nan, 1}, 1e-15},
		{"level", []float64{1, 2, 3}, []float64{4, 4, 4}, LineFit{0, 4, 0, 0, 0, nan}, 1e-15},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got, err := Line(test.x, test.y)
			if err != nil {
				t.Fatal(err)
			}
			for _, v := range []struct {
				name      string
				got, want float64
			}{
				{"slope", got.Slope, test.want.Slope}, {"intercept", got.Intercept, test.want.Intercept},
				{"slope's error", got.SESlope, test.want.SESlope},
				{"intercept's error", got.SEIntercept, test.want.SEIntercept},
				{"residual sd", got.ResidualSD, test.want.ResidualSD}, {"R²", got.R2, test.want.R2},
			} {
				if !near(v.got, v.want, test.rel) {
					t.Errorf("%s = %.16g, want %.16g", v.name, v.got, v.want)
				}
			}
		})
	}
}

func TestRefusedNumbers(t *testing.T) {
	line := func(x, y []float64) error { _, err := Line(x, y); return err }
	trend := func(x, y []float64, c float64) error { _, err := TheilSen(x, y, c); return err }
	pool := func(v, u []float64) error { _, err := DerSimonianLaird(v, u); return err }
	tests := []struct {
		name      string
		got, want error
	}{
		{"line, lengths differ", line([]float64{1, 2}, []float64{1}), ErrLengths},
		{"line, one point", line([]float64{1}, []float64{1}), ErrTooFew},
		{"line, x all equal", line([]float64{2, 2, 2}, []float64{1, 2, 3}), ErrNoSpread},
		{"line, x all equal and not exact in binary", line([]float64{.1, .1, .1}, []float64{1, 2, 3}), ErrNoSpread},
		{"trend, lengths differ", trend([]float64{1, 2}, []float64{1}, .95), ErrLengths},
		{"trend, one point", trend([]float64{1}, []float64{1}, .95), ErrTooFew},
		{"trend, x all equal", trend([]float64{2, 2}, []float64{1, 3}, .95), ErrNoSpread},
		{"trend, confidence 1", trend([]float64{1, 2}, []float64{1, 3}, 1), ErrConfidence},
		{"trend, confidence NaN", trend([]float64{1, 2}, []float64{1, 3}, math.NaN()), ErrConfidence},
		{"pool, no values", pool(nil, nil), ErrTooFew},
		{"pool, lengths differ", pool([]float64{1, 2}, []float64{1}), ErrLengths},
		{"pool, no uncertainty", pool([]float64{1, 2}, []float64{1, 0}), ErrUncertainty},
	}
	for _, test := range tests {
		if !errors.Is(test.got, test.want) {
			t.Errorf("%s: error %v, want %v", test.name, test.got, test.want)
		}
	}
}

// alternating returns first followed by 500 pairs of low, high: the shape of
// NIST's NumAcc2 to NumAcc4.
func alternating(first, low, high float64) []float64 {
	v := []float64{first}
	for range 500 {
		v = append(v, low, high)
	}
	return v
}

func TestSummary(t *testing.T) {
	tests := []struct {
		name     string
		values   []float64
		n        int
		mean, sd float64
		rel      float64
	}{
		// Source: NIST Statistical Reference Datasets. The last two hold fewer
		// digits because 10000000.3 itself is not exact in binary.
		{"Michelso", michelso, 100, 299.8524, 0.0790105478190518, 1e-13},
		{"NumAcc1", []float64{10000001, 10000003, 10000002}, 3, 10000002, 1, 0},
		{"NumAcc2", alternating(1.2, 1.1, 1.3), 1001, 1.2, 0.1, 1e-14},
		{"NumAcc3", alternating(1000000.2, 1000000.1, 1000000.3), 1001, 1000000.2, 0.1, 1e-8},
		{"NumAcc4", alternating(10000000.2, 10000000.1, 10000000.3), 1001, 10000000.2, 0.1, 1e-7},
		// By hand.
		{"one value", []float64{7}, 1, 7, math.NaN(), 0},
		{"none", nil, 0, math.NaN(), math.NaN(), 0},
		{"all equal", []float64{.1, .1, .1}, 3, .1, 0, 0},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			n, mean, sd := Summary(test.values)
			if n != test.n || !near(mean, test.mean, 1e-15) || !near(sd, test.sd, test.rel) {
				t.Errorf("n %d, mean %.17g, sd %.17g; want %d, %.17g, %.17g", n, mean, sd, test.n, test.mean, test.sd)
			}
		})
	}
}

func TestMedianAndWeightedMean(t *testing.T) {
	given := []float64{3, 1, 2}
	if got := Median(given); got != 2 || given[0] != 3 {
		t.Errorf("median of %v = %g, want 2 and the order kept", given, got)
	}
	if got := Median([]float64{4, 1, 2, 3}); got != 2.5 {
		t.Errorf("median of four = %g, want 2.5", got)
	}
	if got := Median(nil); !math.IsNaN(got) {
		t.Errorf("median of nothing = %g, want NaN", got)
	}
	if got, err := WeightedMean([]float64{120, 130}, []float64{1, 3}); err != nil || got != 127.5 {
		t.Errorf("weighted mean = %g, %v, want 127.5", got, err)
	}
}

func TestDerSimonianLaird(t *testing.T) {
	// Data: Colditz et al., JAMA 271 (1994) 698–702: 13 trials, cases and
	// healthy, treated and control; log relative risks. The pooled values
	// −0.7141, 0.1787 and 0.3088 are those R's metafor documents (from memory);
	// further digits from the paper's formulas, computed with Python 3.11.
	trials := [][4]float64{
		{4, 119, 11, 128}, {6, 300, 29, 274}, {3, 228, 11, 209}, {62, 13536, 248, 12619}, {33, 5036, 47, 5761},
		{180, 1361, 372, 1079}, {8, 2537, 10, 619}, {505, 87886, 499, 87892}, {29, 7470, 45, 7232},
		{17, 1699, 65, 1600}, {186, 50448, 141, 27197}, {5, 2493, 3, 2338}, {27, 16886, 29, 17825},
	}
	var risk, u []float64
	for _, c := range trials {
		risk = append(risk, math.Log(c[0]/(c[0]+c[1])/(c[2]/(c[2]+c[3]))))
		u = append(u, math.Sqrt(1/c[0]-1/(c[0]+c[1])+1/c[2]-1/(c[2]+c[3])))
	}
	tests := []struct {
		name      string
		values, u []float64
		want      Pooled
	}{
		{"thirteen trials", risk, u, Pooled{-0.7141172220732271, 0.1787420895354032, 0.30876026286237646}},
		{"agreeing values floor the variance at 0", []float64{1, 1.1}, []float64{1, 1}, Pooled{1.05, math.Sqrt(.5), 0}},
		{"one value", []float64{3}, []float64{.2}, Pooled{3, .2, 0}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got, err := DerSimonianLaird(test.values, test.u)
			if err != nil || !near(got.Mean, test.want.Mean, 1e-12) || !near(got.U, test.want.U, 1e-12) ||
				!near(got.Between, test.want.Between, 1e-12) {
				t.Errorf("got %+v, %v; want %+v", got, err, test.want)
			}
		})
	}
}
