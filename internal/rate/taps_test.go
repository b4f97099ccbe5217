package rate

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestTaps(t *testing.T) {
	nan := math.NaN()
	tests := []struct {
		name            string
		at, catches     []float64
		perTap          float64
		rpm, u          float64
		filled, dropped int
		pieces          int
	}{
		// The first two: least squares with one column per piece, NumPy 1.24.
		{"wet tap, missed taps and a break", []float64{0, .81, 1.6, 1.63, 2.42, 4.01, 4.8, 5.62, 9.5, 10.31, 11.08, 12.72},
			nil, 2, 149.67823945340407, 0.32341075468632063, 2, 1, 2},
		{"every turn", []float64{0, .5, 1.01, 1.49, 2, 2.52, 3, 3.5}, nil, 1, 119.8858230256898, 0.3508103684789041, 0, 0, 1},
		// By hand.
		{"perfectly even", []float64{1, 2, 3, 4, 5}, nil, 2, 120, 0, 0, 0, 1},
		{"one tap missed", []float64{0, 1, 3, 4, 5}, nil, 1, 60, 0, 1, 0, 1},
		{"a catch that was pressed", []float64{0, 1, 2, 3.3, 4.3, 5.3}, []float64{2.2}, 1, 60, 0, 0, 0, 2},
		{"a catch pressed with the tap", []float64{0, 1, 2, 3.3, 4.3, 5.3}, []float64{3.3}, 1, 60, 0, 0, 0, 2},
		{"a gap of just 2.5 medians is no break", []float64{0, 2, 4, 9, 11, 13}, nil, 1, 60 * 41.5 / 75.5, 0.534996663263, 2, 0, 1},
		{"too little to show scatter", []float64{0, 1, 4, 7.5}, []float64{3.9, 7.2}, 1, 60, nan, 0, 0, 3},
		{"wet taps are measured from the tap kept", []float64{0, 1, 1.1, 1.2, 2, 3, 4}, nil, 1, 60, 0, 0, 2, 1},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got, err := Taps(test.at, test.perTap, test.catches)
			if err != nil {
				t.Fatal(err)
			}
			if !near(got.RPM, test.rpm, 1e-9) || !near(got.U, test.u, 1e-9) && !(math.IsNaN(got.U) && math.IsNaN(test.u)) {
				t.Errorf("%.12g rpm, u %.12g; want %.12g, %.12g", got.RPM, got.U, test.rpm, test.u)
			}
			if got.Filled != test.filled || got.Dropped != test.dropped || got.Pieces != test.pieces {
				t.Errorf("filled %d, dropped %d, pieces %d; want %d, %d, %d",
					got.Filled, got.Dropped, got.Pieces, test.filled, test.dropped, test.pieces)
			}
			if want := test.perTap * float64(len(test.at)-test.dropped+test.filled); got.Rotations != want {
				t.Errorf("%g rotations, want %g", got.Rotations, want)
			}
		})
	}
}

func TestTapsThatShowNoRate(t *testing.T) {
	tests := []struct {
		name   string
		at     []float64
		perTap float64
		want   error
	}{
		{"none", nil, 2, ErrFewTaps},
		{"three", []float64{0, 1, 2}, 2, ErrFewTaps},
		{"three after the wet one", []float64{0, 1, 1.01, 2}, 2, ErrFewTaps},
		{"out of order", []float64{0, 1, 3, 2}, 2, ErrTapOrder},
		{"NaN", []float64{0, 1, math.NaN(), 2}, 2, ErrTapOrder},
		{"all at once", []float64{1, 1, 1, 1}, 2, ErrNoTempo},
		{"no turn per tap", []float64{0, 1, 2, 3}, 0, ErrPerTap},
		{"too fast", []float64{0, .1, .2, .3, .4}, 2, ErrTooFast},
	}
	for _, test := range tests {
		if _, err := Taps(test.at, test.perTap, nil); !errors.Is(err, test.want) {
			t.Errorf("%s: error %v, want %v", test.name, err, test.want)
		}
	}
}

// A steady jumper, a counter with small independent errors who misses taps, a
// wet screen: the slope finds the rate that the plain count loses.
func TestTapsFindTheRate(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rpm := rapid.Float64Range(80, 240).Draw(t, "rpm")
		perTap := float64(rapid.IntRange(1, 2).Draw(t, "per tap"))
		gap := 60 * perTap / rpm
		var at []float64
		missed := false
		for i := range int(60 / gap) {
			missed = !missed && rapid.IntRange(0, 11).Draw(t, "missed") == 0
			if missed {
				continue
			}
			at = append(at, float64(i)*gap+rapid.Float64Range(-0.03, 0.03).Draw(t, "error"))
			if rapid.IntRange(0, 19).Draw(t, "wet") == 0 {
				at = append(at, at[len(at)-1]+0.02)
			}
		}
		got, err := Taps(at, perTap, nil)
		if err != nil {
			t.Fatal(err)
		}
		if !near(got.RPM, rpm, 1) {
			t.Fatalf("found %g rpm, want %g", got.RPM, rpm)
		}
		for i := range at {
			at[i] += 1000
		}
		if later, err := Taps(at, perTap, nil); err != nil || !near(later.RPM, got.RPM, 1e-6) {
			t.Fatalf("the same taps later: %g rpm, %v; before %g", later.RPM, err, got.RPM)
		}
	})
}

func FuzzTaps(f *testing.F) {
	f.Add([]byte{0, 80, 81, 160, 240}, 2.0)
	f.Add([]byte{0, 0, 0, 0}, 1.0)
	f.Fuzz(func(t *testing.T, hundredths []byte, perTap float64) {
		at := make([]float64, len(hundredths))
		var now float64
		for i, h := range hundredths {
			now += float64(h) / 100
			at[i] = now
		}
		got, err := Taps(at, perTap, nil)
		if err != nil {
			return
		}
		if !(got.RPM > 0 && got.RPM <= HighestRPM) || got.U < 0 || got.Filled < 0 || got.Dropped < 0 {
			t.Errorf("Taps(%v, %g) = %+v", at, perTap, got)
		}
	})
}
