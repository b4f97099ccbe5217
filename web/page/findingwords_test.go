package page

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"ropewalk.example/internal/capacity"
	"ropewalk.example/internal/cleanrun"
	"ropewalk.example/internal/finding"
	"ropewalk.example/internal/progress"
	"ropewalk.example/internal/rhythm"
)

var wednesday = time.Date(2026, 11, 4, 0, 0, 0, 0, time.UTC)

func TestRefusalsSayWhatToDo(t *testing.T) {
	tests := map[string]string{
		capacity.TooFew:    "Add one of 180",
		capacity.TooNarrow: "Add one of 180",
		capacity.Disagree:  "Repeat the 180",
		capacity.NoRate:    "Repeat them on a fresh day",
		capacity.NoReserve: "Repeat the 180",
	}
	for reason, want := range tests {
		got := LastingSentence(finding.Lasting{Refused: &capacity.Refused{Reason: reason, Seconds: 180}})
		if !strings.Contains(got, want) {
			t.Errorf("%s: %q does not say %q", reason, got, want)
		}
	}
}

func TestAimSentences(t *testing.T) {
	aim := finding.Aim{Measure: "clean_run", Bar: 100, Results: 3}
	aim.Forecast = progress.Forecast{Earliest: 10, Likely: 20, Latest: 90, Open: true}
	if got, want := AimSentence(aim, wednesday), "At this pace a clean run of 100 is likely around Tue 24 Nov. In 9 of 10 cases it comes between Sat 14 Nov and Tue 2 Feb or later."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	for refused, want := range map[error]string{
		progress.ErrTooFewTests:   "3 days of tests of the 5",
		progress.ErrNoImprovement: "no sure improvement yet",
		progress.ErrTooFar:        "more than 26 weeks away",
		progress.ErrReached:       "time to test",
		progress.ErrOneDay:        "from one day",
	} {
		aim.Refused = refused
		if got := AimSentence(aim, wednesday); !strings.Contains(got, want) {
			t.Errorf("%v: %q does not say %q", refused, got, want)
		}
	}
}

func TestHazardWords(t *testing.T) {
	hazard := func(reps, catches int) finding.Hazard {
		h := finding.Hazard{Tally: cleanrun.Tally{Reps: reps, Catches: catches}}
		if reps+catches > 0 {
			var err error
			if h.Hazard, err = h.Tally.Hazard(0.95); err != nil {
				t.Fatal(err)
			}
		}
		return h
	}
	for want, h := range map[string]finding.Hazard{
		"not counted yet":         hazard(0, 0),
		"no catch in 200 reps":    hazard(200, 0),
		"1 catch in 50 reps":      hazard(98, 2),
		"a catch at nearly every": hazard(0, 3),
		"likely 1 in 16 to 1 in":  hazard(98, 2),
	} {
		if got := hazardWords(h); !strings.HasPrefix(got, want) && !strings.Contains(got, want) {
			t.Errorf("%q does not say %q", got, want)
		}
	}
}

// Sentences about an athlete are short, and say nothing that these pages never say.
func TestFindingSentencesArePlain(t *testing.T) {
	nan := math.NaN()
	var lines []string
	for _, c := range []finding.Change{
		{}, {Tests: 1}, {Tests: 4, Change: progress.Change{Verdict: progress.TooFewTests, Difference: nan, Needed: nan}},
		{Tests: 6, BeforeRPM: 100, AfterRPM: 120, From: wednesday, Change: progress.Change{Verdict: progress.RealChange, Difference: 20, Needed: 8}},
		{Tests: 6, BeforeRPM: 120, AfterRPM: 100, From: wednesday, Change: progress.Change{Verdict: progress.RealChange, Difference: -20, Needed: 8}},
		{Tests: 6, BeforeRPM: 100, AfterRPM: 103, From: wednesday, Change: progress.Change{Verdict: progress.WithinError, Difference: 3, Needed: 8}},
	} {
		lines = append(lines, ChangeSentence(c))
	}
	for _, reason := range []string{finding.NeedsAllOut, capacity.TooFewBouts, capacity.NotAllOut, capacity.NoFall, capacity.NoRecovery} {
		lines = append(lines, recoverySentence(finding.Recovery{On: wednesday, Refused: reason}))
	}
	for _, fitted := range []capacity.Recovery{{TauSeconds: 70, Low: 60, High: 90}, {TauSeconds: 70, Low: 30, High: 200}, {TauSeconds: 70, Low: 30, High: math.Inf(1)}} {
		lines = append(lines, recoverySentence(finding.Recovery{On: wednesday, Known: true, Fitted: fitted}))
	}
	for _, readiness := range []rhythm.Readiness{rhythm.NotYet, rhythm.Near, rhythm.OneAtATime, rhythm.Several} {
		lines = append(lines, DoublesSentence(finding.Doubles{Known: true, Turn: 0.27, Readiness: readiness}))
	}
	for _, jumper := range []rhythm.Jumper{{RopeRPM: 150, Cadence: 130, Flight: 0.3, Sweep: rhythm.Sweep}, {RopeRPM: 240, Cadence: 100, Flight: 0.4, InsideDouble: true, Sweep: rhythm.Sweep}} {
		advice, err := rhythm.Advise(jumper)
		if err != nil {
			t.Fatal(err)
		}
		lines = append(lines, doubleLines(finding.Doubles{Known: true, RopeRPM: jumper.RopeRPM, Flight: jumper.Flight, FlightOn: wednesday, Advice: advice})...)
	}
	for _, care := range []progress.Care{{}, {LastPain: wednesday}, {State: progress.Held, HeldSince: wednesday}, {State: progress.Restarting, SessionsLeft: 2}} {
		lines = append(lines, CareSentence(care))
	}
	lines = append(lines, noteSentences([]string{"burst_other_step", "all_out_left_out", "burst_hazard", "odd_left_out", "no_stage"})...)
	banned := []string{"invalid", "illegal", "fail", "failed", "please", "user", "client", "submit", "oops", "zone", "streak", "badge", "NaN", "+Inf", "%!"}
	for _, line := range lines {
		for sentence := range strings.SplitSeq(line, ". ") {
			if words := strings.Fields(sentence); len(words) > 22 {
				t.Errorf("%d words: %q", len(words), sentence)
			}
		}
		if !strings.HasSuffix(line, ".") {
			t.Errorf("%q is no sentence", line)
		}
		for _, word := range strings.FieldsFunc(line, func(r rune) bool { return strings.ContainsRune(" ,.:;()", r) }) {
			if slices.Contains(banned, strings.ToLower(word)) || slices.Contains(banned, word) {
				t.Errorf("%q says %q", line, word)
			}
		}
	}
}
