package rate

import (
	"errors"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func TestAgree(t *testing.T) {
	tests := []struct {
		name    string
		counts  []float64
		want    float64
		recount bool
	}{
		// Source: IJRU Rule Book 4.2.0 (2025), averaging of judges.
		{"three, two close", []float64{112, 114, 118}, 113, false},
		{"three, equally spaced", []float64{112, 115, 118}, 116.5, false},
		// By hand, from the same rule.
		{"one", []float64{97}, 97, false},
		{"two", []float64{100, 103}, 101.5, false},
		{"two over three apart", []float64{100, 104}, 102, true},
		{"three, in any order", []float64{118, 112, 114}, 113, false},
		{"three, the higher two close", []float64{112, 116, 118}, 117, false},
		{"three over three apart", []float64{100, 104, 109}, 102, true},
		{"three, two equal", []float64{112, 112, 130}, 112, false},
		{"four", []float64{90, 100, 102, 140}, 101, false},
		{"four over three apart", []float64{90, 100, 110, 140}, 105, true},
		{"five", []float64{101, 99, 100, 150, 0}, 100, false},
		{"zero counted", []float64{0, 0}, 0, false},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got, err := Agree(test.counts)
			if err != nil || got.Rotations != test.want || got.Recount != test.recount {
				t.Errorf("Agree(%v) = %+v, %v; want %g, %v", test.counts, got, err, test.want, test.recount)
			}
		})
	}
	if _, err := Agree(nil); !errors.Is(err, ErrNoCounts) {
		t.Errorf("no counts: %v, want %v", err, ErrNoCounts)
	}
	for _, c := range []float64{-1, math.NaN()} {
		if _, err := Agree([]float64{100, c}); !errors.Is(err, ErrRotations) {
			t.Errorf("count %g: %v, want %v", c, err, ErrRotations)
		}
	}
}

func TestAgreeLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		counts := rapid.SliceOfN(rapid.Map(rapid.IntRange(0, 300), func(n int) float64 { return float64(n) }), 1, 7).Draw(t, "counts")
		before := slices.Clone(counts)
		got, err := Agree(counts)
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(counts, before) {
			t.Fatalf("the counts were reordered: %v became %v", before, counts)
		}
		if got.Rotations < slices.Min(counts) || got.Rotations > slices.Max(counts) {
			t.Fatalf("%v agree on %g", counts, got.Rotations)
		}
		slices.Reverse(counts)
		if again, _ := Agree(counts); again != got {
			t.Fatalf("order matters: %+v, %+v", got, again)
		}
	})
}
