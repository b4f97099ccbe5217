package floor_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ropewalk.example/internal/floor"
	"ropewalk.example/internal/planner"
)

// jumper has a plan of sets of 30 s, 60 s rest.
func jumper(id string, target float64, sets int) floor.Jumper {
	return floor.Jumper{ID: id, Name: id, SteadyRPM: target - 20, TargetRPM: target, Split: planner.Split{Steady: 20, Burst: 10}, Cycles: 1,
		Sets: sets, WorkSeconds: 30, RestSeconds: 60}
}

func steady(id string, rpm float64, sets int) floor.Jumper {
	return floor.Jumper{ID: id, Name: id, SteadyRPM: rpm, TargetRPM: rpm, Split: planner.Split{Steady: 40}, Cycles: 1,
		Sets: sets, WorkSeconds: 60 * 40 / rpm, RestSeconds: 45}
}

func course(t *testing.T, s floor.Setup) floor.Course {
	t.Helper()
	c, err := floor.NewCourse(s)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func membersOf(c floor.Course) string {
	var groups []string
	for _, g := range c.Groups {
		var ids []string
		for _, m := range g.Members {
			ids = append(ids, m.ID)
		}
		groups = append(groups, g.Letter+" "+strings.Join(ids, ","))
	}
	return strings.Join(groups, " | ")
}

func TestGroupsKeepKindsApart(t *testing.T) {
	double := jumper("d", 140, 2)
	double.Split, double.SteadyRPM = planner.Split{Steady: 3, Burst: 1, Double: true}, 70
	c := course(t, floor.Setup{Jumpers: []floor.Jumper{jumper("a", 140, 3), steady("b", 140, 3), double, jumper("c", 142, 3)}})
	if got, want := membersOf(c), "A b | B a,c | C d"; got != want {
		t.Errorf("groups %s, want %s", got, want)
	}
}

func TestGroupsGrowUntilTheyAreFew(t *testing.T) {
	var class []floor.Jumper
	for i := range 12 {
		class = append(class, jumper(floor.Letter(i), 120+6*float64(i), 3))
	}
	c := course(t, floor.Setup{Jumpers: class, MostGroups: 3})
	if len(c.Groups) > 3 {
		t.Errorf("%d groups, 3 were allowed", len(c.Groups))
	}
	if c.ToleranceRPM <= floor.DefaultToleranceRPM {
		t.Errorf("the tolerance is said to be %g, though twelve rates over 66 rpm are in three groups", c.ToleranceRPM)
	}
}

func TestAGroupJumpsItsShortestSet(t *testing.T) {
	long, short := jumper("long", 140, 4), jumper("short", 140, 4)
	long.Cycles, long.WorkSeconds, long.RestSeconds = 3, 42, 70
	short.Split, short.Cycles, short.WorkSeconds, short.RestSeconds = planner.Split{Steady: 30, Burst: 10}, 1, 19.3, 90
	g := course(t, floor.Setup{Jumpers: []floor.Jumper{long, short}}).Groups[0]
	if g.Split != short.Split || g.Cycles != 1 {
		t.Errorf("the group's set is %d × %+v, want the shorter one's", g.Cycles, g.Split)
	}
	if want := 60*30/120.0 + 60*10/140.0; math.Abs(g.WorkSeconds-want) > 1e-9 {
		t.Errorf("it lasts %g s, at the cue it is %g s", g.WorkSeconds, want)
	}
	if g.RestSeconds != 90 {
		t.Errorf("its rest is %g s, want the longer one's 90 s", g.RestSeconds)
	}
}

func TestTurnsOfThreeGroups(t *testing.T) {
	c := course(t, floor.Setup{Jumpers: []floor.Jumper{jumper("a", 110, 2), jumper("b", 140, 2), jumper("c", 170, 1)}})
	var got []string
	for _, turn := range c.Turns {
		got = append(got, fmt.Sprintf("%d%s@%g", turn.Round, c.Groups[turn.Group].Letter, turn.Starts))
	}
	// Sets last 18.8, 14.3 and 11.5 s; A has rested 60 s at 83.8 s.
	if want := "1A@5 1B@29 1C@49 2A@84 2B@108"; strings.Join(got, " ") != want {
		t.Errorf("turns %s, want %s", strings.Join(got, " "), want)
	}
}

func TestACourseKeepsToTheMinutes(t *testing.T) {
	s := floor.Setup{Jumpers: []floor.Jumper{jumper("a", 110, 9), jumper("b", 140, 9)}, Minutes: 5}
	c := course(t, s)
	if c.Seconds > 300 {
		t.Errorf("the course lasts %g s, 300 s there are", c.Seconds)
	}
	jumped := 0
	for i := range c.Turns {
		jumped += len(c.Jumping(i))
	}
	if jumped+c.CutSets != 18 {
		t.Errorf("%d sets jumped and %d cut, want 18 together", jumped, c.CutSets)
	}
}

func TestNobodyToJump(t *testing.T) {
	if _, err := floor.NewCourse(floor.Setup{}); !errors.Is(err, floor.ErrNobody) {
		t.Errorf("error %v, want ErrNobody", err)
	}
	if _, ok := floor.JumperOf("a", "a", planner.Plan{Kind: planner.KindHold}); ok {
		t.Error("somebody on hold jumps")
	}
}

func TestMomentsOfACourse(t *testing.T) {
	c := course(t, floor.Setup{Jumpers: []floor.Jumper{jumper("a", 110, 2), jumper("b", 140, 1)}})
	a := c.Turns[0]
	tests := []struct {
		name    string
		elapsed float64
		want    floor.Moment
	}{
		{"places", 0, floor.Moment{Turn: 0, Left: a.Starts}},
		{"the first second of work", a.Starts, floor.Moment{Turn: 0, Working: true, Left: a.Ends - a.Starts}},
		{"the pause after", a.Ends, floor.Moment{Turn: 1, Left: c.Turns[1].Starts - a.Ends}},
		{"over", c.Seconds, floor.Moment{Turn: len(c.Turns), Over: true}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if got := c.At(test.elapsed); got != test.want {
				t.Errorf("At(%g) = %+v, want %+v", test.elapsed, got, test.want)
			}
		})
	}
	if got := c.Next(a.Starts + 1); got != c.Turns[1].Starts-floor.LeadSeconds {
		t.Errorf("moving on from the first set leads to %g", got)
	}
	if got := c.Next(c.Seconds - 1); got != c.Seconds {
		t.Errorf("moving on from the last set leads to %g, want the end %g", got, c.Seconds)
	}
	during := c.Doing("a", a.Starts+1)
	if during.State != floor.Working || during.Set != 1 || during.Sets != 2 || during.NextS == 0 {
		t.Errorf("a in the first set: %+v", during)
	}
	if got := c.Doing("b", c.Seconds); got.State != floor.Done {
		t.Errorf("b at the end: %+v", got)
	}
	if got := c.Doing("nobody", 1); got.State != floor.Beside {
		t.Errorf("somebody without a place: %+v", got)
	}
}

