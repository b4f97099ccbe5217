package ladder

import (
	"testing"
	"time"
)

// notes repeats a catch n times.
func notes(n int, c Catch) []Catch {
	list := make([]Catch, n)
	for i := range list {
		list[i] = c
		list[i].Day = today - Day(i)
	}
	return list
}

func TestSuggestCue(t *testing.T) {
	tests := []struct {
		name    string
		catches []Catch
		cue     string
		reason  string
	}{
		{"no notes", nil, "", "Note three more to see a pattern."},
		{"two notes", notes(2, Catch{Spot: Toes}), "", "Note one more to see a pattern."},
		{"early wrists", append(notes(3, Catch{Spot: Toes, Timing: Early}), notes(1, Catch{Spot: Heels})...),
			"Jump first, then turn your wrists.", "3 of 4 catches: the wrists turned early. Pulling early brings the rope before the feet are up."},
		{"low at the toes", notes(3, Catch{Spot: Toes, Height: TooLow, Hands: HandsLevel}),
			"Spring a little more, knees loose.", "3 of 3 catches: the rope stopped at the toes and the jump was too low. A jump that is too low leaves no room for the rope."},
		{"wide hands, mostly", append(notes(4, Catch{Spot: Shins, Hands: HandsWide}), notes(2, Catch{Spot: Toes, Timing: Late})...),
			"Keep your elbows by your ribs.", "4 of 6 catches: the hands were wide. Wide arms make the rope short."},
		{"only the toes", notes(3, Catch{Spot: Toes}),
			"Hear the rope tap the floor, and jump on the tap.", "3 of 3 catches: the rope stopped at the toes. Late hands or feet let the rope arrive first."},
		{"on the head", notes(3, Catch{Spot: Head}), "Check the rope's length: stand on it, handles to the armpits.",
			"3 of 3 catches: the rope stopped at the head or back. A short rope meets the head or the back."},
		{"everywhere", []Catch{{Spot: Toes, Day: today}, {Spot: Heels, Day: today}, {Spot: Head, Day: today}, {Spot: Floor, Day: today}},
			"", "No pattern yet. Keep noting where the rope stops."},
		{"nothing noticed", notes(5, Catch{}), "", "No pattern yet. Keep noting where the rope stops."},
		{"all in order", notes(5, Catch{Timing: InTime, Hands: HandsLevel, Height: RightHeight}), "", "No pattern yet. Keep noting where the rope stops."},
		{"long ago", []Catch{{Spot: Head, Day: today - 28}, {Spot: Head, Day: today - 30}, {Spot: Head, Day: today - 31}}, "", "Note three more to see a pattern."},
		{"tomorrow", []Catch{{Spot: Head, Day: today + 1}, {Spot: Head, Day: today}, {Spot: Head, Day: today}}, "", "Note one more to see a pattern."},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			cue, reason := words(t).Suggestion(SuggestCue(test.catches, today))
			if cue != test.cue || reason != test.reason {
				t.Errorf("got  %q, %q\nwant %q, %q", cue, reason, test.cue, test.reason)
			}
		})
	}
}

func TestCheckStates(t *testing.T) {
	s, _ := english(t).Stage("first-jumps") // posture, landing, hands, eyes
	look := func(id string, daysAgo Day, point Point, good bool) Evidence {
		return with(judged(id, daysAgo, string(point), good), func(e *Evidence) { e.Stage = s.Key })
	}
	states := s.CheckStates([]Evidence{
		look("b", 2, Posture, true), look("a", 9, Posture, false),
		look("c", 5, Landing, true), look("d", 1, Landing, false),
		look("e", 9, Hands, true), look("f", 1, Hands, false), {ID: "g", Replaces: "f", Day: today},
		with(look("h", 1, Eyes, true), func(e *Evidence) { e.Stage = "steady-minute" }),
	})
	want := []struct {
		point Point
		look  Look
		id    string
	}{{Posture, LooksGood, "b"}, {Landing, LooksNotYet, "d"}, {Hands, LooksGood, "e"}, {Eyes, NotLooked, ""}}
	if len(states) != len(want) {
		t.Fatalf("%d checks, want %d", len(states), len(want))
	}
	for i, w := range want {
		if got := states[i]; got.Check.Point != w.point || got.Look != w.look || got.ID != w.id || got.Check.Text == "" {
			t.Errorf("got %+v, want %+v", got, w)
		}
	}
	counts := CountChecks([][]CheckState{states, s.CheckStates(nil)})
	wantCounts := []CheckCount{{Posture, 1, 0, 1}, {Landing, 0, 1, 1}, {Hands, 1, 0, 1}, {Eyes, 0, 0, 2}}
	for i, w := range wantCounts {
		if counts[i] != w {
			t.Errorf("got %+v, want %+v", counts[i], w)
		}
	}
	if len(counts) != len(wantCounts) {
		t.Errorf("%d points counted", len(counts))
	}
}

// Of two judgements on one day the later counts, of two at one time the higher id.
func TestTheNewestLookCounts(t *testing.T) {
	s, _ := english(t).Stage("first-jumps")
	at := func(e Evidence, minute int) Evidence {
		e.Stage, e.At = s.Key, time.Date(2026, 11, 4, 17, minute, 0, 0, time.UTC)
		return e
	}
	early, late := at(judged("z", 0, "eyes", true), 0), at(judged("a", 0, "eyes", false), 5)
	if got := s.CheckStates([]Evidence{late, early})[3]; got.ID != "a" {
		t.Errorf("the look of %q counts", got.ID)
	}
	same := at(judged("y", 0, "eyes", false), 0)
	if got := s.CheckStates([]Evidence{early, same})[3]; got.ID != "z" {
		t.Errorf("the look of %q counts", got.ID)
	}
}
