package ladder

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"
)

// standing evaluates the gate of the stage on which an athlete stands.
func standing(l Ladder, athlete, stage string, days Day, evidence ...Evidence) Standing {
	s, _ := l.Stage(stage)
	return Standing{athlete, stage, today - days, s.Gate.Evaluate(Athlete{Age: 30}, evidence, today)}
}

func TestClass(t *testing.T) {
	l := english(t)
	class := l.Class([]Standing{
		standing(l, "Amara", "ten-then-thirty", 40, run("a", 2, 12)),
		standing(l, "Tomasz", "ten-then-thirty", 60, run("a", 2, 31), run("b", 9, 12)),
		standing(l, "Keahi", "ten-then-thirty", 90, run("a", 2, 12), run("b", 9, 12)),
		standing(l, "Siân", "ten-then-thirty", 5),
		standing(l, "Rafael", "long-clean-run", 28, run("a", 2, 250), run("b", 9, 250)),
		standing(l, "Freja", "long-clean-run", 27),
		standing(l, "Mahina", "gone", 400),
	}, today, StuckDays)

	if got := ids(class.Ready); got != "Tomasz" {
		t.Errorf("ready: %s", got)
	}
	if got := ids(class.Astray); got != "Mahina" {
		t.Errorf("astray: %s", got)
	}
	stuck := ""
	for _, s := range class.Stuck {
		stuck += fmt.Sprintf("%s %d (%s) ", s.Athlete, s.Days, ids(s.Lacking))
	}
	if want := "Keahi 90 (thirty) Amara 40 (ten thirty) Rafael 28 (seen-by-coach) "; stuck != want {
		t.Errorf("stuck: %s\nwant   %s", stuck, want)
	}
	third := class.Stages[2]
	if got := ids(third.Athletes) + " | " + ids(third.Ready); got != "Amara Tomasz Keahi Siân | Tomasz" {
		t.Errorf("stage 3: %s", got)
	}
	if len(third.Lacking) != 2 || third.Lacking[0].Clause != "thirty" || ids(third.Lacking[0].Athletes) != "Amara Keahi Siân" ||
		third.Lacking[1].Clause != "ten" || ids(third.Lacking[1].Athletes) != "Amara Siân" {
		t.Errorf("stage 3 lacks %+v", third.Lacking)
	}
	if seventh := class.Stages[6]; len(seventh.Lacking) != 2 || seventh.Lacking[0].Clause != SeenClause || seventh.Lacking[1].Clause != "long-run" {
		t.Errorf("stage 7 lacks %+v", seventh.Lacking)
	}
	if len(class.Stages) != 16 || class.Stages[15].Athletes != nil {
		t.Errorf("%d stages", len(class.Stages))
	}
}

// Clauses that equally many lack stand in the gate's order, the seen row last.
func TestTiesOfLackingClauses(t *testing.T) {
	l := english(t)
	class := l.Class([]Standing{standing(l, "Freja", "changes-of-pace", 1), standing(l, "Rafael", "changes-of-pace", 1)}, today, StuckDays)
	var got []string
	for _, lack := range class.Stages[5].Lacking {
		got = append(got, lack.Clause)
	}
	if ids(got) != "burst split seen-by-coach" {
		t.Errorf("lacking %s", ids(got))
	}
}

func TestEveryoneStandsSomewhere(t *testing.T) {
	l := english(t)
	rapid.Check(t, func(t *rapid.T) {
		var standings []Standing
		for i := range rapid.IntRange(0, 30).Draw(t, "athletes") {
			stage := "gone"
			if at := rapid.IntRange(0, 16).Draw(t, "stage"); at < 16 {
				stage = l.Stages[at].Key
			}
			standings = append(standings, standing(l, fmt.Sprint(i), stage, Day(rapid.IntRange(0, 99).Draw(t, "days"))))
		}
		class := l.Class(standings, today, StuckDays)
		n := len(class.Astray)
		for _, s := range class.Stages {
			n += len(s.Athletes)
		}
		if n != len(standings) {
			t.Fatalf("%d of %d athletes stand somewhere", n, len(standings))
		}
	})
}

func TestPreviewGate(t *testing.T) {
	before := gateOf(t, "long-clean-run")
	now := Gate{Clauses: []Clause{before.Clauses[0]}} // nobody need see it
	now.Clauses[0].Threshold = Threshold{Value: 250}
	cases := []Case{
		{"seen, 210", Athlete{Age: 30}, []Evidence{run("a", 2, 210), seen(run("b", 9, 210))}},
		{"alone, 260", Athlete{Age: 30}, []Evidence{run("a", 2, 260), run("b", 9, 260)}},
		{"seen, 260", Athlete{Age: 30}, []Evidence{run("a", 2, 260), seen(run("b", 9, 260))}},
		{"nothing", Athlete{Age: 30}, nil},
	}
	p := PreviewGate(before, now, cases, today)
	if len(p.Ready) != 2 || p.Ready[0] != "alone, 260" || p.Ready[1] != "seen, 260" {
		t.Errorf("ready %q", p.Ready)
	}
	if len(p.Gained) != 1 || p.Gained[0] != "alone, 260" || len(p.Lost) != 1 || p.Lost[0] != "seen, 210" {
		t.Errorf("gained %q, lost %q", p.Gained, p.Lost)
	}
}
