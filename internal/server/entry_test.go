package server

import (
	"context"
	"slices"
	"strings"
	"testing"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/standing"
	"ropewalk.example/internal/store"
)

// ladder puts the ladder that ships into use, with the n-th athlete on a stage.
func (h *hall) ladder(n int, stage string) {
	h.t.Helper()
	kept, version, stages, err := standing.Shipped(newID(), h.now)
	if err != nil {
		h.t.Fatal(err)
	}
	h.write(h.id, func(ctx context.Context, tx *store.Tx) error {
		if err := tx.AddLadder(ctx, kept); err != nil {
			return err
		}
		if err := tx.AddLadderVersion(ctx, version, stages); err != nil {
			return err
		}
		_, err := tx.AddDecision(ctx, gym.StageDecision{DecisionID: newID(), AthleteID: h.athletes[n].AthleteID, Verdict: standing.Start, StageTo: stage,
			LadderID: kept.LadderID, Version: 1, DecidedOn: day(h.now).AddDate(0, 0, -30), DecidedAt: h.now.AddDate(0, 0, -30), DecidedBy: h.coach.PersonID})
		return err
	})
}

// Every test has a form that asks for what it needs, and keeps it.
func TestEveryTestIsRecorded(t *testing.T) {
	h := newHall(t, "Ana")
	h.ladder(0, "one-double-stop")
	coach := h.as(h.coach)
	below := "/athletes/" + h.athletes[0].AthleteID.String() + "/tests"
	tests := []struct {
		test  string
		typed map[string]string
		kept  func(gym.Result) bool
	}{
		{rate.Base, map[string]string{"rotations": "118", "catches": "2", "lost": "4.5", "restart": "2.5"}, func(r gym.Result) bool {
			return *r.Rotations == 118 && *r.Seconds == 60 && r.Catches == 2 && *r.LostSeconds == 4.5 && *r.LongestRestartSeconds == 2.5
		}},
		{rate.Burst, map[string]string{"rotations": "30"}, func(r gym.Result) bool { return *r.Rotations == 30 && *r.Seconds == 10 }},
		{rate.AllOut, map[string]string{"test": "all_out 180", "rotations": "1050"}, func(r gym.Result) bool { return *r.Rotations == 1050 && *r.Seconds == 180 }},
		{rate.CleanRun, map[string]string{"rotations": "46", "ended": "clean"}, func(r gym.Result) bool { return *r.Rotations == 46 && r.StoppedClean && r.Seconds == nil }},
		{rate.RepeatBurst, map[string]string{"test": "repeat_burst 10", "bouts": "31, 29 28/27", "rest": "25"}, func(r gym.Result) bool {
			return slices.Equal(r.Bouts, []int32{31, 29, 28, 27}) && *r.RestSeconds == 25 && *r.Seconds == 10 && r.Rotations == nil
		}},
		{rate.DoublesRun, map[string]string{"rotations": "4"}, func(r gym.Result) bool { return *r.Rotations == 4 && !r.StoppedClean && r.Step == "double" }},
		{rate.InDouble, map[string]string{"rotations": "36"}, func(r gym.Result) bool { return *r.Rotations == 36 && *r.Seconds == 10 }},
		{rate.Flight, map[string]string{"flight": "0,36"}, func(r gym.Result) bool { return *r.FlightSeconds == 0.36 }},
		{rate.Tries, map[string]string{"successes": "3"}, func(r gym.Result) bool {
			return *r.Successes == 3 && *r.Attempts == 5 && r.Task == "one-double-stop" // as the athlete's gate asks
		}},
		{rate.Cycles, map[string]string{"rotations": "4"}, func(r gym.Result) bool { return *r.Rotations == 4 && r.Task == "split-10-10" }},
		{rate.Rounds, map[string]string{"rotations": "8"}, func(r gym.Result) bool { return *r.Rotations == 8 && r.Task == "three-singles-one-double" }},
	}
	for i, test := range tests {
		t.Run(test.test, func(t *testing.T) {
			f := coach.get(below + "/new?test=" + test.test).is(200).form(below)
			for field, value := range test.typed {
				f.Set(field, value)
			}
			coach.follow(coach.post(below, f)).is(200).says("Saved.")
			kept := h.history(0)
			if len(kept) != i+1 {
				t.Fatalf("%d results, want %d", len(kept), i+1)
			}
			newest := kept[slices.IndexFunc(kept, func(r gym.Result) bool { return r.Protocol == test.test })]
			if !test.kept(newest) {
				t.Errorf("kept as %+v", newest)
			}
		})
	}
	if len(tests) != len(rate.Protocols()) {
		t.Errorf("%d tests have a form, there are %d", len(tests), len(rate.Protocols()))
	}
	page := coach.get("/athletes/" + h.athletes[0].AthleteID.String()).is(200)
	page.says("46 clean reps, stopped clean", "4 doubles in a row, the rope caught", "31 · 29 · 28 · 27, rest 25 s", "3 of 5 good", "0.36 s in the air")
}

