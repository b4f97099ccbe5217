package ladder

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// anyEvidence draws results and judgements about the tasks of l, close enough to
// its thresholds that clauses are met now and then. Ids start with prefix.
func anyEvidence(t *rapid.T, l Ladder, prefix string, most int) []Evidence {
	var tasks []string
	for _, s := range l.Stages {
		for _, c := range s.Gate.Clauses {
			if c.Task != "" {
				tasks = append(tasks, c.Task)
			}
		}
	}
	tasks = append(tasks, "another")
	one := rapid.Custom(func(t *rapid.T) Evidence {
		return Evidence{
			Protocol:             rapid.SampledFrom([]Protocol{Base, Base, Burst, Burst, AllOut, CleanRun, CleanRun, DoublesRow, Split, Pattern, Tries, Judged}).Draw(t, "protocol"),
			Task:                 rapid.SampledFrom(tasks).Draw(t, "task"),
			Day:                  today - Day(rapid.IntRange(-2, 120).Draw(t, "days ago")),
			Seconds:              float64(rapid.SampledFrom([]int{5, 10, 10, 30, 60, 60}).Draw(t, "seconds")),
			RPM:                  float64(rapid.IntRange(90, 150).Draw(t, "rpm")),
			Reps:                 rapid.SampledFrom([]int{0, 2, 3, 5, 9, 10, 31, 120, 220}).Draw(t, "reps"),
			Successes:            rapid.IntRange(0, 5).Draw(t, "good"),
			Tries:                rapid.SampledFrom([]int{4, 5, 5, 5}).Draw(t, "tries"),
			Catches:              rapid.IntRange(0, 3).Draw(t, "catches"),
			RestartWithinSeconds: float64(rapid.IntRange(0, 4).Draw(t, "restart")),
			Step:                 rapid.SampledFrom(Steps()).Draw(t, "step"),
			Rope:                 rapid.SampledFrom([]RopeKind{Beaded, Beaded, Cord, ""}).Draw(t, "rope"),
			SeenByCoach:          rapid.Bool().Draw(t, "seen"),
			Unattended:           rapid.IntRange(0, 4).Draw(t, "alone") == 0,
			Good:                 rapid.Bool().Draw(t, "judged good"),
		}
	})
	list := rapid.SliceOfN(one, 0, most).Draw(t, "evidence")
	for i := range list {
		list[i].ID = fmt.Sprintf("%s%03d", prefix, i)
	}
	return list
}

func anyAthlete(t *rapid.T) Athlete {
	age := rapid.SampledFrom([]int{0, 11, 15, 16, 40}).Draw(t, "age")
	return Athlete{Age: age, Minor: age < 18, Rope: rapid.SampledFrom([]RopeKind{"", Beaded, Cord}).Draw(t, "own rope")}
}

// ladders returns the shipped ladder or a made-up one.
func ladders(shipped Ladder) *rapid.Generator[Ladder] {
	return rapid.Custom(func(t *rapid.T) Ladder {
		if rapid.Bool().Draw(t, "shipped") {
			return shipped
		}
		return anyLadder(t)
	})
}

func TestMoreEvidenceNeverTakesAClauseBack(t *testing.T) {
	shipped := english(t)
	rapid.Check(t, func(t *rapid.T) {
		l, a := ladders(shipped).Draw(t, "ladder"), anyAthlete(t)
		some := anyEvidence(t, l, "a", 25)
		more := append(slices.Clone(some), anyEvidence(t, l, "b", 25)...)
		before, after := l.Evaluate(a, some, today), l.Evaluate(a, more, today)
		for i := range before {
			for j, row := range before[i].Clauses {
				if row.State == Met && after[i].Clauses[j].State != Met {
					t.Fatalf("stage %d, clause %s was met and is %s", i+1, row.Clause, after[i].Clauses[j].State)
				}
			}
		}
	})
}

func TestOrderOfEvidenceDoesNotMatter(t *testing.T) {
	shipped := english(t)
	rapid.Check(t, func(t *rapid.T) {
		l, a := ladders(shipped).Draw(t, "ladder"), anyAthlete(t)
		list := anyEvidence(t, l, "a", 40)
		other := slices.Clone(list)
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		r.Shuffle(len(other), func(i, j int) { other[i], other[j] = other[j], other[i] })
		if x, y := l.Evaluate(a, list, today), l.Evaluate(a, other, today); !reflect.DeepEqual(x, y) {
			t.Fatalf("%+v\n%+v", x, y)
		}
	})
}

func TestTimeAloneOnlyExpires(t *testing.T) {
	shipped := english(t)
	rapid.Check(t, func(t *rapid.T) {
		l, a := ladders(shipped).Draw(t, "ladder"), anyAthlete(t)
		var list []Evidence
		for _, e := range anyEvidence(t, l, "a", 40) {
			if e.Day <= today {
				list = append(list, e)
			}
		}
		later := today + Day(rapid.IntRange(0, 400).Draw(t, "days later"))
		before, after := l.Evaluate(a, list, today), l.Evaluate(a, list, later)
		for i := range before {
			for j, row := range before[i].Clauses {
				if now := after[i].Clauses[j].State; row.State != NotYet && now == NotYet {
					t.Fatalf("stage %d, clause %s went from %s to not yet", i+1, row.Clause, row.State)
				}
			}
		}
	})
}

