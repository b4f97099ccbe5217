package ladder

import (
	"strings"
	"testing"
	"time"
)

// today is the day on which the tests are held.
var today = day("2026-11-04")

func day(s string) Day {
	var d Day
	if err := d.UnmarshalText([]byte(s)); err != nil {
		panic(err)
	}
	return d
}

// english returns the shipped ladder.
func english(t testing.TB) Ladder {
	t.Helper()
	l, err := Shipped("en")
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// gateOf returns the gate of a stage of the shipped ladder.
func gateOf(t testing.TB, stage string) Gate {
	t.Helper()
	s, ok := english(t).Stage(stage)
	if !ok {
		t.Fatalf("no stage %s", stage)
	}
	return s.Gate
}

func words(t testing.TB) Words {
	t.Helper()
	w, err := WordsIn("en")
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func TestDayOfIsTheLocalCalendarDay(t *testing.T) {
	late := time.Date(2026, 11, 4, 23, 30, 0, 0, time.FixedZone("west", -5*60*60))
	if got := DayOf(late); got != today {
		t.Errorf("DayOf(%v) = %v, want %v", late, got, today)
	}
	if got := DayOf(late.UTC()); got != today+1 {
		t.Errorf("DayOf(%v) = %v, want the next day", late.UTC(), got)
	}
	if got := DayOf(time.Date(1969, 12, 31, 12, 0, 0, 0, time.UTC)); got != -1 {
		t.Errorf("the day before 1970 = %d, want -1", got)
	}
	if got := today.Time(); DayOf(got) != today || got.Format(time.DateOnly) != "2026-11-04" {
		t.Errorf("Time() = %v", got)
	}
}

func TestStagesHaveNeighbours(t *testing.T) {
	l := english(t)
	if next, ok := l.Next("steady-minute"); !ok || next.Number != 5 {
		t.Errorf("after stage 4 comes %d, %v", next.Number, ok)
	}
	if before, ok := l.Previous("steady-minute"); !ok || before.Number != 3 {
		t.Errorf("before stage 4 comes %d, %v", before.Number, ok)
	}
	if _, ok := l.Next("running-doubles-and-triple"); ok {
		t.Error("the last stage has a next one")
	}
	if _, ok := l.Previous("turn-in-time"); ok {
		t.Error("the first stage has one before")
	}
	if _, ok := l.Next("unknown"); ok {
		t.Error("an unknown stage has a next one")
	}
}

func TestNumberedCountsFromOne(t *testing.T) {
	l := Ladder{Stages: []Stage{{Key: "b"}, {Key: "a"}}}
	got := l.Numbered()
	if got.Stages[0].Number != 1 || got.Stages[1].Number != 2 {
		t.Errorf("numbers %d and %d", got.Stages[0].Number, got.Stages[1].Number)
	}
	if l.Stages[0].Number != 0 {
		t.Error("Numbered changed its receiver")
	}
}

// ids joins ids for comparing.
func ids(list []string) string { return strings.Join(list, " ") }