func TestSeveralCountersAndOneFoot(t *testing.T) {
	h := newHall(t, "Ana")
	coach := h.as(h.coach)
	below := "/athletes/" + h.athletes[0].AthleteID.String() + "/tests"
	f := coach.get(below + "/new?test=burst").form(below)
	f.Set("rotations", "16")
	f["more"] = []string{"15", "", "22"}
	f.Set("one_foot", "yes")
	coach.follow(coach.post(below, f)).is(200).says("Saved.")
	kept := h.history(0)[0]
	// Of three the two closest: 15.5 steps of one foot, 31 rotations.
	if *kept.Rotations != 31 || !kept.OneFoot || !slices.Equal(kept.Counts, []int32{16, 15, 22}) {
		t.Errorf("kept as %d, one foot %v, counts %v", *kept.Rotations, kept.OneFoot, kept.Counts)
	}
	f = coach.get(below + "/new?test=burst").form(below)
	f.Set("rotations", "26")
	f["more"] = []string{"32"}
	coach.follow(coach.post(below, f)).is(200).says("the closest two counts are more than 3 apart")
}

func TestFlightFromAClip(t *testing.T) {
	h := newHall(t, "Ana")
	coach := h.as(h.coach)
	below := "/athletes/" + h.athletes[0].AthleteID.String() + "/tests"
	f := coach.get(below + "/new?test=flight").form(below)
	f.Set("from", "1.40")
	f.Set("to", "1.20")
	coach.post(below, f).is(422).says("The feet come back after they leave the floor.")
	f.Set("to", "4.28")
	coach.post(below, f).is(422).says("Flight time must be from 0.05 to 1 seconds")
	f.Set("slow", "8")
	coach.follow(coach.post(below, f)).is(200)
	if got := *h.history(0)[0].FlightSeconds; got != 0.36 {
		t.Errorf("%.3f s in the air, want 0.36: 2.88 s of a clip that is 8 times slower", got)
	}
}

// What cannot be is said in a sentence, and what was typed stays.
func TestEveryTestSaysWhatIsWrong(t *testing.T) {
	h := newHall(t, "Ana")
	h.ladder(0, "one-double-stop")
	coach := h.as(h.coach)
	below := "/athletes/" + h.athletes[0].AthleteID.String() + "/tests"
	tests := []struct {
		test, field, typed, says string
	}{
		{"base", "rotations", "", "Rotations must be a whole number"},
		{"base", "rotations", "8o", "You typed “8o”."},
		{"base", "restart", "200", "The longest restart must be shorter than the test."},
		{"burst", "rotations", "120", "more than any rope turns"},
		{"clean_run", "rotations", "-3", "Clean reps must be a whole number from 0 to 9999"},
		{"clean_run", "rotations", "many", "You typed “many”."},
		{"doubles", "rotations", "1000", "Doubles in a row must be a whole number from 0 to 999"},
		{"repeat_burst", "bouts", "31", "Type the rotations of each bout, 2 to 20 of them."},
		{"repeat_burst", "bouts", "31 x 28", "whole numbers, like 31 29 28 27"},
		{"flight", "flight", "3", "Flight time must be from 0.05 to 1 seconds"},
		{"flight", "flight", "", "Flight time must be"},
		{"tries", "successes", "6", "There cannot be more good tries than tries: 6 of 5."},
		{"split", "rotations", "", "Type how many were clean in a row"},
	}
	for _, test := range tests {
		t.Run(test.test+" "+test.typed, func(t *testing.T) {
			f := coach.get(below + "/new?test=" + test.test).is(200).form(below)
			f.Set(test.field, test.typed)
			if test.field == "restart" {
				f.Set("rotations", "80")
			}
			f.Set("note", "left hand")
			again := coach.post(below, f).is(422).says(test.says).form(below)
			if again.Get(test.field) != test.typed || again.Get("note") != "left hand" {
				t.Errorf("%s %q became %q, note %q", test.field, test.typed, again.Get(test.field), again.Get("note"))
			}
		})
	}
	if kept := h.history(0); len(kept) != 0 {
		t.Errorf("%d wrong results were kept", len(kept))
	}
}

