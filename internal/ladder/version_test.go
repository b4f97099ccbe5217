package ladder

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// of makes a ladder of stages with these keys, titled by them.
func of(keys string) Ladder {
	var l Ladder
	for _, key := range strings.Fields(keys) {
		l.Stages = append(l.Stages, Stage{Key: key, Title: "The " + key, Gate: Gate{Clauses: []Clause{{Key: "look", Measure: CoachJudges, Results: 1, Days: 1}}}})
	}
	return l.Numbered()
}

func TestDiff(t *testing.T) {
	change := func(l Ladder, key string, by func(*Stage)) Ladder {
		by(&l.Stages[l.index(key)])
		return l
	}
	tests := []struct {
		name string
		now  Ladder
		want string
	}{
		{"nothing", of("a b c d"), ""},
		{"one more in front", of("x a b c d"), "“The x” is new, as stage 1."},
		{"one retired", of("a c d"), "“The b” is retired."},
		{"last to first", of("d a b c"), "“The d” moved from place 4 to place 1."},
		{"two changed places", of("b a c d"), "“The a” moved from place 1 to place 2."},
		{"renamed", change(of("a b c d"), "b", func(s *Stage) { s.Title = "Bounce" }), "“The b” is now called “Bounce”."},
		{"another gate", change(of("a b c d"), "b", func(s *Stage) { s.Gate.SeenByCoach = true }), "The gate of “The b” changed."},
		{"another text", change(of("a b c d"), "b", func(s *Stage) { s.Caution = "Slowly." }), "The text of “The b” changed."},
		{"much at once", change(of("x d a c"), "a", func(s *Stage) { s.Title, s.Purpose, s.Gate = "A", "Why.", Gate{} }),
			"“The x” is new, as stage 1. “The d” moved from place 4 to place 2. “The a” is now called “A”. " +
				"The gate of “A” changed. The text of “A” changed. “The b” is retired."},
	}
	w := words(t)
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			var said []string
			for _, c := range Diff(of("a b c d"), test.now) {
				said = append(said, w.Change(c))
			}
			if got := strings.Join(said, " "); got != test.want {
				t.Errorf("got  %s\nwant %s", got, test.want)
			}
		})
	}
}

func TestPlace(t *testing.T) {
	tests := []struct {
		name     string
		old, now string
		stage    string
		want     string
		kept     bool
	}{
		{"unchanged", "a b c", "a b c", "b", "b", true},
		{"moved", "a b c", "c b a", "a", "a", true},
		{"retired: the next one", "a b c", "a c", "b", "c", false},
		{"two retired: the next that is left", "a b c d", "a d", "b", "d", false},
		{"the last retired: the one before", "a b c", "a b", "c", "b", false},
		{"the next in the old order, wherever it is now", "a b c", "c a", "b", "c", false},
		{"another ladder altogether", "a b c", "x y", "b", "x", false},
		{"never on the old one", "a b c", "a b c d", "z", "a", false},
		{"an empty ladder", "a b c", "", "b", "", false},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got, kept := Place(of(test.old), of(test.now), test.stage)
			if got != test.want || kept != test.kept {
				t.Errorf("got %s, kept %v; want %s, %v", got, kept, test.want, test.kept)
			}
		})
	}
}

func TestMoves(t *testing.T) {
	got := Moves(of("a b c"), of("c a"), []Standing{{Athlete: "Uri", Stage: "a"}, {Athlete: "Suda", Stage: "b"}})
	if len(got) != 1 || got[0] != (Move{"Suda", "b", "c"}) {
		t.Errorf("moves %+v", got)
	}
}

// Whatever is edited, athletes on kept stages stay, and everybody has a place.
func TestAthletesKeepTheirPlace(t *testing.T) {
	keys := strings.Fields("a b c d e f g h")
	rapid.Check(t, func(t *rapid.T) {
		order := rapid.Permutation(keys).Draw(t, "order")
		kept := rapid.IntRange(1, len(keys)).Draw(t, "kept")
		old, now := of(strings.Join(keys, " ")), of(strings.Join(order[:kept], " "))
		for _, key := range keys {
			place, stays := Place(old, now, key)
			if now.index(place) < 0 {
				t.Fatalf("from %s to %q, which is not there", key, place)
			}
			if is := now.index(key) >= 0; is != stays || is && place != key {
				t.Fatalf("from %s to %s, kept %v", key, place, stays)
			}
		}
		for _, c := range Diff(old, now) {
			if (c.Kind == Retired) != (now.index(c.Stage) < 0) {
				t.Fatalf("change %s", fmt.Sprintf("%+v", c))
			}
		}
	})
}