func TestOnePassSaysWhatEachGateSays(t *testing.T) {
	shipped := english(t)
	rapid.Check(t, func(t *rapid.T) {
		l := ladders(shipped).Draw(t, "ladder")
		cases := []Case{{"x", anyAthlete(t), anyEvidence(t, l, "x", 30)}, {"y", anyAthlete(t), anyEvidence(t, l, "y", 30)}}
		all := l.EvaluateAll(cases, today)
		for i, c := range cases {
			for j, s := range l.Stages {
				if alone := s.Gate.Evaluate(c.Athlete, c.Evidence, today); !reflect.DeepEqual(alone, all[i][j]) {
					t.Fatalf("athlete %s, stage %d: %+v alone, %+v in the class", c.ID, j+1, alone, all[i][j])
				}
			}
		}
	})
}

func TestWhatSpeaksForAClauseIsEnough(t *testing.T) {
	shipped := english(t)
	rapid.Check(t, func(t *rapid.T) {
		l, a := ladders(shipped).Draw(t, "ladder"), anyAthlete(t)
		list := anyEvidence(t, l, "a", 40)
		byID := map[string]Evidence{}
		for _, e := range list {
			byID[e.ID] = e
		}
		for i, v := range l.Evaluate(a, list, today) {
			for j, c := range l.Stages[i].Gate.Clauses {
				row, days := v.Clauses[j], map[Day]bool{}
				for _, id := range row.Results {
					e, ok := byID[id]
					if !ok || e.Day > today {
						t.Fatalf("clause %s speaks by %s", c.Key, id)
					}
					days[e.Day] = true
				}
				enough := len(row.Results) >= c.Results && len(days) >= c.Days
				if row.State != NotYet && !enough {
					t.Fatalf("clause %s is %s by %v", c.Key, row.State, row.Results)
				}
				if row.State == NotYet && enough && row.Missing.Code != MissingSight {
					t.Fatalf("clause %s is not yet met by %v", c.Key, row.Results)
				}
				if (row.Missing == Missing{}) != (row.State == Met) {
					t.Fatalf("clause %s is %s and lacks %+v", c.Key, row.State, row.Missing)
				}
			}
		}
	})
}

// countingDays returns the days of what counts now together with next.
func countingDays(c Clause, a Athlete, list []Evidence, next Evidence) map[Day]bool {
	c.Results, c.Days = 1, 1
	days := map[Day]bool{}
	for _, e := range list {
		replaced := slices.ContainsFunc(list, func(by Evidence) bool { return by.Replaces == e.ID && by.Day <= today })
		alike := (c.Step != One || e.Step == next.Step) && (c.Rope == Any || e.Rope == next.Rope)
		if v := (Gate{Clauses: []Clause{c}}).Evaluate(a, []Evidence{e}, today); alike && !replaced && v.Clauses[0].State == Met {
			days[e.Day] = true
		}
	}
	return days
}

// What a clause on rows of doubles says is missing meets it, and one less does not.
func TestWhatIsMissingIsJustEnough(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		results := rapid.IntRange(1, 4).Draw(t, "results")
		c := Clause{Key: "row", Measure: "doubles_in_a_row", Comparison: AtLeast, Threshold: Threshold{Value: 10},
			Step:        rapid.SampledFrom([]string{Any, One, "double"}).Draw(t, "step rule"),
			Rope:        rapid.SampledFrom([]string{Any, One, "beaded", ""}).Draw(t, "rope rule"),
			WithinWeeks: rapid.IntRange(0, 4).Draw(t, "weeks"),
			Results:     results, Days: rapid.IntRange(1, results).Draw(t, "days")}
		gate, a := Gate{Clauses: []Clause{c}}, Athlete{Age: 20}
		list := anyEvidence(t, Ladder{}, "a", 12)
		for i := range list {
			list[i].Protocol = DoublesRow
		}
		v := gate.Evaluate(a, list, today).Clauses[0]
		if v.State == Met {
			return
		}
		next := Evidence{Protocol: DoublesRow, Reps: 10, Step: "double", Rope: Beaded, Day: today}
		if v.Missing.Step != "" {
			next.Step = v.Missing.Step
		}
		if c.Rope != Any && v.Missing.Have > 0 {
			next.Rope = v.Missing.Rope
		}
		taken := countingDays(c, a, list, next)
		for i := range v.Missing.Results {
			if i < v.Missing.Days {
				for taken[next.Day] {
					next.Day--
				}
				taken[next.Day] = true
			}
			if state := gate.Evaluate(a, list, today).Clauses[0].State; state == Met {
				t.Fatalf("met after %d of %d", i, v.Missing.Results)
			}
			next.ID = fmt.Sprintf("new%d", i)
			list = append(list, next)
		}
		if state := gate.Evaluate(a, list, today).Clauses[0].State; state != Met {
			t.Fatalf("still %s after all that was missing: %+v", state, v.Missing)
		}
	})
}