// A class's sheet takes runs and tries as well as timed counts.
func TestSheetOfCleanRuns(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	coach := h.as(h.coach)
	sheet := h.path("/tests")
	f := coach.get(sheet + "?test=clean_run").is(200).form(sheet)
	f.Set(h.of("rotations", 0), "46")
	f.Set(h.of("ended", 0), "clean")
	f.Set(h.of("rotations", 1), "1e9")
	page := coach.post(sheet, f).is(422).says("1 of 2 saved", "You typed “1e9”.")
	f = page.form(sheet)
	f.Set(h.of("rotations", 1), "12")
	coach.post(sheet, f).is(200).says("2 of 2 saved") // the saved row is told of once more and kept once
	for n, want := range []struct {
		reps  int
		clean bool
	}{{46, true}, {12, false}} {
		kept := h.history(n)
		if len(kept) != 1 || *kept[0].Rotations != want.reps || kept[0].StoppedClean != want.clean {
			t.Errorf("%s: %+v", h.athletes[n].Name, kept)
		}
	}
	if ends := coach.get(sheet + "?test=repeat_burst").is(200).form(sheet); !ends.Has("rest") {
		t.Error("the sheet of a repeat burst does not ask for the rest")
	}
}

// Any result can be changed as a whole; the first one stays in the history.
func TestChangeAResult(t *testing.T) {
	h := newHall(t, "Ana")
	coach := h.as(h.coach)
	first := h.counted(0, "base", 118, 60, 7)
	path := "/results/" + first.ResultID.String() + "/correct"
	f := coach.get(path).is(200).says("Change a result", "Take it out").form(path)
	if f.Get("rotations") != "118" || f.Get("day") != "2026-10-28" || f.Get("test") != "base 60" {
		t.Errorf("the form begins with %v", f)
	}
	f.Set("rotations", "nearly all")
	coach.post(path, f).is(422).says("Rotations must be a whole number")
	f.Set("rotations", "108")
	f.Set("catches", "2")
	coach.follow(coach.post(path, f)).is(200).says("Changed.", "108 rotations, 2 catches", "replaced")
	kept := h.history(0)
	if len(kept) != 2 || kept[0].Corrects != first.ResultID || *kept[0].Rotations != 108 || !kept[0].TakenAt.Equal(first.TakenAt) {
		t.Errorf("history %+v", kept)
	}
	coach.post(path, f).is(303) // the same form once more changes nothing
	if again := h.history(0); len(again) != 2 {
		t.Errorf("%d rows after the form was sent twice", len(again))
	}
}

// What a coach taps is kept with the rate that it shows; what no pad sends is
// refused.
func TestCoachTapsATest(t *testing.T) {
	h := newHall(t, "Ana")
	coach := h.as(h.coach)
	below := "/athletes/" + h.athletes[0].AthleteID.String() + "/tests"
	f := coach.get(below + "/new?test=base").is(200).says("Count by taps").form(below)
	f.Set("test", "base 30")
	f.Set("rotations", "24")
	f.Set("per_tap", "2")
	for name, wrong := range map[string][3]string{
		"no list":           {"soon", "[]", "did not arrive whole"},
		"outside the time":  {"[1,2,3,31]", "[]", "outside the test's time"},
		"against the clock": {"[3,2,1,4,5]", "[]", "not in the order of time"},
		"no rope":           {"[1,1.05,1.1,1.15,1.2,1.25,1.3]", "[]", "faster than any rope turns"},
	} {
		f.Set("taps", wrong[0])
		f.Set("catch_at", wrong[1])
		if a := coach.post(below, f); a.Code != 422 || !strings.Contains(a.words(), wrong[2]) {
			t.Errorf("%s: status %d, %s", name, a.Code, a.words())
		}
	}
	f.Set("taps", "[1,2,3,4,5,6,7,8,9,10,11,12]")
	f.Set("catch_at", "[]")
	coach.post(below, f).is(303)
	got := h.standing(0)
	if len(got) != 1 || got[0].RPMFromTaps == nil || *got[0].RPMFromTaps < 119 || *got[0].RPMFromTaps > 121 || len(got[0].Taps) != 12 || got[0].Timing != "app" || *got[0].Rotations != 24 {
		t.Errorf("kept as %+v, want 120 rpm of 12 taps", got)
	}
}
