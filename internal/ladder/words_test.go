package ladder

import (
	"encoding/json"
	"regexp"
	"slices"
	"strings"
	"testing"

	"ropewalk.example/internal/rate"
)

// every checks that the catalogue has a text for each key and none besides.
func every[K ~string](t *testing.T, what string, have map[K]string, want []K) {
	t.Helper()
	for _, k := range want {
		if _, ok := have[k]; !ok {
			t.Errorf("%s: no words for %q", what, k)
		}
	}
	if len(have) != len(want) {
		t.Errorf("%s: words for %d keys, want %d", what, len(have), len(want))
	}
}

func TestEveryCodeHasWords(t *testing.T) {
	w := words(t)
	every(t, "states", w.States, []State{Met, NotYet, Expired})
	every(t, "steps", w.Steps, Steps())
	every(t, "in step", w.InStep, Steps())
	every(t, "step rules", w.StepRules, []string{Any, One})
	every(t, "ropes", w.Ropes, RopeKinds())
	every(t, "rope rules", w.RopeRules, []string{Any, One, Own})
	every(t, "rope cautions", w.RopeCautions, []RopeKind{Steel})
	every(t, "comparisons", w.Comparisons, []Comparison{AtLeast, AtMost})
	every(t, "paces", w.Paces, Paces())
	every(t, "protocols", w.Protocols, Protocols())
	every(t, "activities", w.Activities, Activities())
	every(t, "reasons", w.Reasons, []string{"class_rope", "steel_minor", "steel_untested", "steel_catches", "steel_check", "one_rope", "stage_too_low", "unattended"})
	every(t, "points", w.Points, Points())
	every(t, "looks", w.Looks, []Look{NotLooked, LooksGood, LooksNotYet})
	every(t, "spots", w.Spots, Spots())
	every(t, "timings", w.Timings, Timings())
	every(t, "places of the hands", w.HandPlaces, HandPlaces())
	every(t, "heights", w.Heights, Heights())
	every(t, "changes", w.Changes, []ChangeKind{Added, Retired, Renamed, Moved, GateChanged, TextChanged})
	for _, m := range Measures() {
		words, ok := w.Measures[m.Key]
		if !ok || words.Label == "" || words.Noun.Other == "" {
			t.Errorf("no words for the measure %s", m.Key)
		}
		for _, c := range m.Comparisons {
			if text := map[Comparison]Plural{AtLeast: words.AtLeast, AtMost: words.AtMost}[c]; text.Other == "" {
				t.Errorf("no words for %s %s", m.Key, c)
			}
		}
	}
	cues := map[string]bool{}
	for _, rule := range CueRules() {
		cues[rule.Cue] = true
		if w.Cues[rule.Cue].Cue == "" || w.Cues[rule.Cue].Because == "" {
			t.Errorf("no words for the cue %s", rule.Cue)
		}
	}
	if len(cues) != len(w.Cues) || len(w.Measures) != len(Measures()) {
		t.Error("there are words for cues or measures that do not exist")
	}
}

func TestCatalogueIsPlain(t *testing.T) {
	data, err := wordFiles.ReadFile("words/en.json")
	if err != nil {
		t.Fatal(err)
	}
	for _, quoted := range regexp.MustCompile(`"(?:[^"\\]|\\.)*"`).FindAll(data, -1) {
		var text string
		if err := json.Unmarshal(quoted, &text); err != nil {
			t.Fatal(err)
		}
		plainText(t, text, 20)
	}
}

// No sentence about any clause that a file may hold has a gap in it.
func TestSentencesHaveNoGaps(t *testing.T) {
	w, gap := words(t), regexp.MustCompile(`[{}]|  | \.|^$`)
	for _, m := range Measures() {
		for _, comparison := range append(slices.Clone(m.Comparisons), "") {
			if comparison == "" && len(m.Comparisons) > 0 {
				continue
			}
			for _, step := range append([]string{"", Any, One}, Steps()...) {
				c := Clause{Key: "c", Measure: m.Key, Task: "hop", TaskText: "a hop", Comparison: comparison, Step: step,
					Threshold: Threshold{Value: m.Least}, Results: 12, Days: 3, WithinWeeks: 6}
				if m.quantity == bySuccesses {
					c.Of = 5
				}
				v := Gate{SeenByCoach: true, Clauses: []Clause{c}}.Evaluate(Athlete{}, nil, today)
				for _, said := range []string{w.Clause(c), w.Weeks(c), w.Seen(), w.Missing(c, v.Clauses[0]), w.Missing(Clause{}, v.Clauses[1])} {
					if gap.MatchString(said) {
						t.Errorf("%s, %s: %q", m.Key, step, said)
					}
				}
			}
		}
	}
}

func TestClauseInWords(t *testing.T) {
	w := words(t)
	tests := []struct {
		clause Clause
		want   string
	}{
		{Clause{Measure: "base_catches", Comparison: AtMost, Seconds: 60, Results: 1, Days: 1}, "One 60 s test with no catch."},
		{Clause{Measure: "base_catches", Comparison: AtMost, Threshold: Threshold{Value: 1}, Results: 1, Days: 1}, "One base test with at most 1 catch."},
		{Clause{Measure: "base_rate", Comparison: AtMost, Threshold: Threshold{Value: 90.5}, Seconds: 30, Results: 2, Days: 1}, "Two 30 s tests at 90.5 rpm or slower."},
		{Clause{Measure: "doubles_in_a_row", Comparison: AtLeast, Threshold: Threshold{Value: 1}, Results: 12, Days: 11}, "12 rows of 1 double or more, on 11 different days."},
	}
	for _, test := range tests {
		if got := w.Clause(test.clause); got != test.want {
			t.Errorf("got  %q\nwant %q", got, test.want)
		}
	}
	if got := w.Weeks(Clause{WithinWeeks: 12}); got != "Results of the last 12 weeks count." {
		t.Errorf("weeks: %q", got)
	}
	if got := w.Weeks(Clause{}); got != "" {
		t.Errorf("no limit: %q", got)
	}
	if got := w.Missing(Clause{}, ClauseVerdict{State: Met}); got != "" {
		t.Errorf("met: %q", got)
	}
}

func TestWordsFallBackToEnglish(t *testing.T) {
	w, err := WordsIn("xx")
	if err != nil || w.Lang != "en" || !strings.HasPrefix(w.Seen(), "A coach") {
		t.Errorf("words in %q, %v", w.Lang, err)
	}
}

// The tests that package rate has are measured under the same keys here.
func TestProtocolsShareTheKeysOfTests(t *testing.T) {
	for _, p := range rate.Protocols() {
		if !slices.Contains(Protocols(), Protocol(p.Key)) {
			t.Errorf("no protocol %q", p.Key)
		}
	}
}
