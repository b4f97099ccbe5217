package demo

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// drawn is one 30 s test before stories.
type drawn struct {
	week
	athlete Athlete
}

// drawnTerm returns the term of all athletes without stories, in order of id
// and week, and how often somebody came.
func drawnTerm() (tests []drawn, came, meetings int) {
	for _, a := range athletes() {
		for _, w := range termOf(a) {
			meetings++
			if w.present {
				came++
			}
			if w.tested() {
				tests = append(tests, drawn{w, a})
			}
		}
	}
	return tests, came, meetings
}

func TestTermHoldsTheKnownNumbers(t *testing.T) {
	tests, came, meetings := drawnTerm()
	if len(tests) != 133 || came != 243 || meetings != 286 {
		t.Errorf("%d tests, attendance %d of %d; want 133, 243 of 286", len(tests), came, meetings)
	}
	first := []string{"1,1,46,3", "3,1,47,3", "5,1,61,1", "7,1,67,0", "9,1,44,4", "11,1,70,0"}
	for i, want := range first {
		if got := row(tests[i]); got != want {
			t.Errorf("row %d = %s, want %s", i, got, want)
		}
	}
}

// row prints week, id, rotations and catches.
func row(d drawn) string {
	return fmt.Sprintf("%d,%d,%d,%d", d.number, d.athlete.ID, d.count, len(d.lost))
}

func TestTermMatchesTheKeptFile(t *testing.T) {
	file, err := os.Open("../../testdata/demo/tests.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	want, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	tests, _, _ := drawnTerm()
	if len(want) != len(tests)+1 {
		t.Fatalf("file has %d lines, term has %d tests", len(want), len(tests))
	}
	for i, d := range tests {
		if got := row(d); got != strings.Join(want[i+1], ",") {
			t.Errorf("test %d = %s, file has %s", i, got, want[i+1])
		}
	}
}

func TestMeansByClassAndWeek(t *testing.T) {
	for _, test := range []struct {
		class         string
		week, n       int
		whole         float64 // mean rpm over the whole test
		low, high     float64
		turning, lost float64 // mean rpm while turning; catches per 30 s
	}{
		{starters, 1, 13, 88.0, 60, 102, 105.4, 2.00},
		{starters, 3, 12, 85.0, 46, 114, 109.3, 2.83},
		{starters, 5, 11, 98.5, 72, 122, 109.2, 1.27},
		{starters, 11, 13, 106.8, 82, 140, 116.5, 1.15},
		{open, 1, 10, 129.0, 114, 152, 143.1, 1.50},
		{open, 5, 12, 142.7, 120, 162, 149.2, 0.58},
		{open, 11, 11, 149.3, 128, 184, 151.8, 0.27},
	} {
		t.Run(test.class+" week "+strconv.Itoa(test.week), func(t *testing.T) {
			var whole, turning, catches []float64
			tests, _, _ := drawnTerm()
			for _, d := range tests {
				if d.athlete.Class == test.class && d.number == test.week {
					whole = append(whole, 2*float64(d.count))
					turning = append(turning, 60*float64(d.count)/d.turning)
					catches = append(catches, float64(len(d.lost)))
				}
			}
			if len(whole) != test.n {
				t.Fatalf("%d tests, want %d", len(whole), test.n)
			}
			if slices.Min(whole) != test.low || slices.Max(whole) != test.high {
				t.Errorf("%v to %v rpm, want %v to %v", slices.Min(whole), slices.Max(whole), test.low, test.high)
			}
			near(t, "whole-test rpm", mean(whole), test.whole, 0.05)
			near(t, "turning rpm", mean(turning), test.turning, 0.05)
			near(t, "catches", mean(catches), test.lost, 0.005)
		})
	}
}

func mean(xs []float64) float64 {
	sum := 0.0
	for _, x := range xs {
		sum += x
	}
	return sum / float64(len(xs))
}

// near accepts what rounds to want.
func near(t *testing.T, what string, got, want, half float64) {
	t.Helper()
	if !(math.Abs(got-want) <= half+1e-9) {
		t.Errorf("%s = %.4f, want %v", what, got, want)
	}
}