func TestJoinGivesALateComerTheNextTurn(t *testing.T) {
	c := course(t, floor.Setup{Jumpers: []floor.Jumper{jumper("a", 110, 3), jumper("b", 140, 3)}})
	at := c.Turns[0].Starts + 1
	joined, ok := c.Join(jumper("late", 112, 2), at, floor.Setup{})
	if !ok {
		t.Fatal("no group for somebody 2 rpm from one")
	}
	if joined.Turns[0] != c.Turns[0] {
		t.Errorf("the turn under way moved from %+v to %+v", c.Turns[0], joined.Turns[0])
	}
	if slices.Contains(joined.Jumping(0), "late") {
		t.Error("the late-comer was put into a set that had begun")
	}
	if d := joined.Doing("late", at); d.State != floor.Resting || d.Sets != 2 {
		t.Errorf("the late-comer: %+v", d)
	}
	if _, ok := c.Join(jumper("far", 300, 2), at, floor.Setup{}); ok {
		t.Error("somebody far from every cue was given one")
	}
	if _, ok := c.Join(steady("steady", 110, 2), at, floor.Setup{}); ok {
		t.Error("somebody without bursts was given a cue with bursts")
	}
}

func TestCountdown(t *testing.T) {
	c := floor.Countdown(floor.Wave{Letter: "A", Jump: []string{"a", "b"}}, 30)
	if m := c.At(floor.LeadSeconds); !m.Working || m.Left != 30 {
		t.Errorf("after the lead: %+v", m)
	}
	if got := c.Jumping(0); !slices.Equal(got, []string{"a", "b"}) {
		t.Errorf("jumping: %v", got)
	}
}

