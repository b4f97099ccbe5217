package floor_test

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ropewalk.example/internal/floor"
)

func TestFits(t *testing.T) {
	tests := []struct {
		name  string
		space floor.Space
		want  int
	}{
		{"a badminton court's length by its width at 3 m", floor.Space{LengthM: 13.4, WidthM: 6.1, SpacingM: 3}, 8},
		{"nine metres are three places", floor.Space{LengthM: 9, WidthM: 9, SpacingM: 3}, 9},
		{"a narrow strip", floor.Space{LengthM: 20, WidthM: 2.9, SpacingM: 3}, 0},
		{"no measure", floor.Space{}, 0},
		{"closer together", floor.Space{LengthM: 9, WidthM: 9, SpacingM: 2.5}, 9},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if got := test.space.Fits(); got != test.want {
				t.Errorf("%+v fits %d, want %d", test.space, got, test.want)
			}
		})
	}
}

func TestCountingWaves(t *testing.T) {
	show := func(waves []floor.Wave) string {
		var lines []string
		for _, w := range waves {
			line := w.Letter + ":"
			for i := range w.Jump {
				line += " " + w.Jump[i] + "<" + w.Count[i]
			}
			lines = append(lines, line)
		}
		return strings.Join(lines, " | ")
	}
	tests := []struct {
		name string
		ids  string
		fits int
		want string
	}{
		{"four, room for all", "a b c d", 0, "A: a<b c<d | B: b<a d<c"},
		{"the odd one has the coach", "a b c", 0, "A: a<b c< | B: b<a"},
		{"room for two", "a b c d e f", 2, "A: a<b c<d | B: b<a d<c | C: e<f | D: f<e"},
		{"room for one, three people", "a b c", 1, "A: a<b | B: b<a | C: c<"},
		{"one alone", "a", 5, "A: a<"},
		{"nobody", "", 5, ""},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if got := show(floor.CountingWaves(strings.Fields(test.ids), test.fits)); got != test.want {
				t.Errorf("got  %s\nwant %s", got, test.want)
			}
		})
	}
}

func TestEverybodyJumpsAndCountsOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n, fits := rapid.IntRange(0, 60).Draw(t, "athletes"), rapid.IntRange(0, 40).Draw(t, "fits")
		var ids []string
		for i := range n {
			ids = append(ids, floor.Letter(i))
		}
		jumped, counted, coach := map[string]int{}, map[string]int{}, 0
		for _, w := range floor.CountingWaves(ids, fits) {
			if fits > 0 && len(w.Jump) > fits {
				t.Fatalf("wave %s has %d jumpers, %d fit", w.Letter, len(w.Jump), fits)
			}
			for i, id := range w.Jump {
				jumped[id]++
				if w.Count[i] == "" {
					coach++
				} else {
					counted[w.Count[i]]++
				}
				if slices.Contains(w.Jump, w.Count[i]) {
					t.Fatalf("%s counts and jumps at once", w.Count[i])
				}
			}
		}
		for _, id := range ids {
			if jumped[id] != 1 || counted[id] > 1 {
				t.Fatalf("%s jumped %d times and counted %d times", id, jumped[id], counted[id])
			}
		}
		if coach > 1 {
			t.Fatalf("the coach counts for %d", coach)
		}
	})
}

func TestLetter(t *testing.T) {
	for i, want := range map[int]string{0: "A", 25: "Z", 26: "AA", 27: "AB", 52: "BA"} {
		if got := floor.Letter(i); got != want {
			t.Errorf("Letter(%d) = %s, want %s", i, got, want)
		}
	}
}
