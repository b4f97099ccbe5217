package part

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestStepSentence(t *testing.T) {
	tests := []struct {
		name   string
		treads []Tread
		want   string
	}{
		{"one stretch", []Tread{{Kind: Steady, RPM: 120, Seconds: 60}}, "60 s steady at 120. 1 minute."},
		{"sets, the last without its rest",
			[]Tread{
				{Kind: Steady, RPM: 140, Seconds: 40}, {Kind: Rest, Seconds: 20},
				{Kind: Steady, RPM: 140, Seconds: 40}, {Kind: Rest, Seconds: 20},
				{Kind: Steady, RPM: 140, Seconds: 40}},
			"3 sets: 40 s steady at 140, rest 20 s. 3 minutes."},
		{"a warm-up, then splits", splitSession(),
			"Warm-up: 120 s steady at 110, rest 60 s. Then 4 sets: 20 steady at 140, then 10 burst at 172, 5 times, rest 90 s. 13 minutes."},
		{"two at a time", []Tread{
			{Kind: Steady, RPM: 130, Seconds: 10}, {Kind: Burst, RPM: 160, Seconds: 5},
			{Kind: Steady, RPM: 130, Seconds: 10}, {Kind: Burst, RPM: 160, Seconds: 5}},
			"10 s steady at 130, then 5 s burst at 160, twice. 1 minute."},
		{"double unders are told in jumps", []Tread{{Kind: Double, RPM: 168, Seconds: 20, Reps: 28}}, "28 double unders at 84 jumps a minute. 1 minute."},
		{"one double under", []Tread{{Kind: Double, RPM: 160, Seconds: .75, Reps: 1}}, "1 double under at 80 jumps a minute. 1 minute."},
		{"rest first", []Tread{{Kind: Rest, Seconds: 30}, {Kind: Burst, RPM: 170, Seconds: 10}}, "Rest 30 s. Then 10 s burst at 170. 1 minute."},
		{"a rate told in words", []Tread{{Kind: Steady, RPM: 120, Seconds: 60, Label: "your own pace"}}, "60 s steady at your own pace. 1 minute."},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if got := strings.ReplaceAll(StepSentence(test.treads), noBreak, " "); got != test.want {
				t.Errorf("got  %q\nwant %q", got, test.want)
			}
		})
	}
}

func TestFoldKeepsUnlikeSetsApart(t *testing.T) {
	rest := Tread{Kind: Rest, Seconds: 60}
	slower, faster := Tread{Kind: Steady, RPM: 130, Seconds: 30}, Tread{Kind: Steady, RPM: 140, Seconds: 30}
	tests := map[string]struct {
		treads []Tread
		want   int
	}{
		"same work, same rest":    {[]Tread{slower, rest, slower, rest}, 1},
		"other rate":              {[]Tread{slower, rest, faster, rest}, 2},
		"other rest in between":   {[]Tread{slower, {Kind: Rest, Seconds: 30}, slower, rest, slower}, 2},
		"rests in a row are one":  {[]Tread{slower, {Kind: Rest, Seconds: 30}, {Kind: Rest, Seconds: 30}, slower, rest}, 1},
		"nothing":                 {nil, 0},
		"other kind at same rate": {[]Tread{slower, rest, {Kind: Double, RPM: 130, Seconds: 30}, rest}, 2},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			if got := len(fold(test.treads)); got != test.want {
				t.Errorf("%d blocks, want %d", got, test.want)
			}
		})
	}
}

// session draws a session as coaches write them: sets of cycles with rests.
func session() *rapid.Generator[[]Tread] {
	work := rapid.Custom(func(t *rapid.T) Tread {
		return Tread{
			Kind:    rapid.SampledFrom([]TreadKind{Steady, Burst, Double}).Draw(t, "kind"),
			RPM:     rapid.Float64Range(40, 240).Draw(t, "rpm"),
			Seconds: rapid.Float64Range(0.5, 120).Draw(t, "seconds"),
			Reps:    rapid.IntRange(0, 40).Draw(t, "reps"),
		}
	})
	return rapid.Custom(func(t *rapid.T) []Tread {
		var treads []Tread
		for range rapid.IntRange(1, 4).Draw(t, "blocks") {
			cycle := rapid.SliceOfN(work, 1, 4).Draw(t, "cycle")
			rest := rapid.Float64Range(0, 240).Draw(t, "rest")
			cycles := rapid.IntRange(1, 8).Draw(t, "cycles")
			for range rapid.IntRange(1, 6).Draw(t, "sets") {
				for range cycles {
					treads = append(treads, cycle...)
				}
				if rest > 0 {
					treads = append(treads, Tread{Kind: Rest, Seconds: rest})
				}
			}
		}
		return treads
	})
}

// Folding is only a way of saying it: no second of work or rest is lost, but
// for the rest a last set may do without.
func TestFoldKeepsTheTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		treads := session().Draw(t, "session")
		var got float64
		blocks := fold(treads)
		for _, b := range blocks {
			got += float64(b.times) * (float64(b.cycles)*lasting(b.cycle) + b.rest)
		}
		missing := 0.0
		if last := blocks[len(blocks)-1]; treads[len(treads)-1].Kind != Rest {
			missing = last.rest
		}
		slack := 0.1*float64(len(treads)) + 0.5*float64(len(blocks)*6)
		if want := lasting(treads) + missing; math.Abs(got-want) > slack {
			t.Errorf("folded %g s, session %g s", got, want)
		}
	})
}