// drawJumpers draws a class with plans of every kind.
func drawJumpers(t *rapid.T) []floor.Jumper {
	var class []floor.Jumper
	for i := range rapid.IntRange(1, 30).Draw(t, "athletes") {
		rpm := rapid.Float64Range(60, 220).Draw(t, "rpm")
		j := steady(fmt.Sprint(i), rpm, rapid.IntRange(1, 8).Draw(t, "sets"))
		if rapid.Bool().Draw(t, "bursts") {
			ladder := planner.SplitLadder()
			j.Split = ladder[rapid.IntRange(0, len(ladder)-1).Draw(t, "split")]
			j.TargetRPM = rpm + 20
			if j.Split.Double {
				j.TargetRPM = 2 * rpm
			}
		}
		j.WorkSeconds = rapid.Float64Range(10, 60).Draw(t, "work")
		j.RestSeconds = 5 * float64(rapid.IntRange(3, 36).Draw(t, "rest"))
		class = append(class, j)
	}
	return class
}

func TestCourseLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		class := drawJumpers(t)
		s := floor.Setup{Jumpers: class, MostGroups: rapid.IntRange(1, 6).Draw(t, "groups"), Fits: rapid.IntRange(0, 12).Draw(t, "fits")}
		c, err := floor.NewCourse(s)
		if err != nil {
			t.Fatal(err)
		}
		checkTurns(t, c, s)
		byID := map[string]floor.Jumper{}
		for _, j := range class {
			byID[j.ID] = j
			if d := c.Doing(j.ID, c.Seconds); d.Sets != j.Sets || d.State != floor.Done {
				t.Fatalf("%s jumps %d sets of %d", j.ID, d.Sets, j.Sets)
			}
		}
		for _, g := range c.Groups {
			for _, m := range g.Members {
				own := byID[m.ID].Split
				if (own.Burst > 0) != (g.Split.Burst > 0) || own.Double != g.Split.Double {
					t.Fatalf("%s jumps %+v in a group with %+v", m.ID, own, g.Split)
				}
			}
			if g.HighRPM-g.LowRPM > 2*c.ToleranceRPM+1e-6 {
				t.Fatalf("group %s reaches from %g to %g rpm at a tolerance of %g", g.Letter, g.LowRPM, g.HighRPM, c.ToleranceRPM)
			}
		}
		again, err := floor.NewCourse(s)
		if err != nil || !reflect.DeepEqual(again, c) {
			t.Fatal("the same class got another course")
		}
		text, err := json.Marshal(c)
		if err != nil {
			t.Fatal(err)
		}
		var read floor.Course
		if err := json.Unmarshal(text, &read); err != nil || !reflect.DeepEqual(read, c) {
			t.Fatalf("JSON changed the course: %v", err)
		}
	})
}

// checkTurns checks that one group at a time jumps, that nobody's rest is cut
// and that no wave is larger than the floor.
func checkTurns(t *rapid.T, c floor.Course, s floor.Setup) {
	last := map[string]float64{}
	at := 0.0
	for i, turn := range c.Turns {
		if turn.Starts < at+floor.LeadSeconds {
			t.Fatalf("turn %d starts at %g, the one before ends at %g", i, turn.Starts, at)
		}
		at = turn.Ends
		jumping := c.Jumping(i)
		if len(jumping) == 0 || s.Fits > 0 && len(jumping) > s.Fits {
			t.Fatalf("%d jump in turn %d, %d fit", len(jumping), i, s.Fits)
		}
		for _, id := range jumping {
			if ended, before := last[id]; before && turn.Starts < ended+c.Groups[turn.Group].RestSeconds {
				t.Fatalf("%s rests %g s of %g", id, turn.Starts-ended, c.Groups[turn.Group].RestSeconds)
			}
			last[id] = turn.Ends
		}
	}
}

func TestJoinLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		class := drawJumpers(t)
		s := floor.Setup{Jumpers: class}
		c, err := floor.NewCourse(s)
		if err != nil {
			t.Fatal(err)
		}
		late := class[rapid.IntRange(0, len(class)-1).Draw(t, "like")]
		late.ID = "late"
		at := rapid.Float64Range(0, c.Seconds+10).Draw(t, "elapsed")
		joined, ok := c.Join(late, at, s)
		if !ok {
			t.Fatal("no group for somebody just like a member")
		}
		checkTurns(t, joined, s)
		for _, j := range class {
			if d := joined.Doing(j.ID, joined.Seconds); d.Sets != j.Sets {
				t.Fatalf("%s now jumps %d sets of %d", j.ID, d.Sets, j.Sets)
			}
		}
		if d := joined.Doing("late", joined.Seconds); d.Sets != late.Sets {
			t.Fatalf("the late-comer jumps %d sets of %d", d.Sets, late.Sets)
		}
	})
}
