package review

import (
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"
	"pgregory.net/rapid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/progress"
)

func TestSentencesAboutRates(t *testing.T) {
	g := ground()
	g.Scatters = map[uuid.UUID]Scatter{uuid.Nil: {Whole: progress.Retest{Pairs: 30, TypicalError: 3}}}
	tests := []struct {
		name    string
		results []gym.Result
		want    []string
	}{
		{"no test", nil, []string{"There was no timed test this term."}},
		{"one test", []gym.Result{base(1, 88, 0, 0)}, []string{"1 test this term: 88 rpm over the whole test.", "Another test three weeks later or more will show a change."}},
		{"a real change", []gym.Result{base(1, 88, 4, 12), base(9, 107, 1, 2)}, []string{
			"Over the whole test the rate went from 88 to 107 rpm, 19 more.",
			"Tests of one person differ by about 8 rpm by themselves: this change is real.",
			"Of these 19 rpm, 18 came from fewer catches and 1 from turning faster."}},
		{"perhaps chance", []gym.Result{base(1, 88, 0, 0), base(9, 90, 0, 0)}, []string{
			"Over the whole test the rate went from 88 to 90 rpm, 2 more.",
			"Tests of one person differ by about 8 rpm by themselves: this change may be chance.",
			"All of it came from turning faster."}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if got := ratesOf(test.results, g.Scatters[uuid.Nil]).Sentences(); !slices.Equal(got, test.want) {
				t.Errorf("said\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(test.want, "\n"))
			}
		})
	}
}

// Families read these: short sentences, no word that shames, ranks or promises.
func TestSentencesAreForFamilies(t *testing.T) {
	banned := regexp.MustCompile(`(?i)\b(invalid|illegal|abort|fatal|oops|please|user|client|submit|fail\w*|warrior|burn|shred|zone|streak|badge|best of|worst|rank\w*|weight|calorie\w*|body|amazing|bad|lazy|weak)\b|!|NaN|Inf`)
	rapid.Check(t, func(t *rapid.T) {
		g := ground()
		var facts Facts
		for week := 1; week <= 12; week++ {
			if rapid.Bool().Draw(t, "tested") {
				facts.Results = append(facts.Results, base(week, rapid.IntRange(0, 300).Draw(t, "rotations"), rapid.IntRange(0, 5).Draw(t, "catches"), rapid.Float64Range(0, 30).Draw(t, "lost")))
			}
			if rapid.Bool().Draw(t, "said") {
				facts.Debriefs = append(facts.Debriefs, gym.Debrief{Day: on(week), Effort: ptr(rapid.IntRange(0, 10).Draw(t, "effort")), Minutes: ptr(45.0)})
			}
			facts.Meetings = append(facts.Meetings, gym.Meeting{Day: on(week), Here: ptr(rapid.Bool().Draw(t, "here"))})
		}
		a := g.Of(facts)
		said := slices.Concat(a.Lead(), a.Rates.Sentences(), []string{a.Rates.CatchSentence(), a.Attendance.Sentence()}, a.Runs.Sentences(),
			a.Climb.Sentences(), a.Load.Sentences(), a.Aim.Sentences())
		for _, sentence := range said {
			if found := banned.FindString(sentence); found != "" {
				t.Fatalf("%q holds %q", sentence, found)
			}
			if words := len(strings.Fields(sentence)); words > 20 {
				t.Fatalf("%q has %d words", sentence, words)
			}
		}
	})
}

func TestNumbersInWords(t *testing.T) {
	for n, want := range map[int]string{0: "0", 999: "999", 1000: "1\u202f000", 123456: "123\u202f456", 1234567: "1\u202f234\u202f567"} {
		if got := Thousands(n); got != want {
			t.Errorf("%d is written %q, want %q", n, got, want)
		}
	}
	if whole(-0.2) != "0" || whole(-3) != "−3" || tenths(math.Copysign(0, -1)) != "0.0" || signed(4.6) != "+5" || signed(0.3) != "0" {
		t.Errorf("%q %q %q %q %q", whole(-0.2), whole(-3), tenths(math.Copysign(0, -1)), signed(4.6), signed(0.3))
	}
}
