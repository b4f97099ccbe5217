package stats

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestTheilSen(t *testing.T) {
	nan := math.NaN()
	tests := []struct {
		name       string
		x, y       []float64
		confidence float64
		want       Trend
	}{
		// Source of the first: Sen, J. Am. Stat. Assoc. 63 (1968) 1379–1389,
		// slope 4, 93 % interval 3.71–4.38. All: SciPy 1.10.1, theilslopes.
		{"Sen 1968", []float64{1, 2, 3, 4, 10, 12, 18}, []float64{9, 15, 19, 20, 45, 55, 78}, 0.93, Trend{4.0, 3.7142857142857144, 4.375, 4.0}},
		{"two points", []float64{0, 7}, []float64{100, 103}, 0.95, Trend{0.42857142857142855, 0.42857142857142855, 0.42857142857142855, 100.0}},
		{"ties in x", []float64{1, 1, 2, 2, 3, 3, 4}, []float64{5, 6, 5, 8, 9, 9, 10}, 0.95, Trend{1.5, 1.0, 3.0, 5.0}},
		{"ties in y", []float64{1, 2, 3, 4, 5, 6, 7, 8}, []float64{120, 120, 122, 121, 121, 125, 125, 125}, 0.9, Trend{0.7916666666666667, 0.25, 1.0, 117.9375}},
		{"all y equal", []float64{1, 2, 3, 4}, []float64{5, 5, 5, 5}, 0.95, Trend{0.0, 0.0, 0.0, 5.0}},
		{"falling", []float64{0, 7, 14, 21, 28, 35}, []float64{150, 148, 149, 145, 141, 142}, 0.99, Trend{-0.23809523809523808, -0.5714285714285714, 0.14285714285714285, 150.66666666666666}},
		{"twenty-five tests", []float64{6, 14.2, 21.4, 24.2, 27.6, 35.6, 36.6, 44.2, 51.6, 56.3, 59.7, 63, 66, 70.6, 75.6, 81, 90, 97.3, 103.3, 112.2, 114.9, 117.2, 123.1, 124.5, 125.8}, []float64{121.1, 114.2, 124.3, 127.1, 128.7, 124.6, 129.1, 129.3, 132.2, 141.1, 134.7, 138.8, 143.3, 138.8, 142.2, 144.7, 147.3, 144.3, 151.3, 159.1, 148.3, 158.6, 157.4, 154.8, 165.7}, 0.95, Trend{0.33920860698864264, 0.2988650693568728, 0.39301310043668125, 118.71223193874958}},
		{"unsorted x", []float64{5, 1, 4, 2, 3}, []float64{11, 1, 9, 4, 4}, 0.8, Trend{2.5, 1.5, 3.5, -3.5}},
		{"two x values", []float64{1, 1, 2, 2}, []float64{3, 3, 3, 3}, 0.95, Trend{0, nan, nan, 3}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got, err := TheilSen(test.x, test.y, test.confidence)
			if err != nil {
				t.Fatal(err)
			}
			if !near(got.Slope, test.want.Slope, 1e-13) || !near(got.Low, test.want.Low, 1e-13) ||
				!near(got.High, test.want.High, 1e-13) || !near(got.Intercept, test.want.Intercept, 1e-13) {
				t.Errorf("got %+v, want %+v", got, test.want)
			}
		})
	}
}

func TestTheilSenLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 12).Draw(t, "n")
		x, y := make([]float64, n), make([]float64, n)
		for i := range x {
			x[i] = float64(i)
			y[i] = float64(rapid.IntRange(100, 140).Draw(t, "rpm"))
		}
		before, err := TheilSen(x, y, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		if before.Slope < before.Low || before.Slope > before.High {
			t.Fatalf("slope outside its interval: %+v", before)
		}
		for i := range y {
			y[i] = 2*y[i] + 8
		}
		after, err := TheilSen(x, y, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		if after.Slope != 2*before.Slope || after.Low != 2*before.Low || after.High != 2*before.High {
			t.Fatalf("doubling y: %+v became %+v", before, after)
		}
	})
}
