package ladder

import (
	"testing"
)

// Results on a beaded rope, daysAgo before today.

func run(id string, daysAgo Day, reps int) Evidence {
	return Evidence{ID: id, Protocol: CleanRun, Day: today - daysAgo, Reps: reps, Step: "bounce", Rope: Beaded}
}

func minute(id string, daysAgo Day, rpm float64, catches int, restart float64) Evidence {
	return Evidence{ID: id, Protocol: Base, Day: today - daysAgo, Seconds: 60, RPM: rpm, Catches: catches,
		RestartWithinSeconds: restart, Step: "bounce", Rope: Beaded}
}

func burst(id string, daysAgo Day, rpm float64) Evidence {
	return Evidence{ID: id, Protocol: Burst, Day: today - daysAgo, Seconds: 10, RPM: rpm, Step: "bounce", Rope: Beaded}
}

func split(id string, daysAgo Day, cycles int) Evidence {
	return Evidence{ID: id, Protocol: Split, Task: "split-10-10", Day: today - daysAgo, Reps: cycles, Step: "bounce", Rope: Beaded}
}

func tries(id string, daysAgo Day, task string, good, of int) Evidence {
	return Evidence{ID: id, Protocol: Tries, Task: task, Day: today - daysAgo, Successes: good, Tries: of, Step: "double", Rope: Cord}
}

func row(id string, daysAgo Day, doubles int) Evidence {
	return Evidence{ID: id, Protocol: DoublesRow, Day: today - daysAgo, Reps: doubles, Step: "double", Rope: Cord}
}

func judged(id string, daysAgo Day, task string, good bool) Evidence {
	return Evidence{ID: id, Protocol: Judged, Task: task, Day: today - daysAgo, Good: good}
}

// with changes e.
func with(e Evidence, change func(*Evidence)) Evidence { change(&e); return e }

func seen(e Evidence) Evidence           { return with(e, func(e *Evidence) { e.SeenByCoach = true }) }
func on(r RopeKind, e Evidence) Evidence { return with(e, func(e *Evidence) { e.Rope = r }) }

// The gates of the shipped ladder, clause by clause: state, results that speak,
// and the sentence that says what is missing.
func TestGates(t *testing.T) {
	type clause struct {
		state   State
		results string
		missing string
	}
	adult, child := Athlete{Age: 30}, Athlete{Age: 12, Minor: true}
	tests := []struct {
		name     string
		stage    string
		athlete  Athlete
		evidence []Evidence
		state    State
		clauses  []clause
	}{
		{"nobody looked", "turn-in-time", child, nil, NotYet, []clause{
			{NotYet, "", "The coach has not yet seen this: 20 even turns with each hand."}}},
		{"the coach saw it", "turn-in-time", child, []Evidence{judged("a", 3, "even-turns", true)}, Met, []clause{{Met, "a", ""}}},
		{"the coach said not yet", "turn-in-time", child, []Evidence{judged("a", 3, "even-turns", false)}, NotYet, []clause{
			{NotYet, "", "The coach looked and said not yet: 20 even turns with each hand."}}},
		{"not yet, then seen", "turn-in-time", child,
			[]Evidence{judged("b", 1, "even-turns", true), judged("a", 3, "even-turns", false)}, Met, []clause{{Met, "b", ""}}},
		{"seen, then taken back", "turn-in-time", child,
			[]Evidence{judged("a", 3, "even-turns", true), {ID: "b", Replaces: "a", Day: today}}, NotYet, []clause{
				{NotYet, "", "The coach has not yet seen this: 20 even turns with each hand."}}},

		{"no runs", "ten-then-thirty", child, nil, NotYet, []clause{
			{NotYet, "", "Two clean runs of 10 or more, on two different days."},
			{NotYet, "", "One clean run of 30 or more."}}},
		{"two runs on one day", "ten-then-thirty", child, []Evidence{run("a", 2, 12), run("b", 2, 10)}, NotYet, []clause{
			{NotYet, "a b", "One more clean run of 10 or more, on another day."},
			{NotYet, "", "One clean run of 30 or more."}}},
		{"one long run speaks for both", "ten-then-thirty", child, []Evidence{run("b", 0, 30), run("a", 9, 10)}, Met, []clause{
			{Met, "a b", ""}, {Met, "b", ""}}},
		{"nine is not ten", "ten-then-thirty", child, []Evidence{run("a", 2, 9), run("b", 1, 29)}, NotYet, []clause{
			{NotYet, "b", "One more clean run of 10 or more, on another day."},
			{NotYet, "", "One clean run of 30 or more."}}},
		{"two kinds of rope do not add up", "ten-then-thirty", child, []Evidence{run("a", 5, 12), on(Cord, run("b", 2, 31))}, NotYet, []clause{
			{NotYet, "b", "One more clean run of 10 or more, on another day. One good result is in another step or on another rope, so it does not count."},
			{Met, "b", ""}}},
		{"too old", "ten-then-thirty", child, []Evidence{run("a", 100, 12), run("b", 90, 31)}, Expired, []clause{
			{Expired, "a b", "Older results no longer count. Two clean runs of 10 or more, on two different days."},
			{Expired, "b", "Older results no longer count. One clean run of 30 or more."}}},
		{"too old on one rope, begun on another", "ten-then-thirty", child, []Evidence{on(Cord, run("a", 100, 12)), on(Cord, run("b", 90, 31)), run("c", 5, 12)}, Expired, []clause{
			{Expired, "a b", "Older results no longer count. One more clean run of 10 or more, on another day."},
			{Expired, "b", "Older results no longer count. One clean run of 30 or more."}}},
		{"one of two too old", "ten-then-thirty", child, []Evidence{run("a", 100, 12), run("b", 80, 31)}, Expired, []clause{
			{Expired, "a b", "Older results no longer count. One more clean run of 10 or more, on another day."},
			{Met, "b", ""}}},
		{"never both within twelve weeks", "ten-then-thirty", child, []Evidence{run("a", 200, 12), run("b", 100, 12)}, NotYet, []clause{
			{NotYet, "", "Two clean runs of 10 or more, on two different days."},
			{NotYet, "", "One clean run of 30 or more."}}},
		{"84 days are twelve weeks", "ten-then-thirty", child, []Evidence{run("a", 83, 12), run("b", 0, 31)}, Met, []clause{
			{Met, "a b", ""}, {Met, "b", ""}}},
		{"85 days are more", "ten-then-thirty", child, []Evidence{run("a", 84, 12), run("b", 0, 31)}, NotYet, []clause{
			{NotYet, "b", "One more clean run of 10 or more, on another day."}, {Met, "b", ""}}},
		{"two of one day, and one long before", "ten-then-thirty", child, []Evidence{run("a", 250, 12), run("b", 100, 12), run("c", 100, 12)}, NotYet, []clause{
			{NotYet, "", "Two clean runs of 10 or more, on two different days."},
			{NotYet, "", "One clean run of 30 or more."}}},
		{"tomorrow does not count", "ten-then-thirty", child, []Evidence{run("a", -1, 50)}, NotYet, []clause{
			{NotYet, "", "Two clean runs of 10 or more, on two different days."},
			{NotYet, "", "One clean run of 30 or more."}}},
		{"a corrected count", "ten-then-thirty", child,
			[]Evidence{run("a", 2, 30), run("b", 1, 31), with(run("c", 1, 13), func(e *Evidence) { e.Replaces = "b" }), with(run("d", 2, 10), func(e *Evidence) { e.Replaces = "a" })},
			NotYet, []clause{{Met, "d c", ""}, {NotYet, "", "One clean run of 30 or more."}}},

		{"two steady minutes", "steady-minute", child, []Evidence{minute("a", 9, 110, 2, 3), minute("b", 2, 112, 0, 0)}, Met, []clause{{Met, "a b", ""}}},
		{"a slow restart", "steady-minute", child, []Evidence{minute("a", 9, 110, 1, 3.5), minute("b", 2, 112, 0, 0)}, NotYet, []clause{
			{NotYet, "b", "One more 60 s test with at most 2 catches, each restarted within 3 s, on another day."}}},
		{"an untimed restart", "steady-minute", child, []Evidence{minute("a", 9, 110, 1, 0), minute("b", 2, 112, 0, 0)}, NotYet, []clause{
			{NotYet, "b", "One more 60 s test with at most 2 catches, each restarted within 3 s, on another day. " +
				"In one good result nobody timed the restarts, so it does not count."}}},
		{"three catches", "steady-minute", child, []Evidence{minute("a", 9, 110, 3, 1)}, NotYet, []clause{
			{NotYet, "", "Two 60 s tests with at most 2 catches, each restarted within 3 s, on two different days."}}},
		{"half a minute", "steady-minute", child,
			[]Evidence{with(minute("a", 9, 110, 0, 0), func(e *Evidence) { e.Seconds = 30 }), minute("b", 2, 112, 0, 0)}, NotYet, []clause{
				{NotYet, "b", "One more 60 s test with at most 2 catches, each restarted within 3 s, on another day."}}},
		{"bounces are no alternate steps", "alternate-step", child, []Evidence{minute("a", 9, 110, 0, 0), minute("b", 2, 112, 0, 0)}, NotYet, []clause{
			{NotYet, "", "Two 30 s tests in the alternate step with at most 2 catches, on two different days."}}},
		{"a minute shows half a minute", "alternate-step", child,
			[]Evidence{with(minute("a", 9, 110, 1, 0), func(e *Evidence) { e.Step = "alternate" }), with(minute("b", 2, 112, 2, 0), func(e *Evidence) { e.Step, e.Seconds = "alternate", 30 })},
			Met, []clause{{Met, "a b", ""}}},

		// base 125: 12 % are 15 rpm, more than 12
		{"percent is the larger", "changes-of-pace", adult,
			[]Evidence{minute("m", 9, 125, 0, 0), seen(burst("a", 9, 140)), burst("b", 2, 139), split("s", 2, 4)}, NotYet, []clause{
				{NotYet, "a", "One more burst test at 140 rpm or faster, on another day."}, {Met, "s", ""}, {Met, "a", ""}}},
		// base 90: 12 % are 10.8 rpm, less than 12
		{"rpm is the larger", "changes-of-pace", adult,
			[]Evidence{minute("m", 9, 90, 0, 0), burst("a", 9, 102), burst("b", 2, 101), split("s", 2, 4)}, NotYet, []clause{
				{NotYet, "a", "One more burst test at 102 rpm or faster, on another day."}, {Met, "s", ""},
				{NotYet, "", "A coach must see one of these results."}}},
		// base 126: 141.12, so 142 to the whole rpm
		{"the next whole rpm", "changes-of-pace", adult,
			[]Evidence{minute("m", 9, 126, 0, 0), burst("a", 9, 144)}, NotYet, []clause{
				{NotYet, "a", "One more burst test at 142 rpm or faster, on another day."},
				{NotYet, "", "One set of “split 10/10: ten steady jumps, ten fast ones” with 4 clean cycles or more."},
				{NotYet, "", "A coach must see one of these results."}}},
		{"a faster base later takes nothing back", "changes-of-pace", adult,
			[]Evidence{minute("m", 9, 125, 0, 0), burst("a", 9, 140), minute("n", 5, 150, 0, 0), seen(burst("b", 5, 144)), split("s", 2, 4)}, Met, []clause{
				{Met, "a b", ""}, {Met, "s", ""}, {Met, "b", ""}}},
		{"no base", "changes-of-pace", adult, []Evidence{burst("a", 9, 180)}, NotYet, []clause{
			{NotYet, "", "First a base test with the same step and rope. Two burst tests above base by 12 rpm or 12 %, whichever is more, on two different days."},
			{NotYet, "", "One set of “split 10/10: ten steady jumps, ten fast ones” with 4 clean cycles or more."},
			{NotYet, "", "A coach must see one of these results."}}},
		{"a broken base test is no base", "changes-of-pace", adult, []Evidence{minute("m", 9, 60, 3, 2), burst("a", 9, 180)}, NotYet, []clause{
			{NotYet, "", "First a base test with the same step and rope. Two burst tests above base by 12 rpm or 12 %, whichever is more, on two different days."},
			{NotYet, "", "One set of “split 10/10: ten steady jumps, ten fast ones” with 4 clean cycles or more."},
			{NotYet, "", "A coach must see one of these results."}}},
		{"base on another rope", "changes-of-pace", adult, []Evidence{on(Cord, minute("m", 9, 100, 0, 0)), burst("a", 9, 180)}, NotYet, []clause{
			{NotYet, "", "Two burst tests at 112 rpm or faster, on two different days."},
			{NotYet, "", "One set of “split 10/10: ten steady jumps, ten fast ones” with 4 clean cycles or more."},
			{NotYet, "", "A coach must see one of these results."}}},
		{"base after the burst", "changes-of-pace", adult, []Evidence{burst("a", 9, 180), minute("m", 2, 100, 0, 0)}, NotYet, []clause{
			{NotYet, "", "Two burst tests at 112 rpm or faster, on two different days."},
			{NotYet, "", "One set of “split 10/10: ten steady jumps, ten fast ones” with 4 clean cycles or more."},
			{NotYet, "", "A coach must see one of these results."}}},
		{"another split", "changes-of-pace", adult,
			[]Evidence{minute("m", 9, 100, 0, 0), burst("a", 9, 120), seen(burst("b", 2, 120)), with(split("s", 2, 9), func(e *Evidence) { e.Task = "split-20-10" })}, NotYet, []clause{
				{Met, "a b", ""}, {NotYet, "", "One set of “split 10/10: ten steady jumps, ten fast ones” with 4 clean cycles or more."}, {Met, "b", ""}}},
		{"a five-second burst", "changes-of-pace", adult,
			[]Evidence{minute("m", 9, 100, 0, 0), with(burst("a", 9, 180), func(e *Evidence) { e.Seconds = 5 })}, NotYet, []clause{
				{NotYet, "", "Two burst tests at 112 rpm or faster, on two different days."},
				{NotYet, "", "One set of “split 10/10: ten steady jumps, ten fast ones” with 4 clean cycles or more."},
				{NotYet, "", "A coach must see one of these results."}}},

		{"150 is long for a child", "long-clean-run", child, []Evidence{run("a", 9, 150), seen(run("b", 2, 100))}, Met, []clause{{Met, "a b", ""}, {Met, "b", ""}}},
		{"and not for an adult", "long-clean-run", adult, []Evidence{run("a", 9, 150), seen(run("b", 2, 199))}, NotYet, []clause{
			{NotYet, "", "Two clean runs of 200 or more, on two different days."}, {NotYet, "", "A coach must see one of these results."}}},
		{"nor at 16", "long-clean-run", Athlete{Age: 16}, []Evidence{run("a", 9, 150)}, NotYet, []clause{
			{NotYet, "", "Two clean runs of 200 or more, on two different days."}, {NotYet, "", "A coach must see one of these results."}}},
		{"seen by nobody", "long-clean-run", adult, []Evidence{run("a", 9, 250), run("b", 2, 250)}, NotYet, []clause{
			{Met, "a b", ""}, {NotYet, "", "A coach must see one of these results."}}},
		{"seen long ago", "long-clean-run", adult, []Evidence{seen(run("a", 100, 250)), run("b", 9, 250), run("c", 2, 250)}, Expired, []clause{
			{Met, "b c", ""}, {Expired, "", "Older results no longer count. A coach must see one of these results."}}},
		{"a minor alone", "long-clean-run", child,
			[]Evidence{with(run("a", 9, 150), func(e *Evidence) { e.Unattended = true }), seen(run("b", 2, 100))}, NotYet, []clause{
				{NotYet, "b", "One more clean run of 100 or more, on another day. One good result was made with no adult present and does not count."},
				{Met, "b", ""}}},
		{"an adult alone", "long-clean-run", adult,
			[]Evidence{with(run("a", 9, 250), func(e *Evidence) { e.Unattended = true }), seen(run("b", 2, 200))}, Met, []clause{{Met, "a b", ""}, {Met, "b", ""}}},

		{"a judgement is seen", "double-without-rope", adult, []Evidence{judged("a", 300, "dry-doubles", true)}, Met, []clause{{Met, "a", ""}, {Met, "a", ""}}},

		{"three of five, twice", "one-double-stop", adult,
			[]Evidence{tries("a", 9, "one-double-stop", 3, 5), seen(tries("b", 2, "one-double-stop", 5, 5))}, Met, []clause{{Met, "a b", ""}, {Met, "b", ""}}},
		{"three of four is no attempt", "one-double-stop", adult,
			[]Evidence{tries("a", 9, "one-double-stop", 3, 4), seen(tries("b", 2, "one-double-stop", 4, 8))}, NotYet, []clause{
				{NotYet, "", "Two attempts at “one double, then stop” with 3 good tries of 5, on two different days."},
				{NotYet, "", "A coach must see one of these results."}}},
		{"another task", "one-double-go-on", adult, []Evidence{tries("a", 9, "one-double-stop", 5, 5)}, NotYet, []clause{
			{NotYet, "", "Two attempts at “5 bounces, a double, 5 bounces” with 3 good tries of 5, on two different days."},
			{NotYet, "", "A coach must see one of these results."}}},

		{"a row of five speaks for three clauses", "two-three-five", adult,
			[]Evidence{row("a", 9, 5), row("b", 5, 3), seen(row("c", 2, 2))}, NotYet, []clause{
				{Met, "a b c", ""}, {Met, "a b", ""},
				{NotYet, "a", "One more row of 5 doubles or more, on another day."}, {Met, "c", ""}}},
		{"one of two judgements", "running-doubles-and-triple", adult, []Evidence{judged("a", 1, "running-doubles", true)}, NotYet, []clause{
			{Met, "a", ""}, {NotYet, "", "The coach has not yet seen this: one clean triple under."}, {Met, "a", ""}}},
	}
	w := words(t)
	for _, test := range tests {
		t.Run(test.stage+": "+test.name, func(t *testing.T) {
			gate := gateOf(t, test.stage)
			got := gate.Evaluate(test.athlete, test.evidence, today)
			if got.State != test.state {
				t.Errorf("state %q, want %q", got.State, test.state)
			}
			if len(got.Clauses) != len(test.clauses) {
				t.Fatalf("%d rows, want %d", len(got.Clauses), len(test.clauses))
			}
			for i, want := range test.clauses {
				row, c := got.Clauses[i], Clause{}
				if i < len(gate.Clauses) {
					c = gate.Clauses[i]
				} else if row.Clause != SeenClause {
					t.Errorf("the last row is %s", row.Clause)
				}
				if row.State != want.state || ids(row.Results) != want.results {
					t.Errorf("%s: %s by %q, want %s by %q", row.Clause, row.State, ids(row.Results), want.state, want.results)
				}
				if said := w.Missing(c, row); said != want.missing {
					t.Errorf("%s: says %q\nwant %q", row.Clause, said, want.missing)
				}
			}
		})
	}
}

func TestClauseRules(t *testing.T) {
	run := func(id string, daysAgo Day, kind RopeKind, step string) Evidence {
		return Evidence{ID: id, Protocol: CleanRun, Day: today - daysAgo, Reps: 20, Step: step, Rope: kind}
	}
	base := Clause{Key: "run", Measure: "clean_run", Comparison: AtLeast, Threshold: Threshold{Value: 10}, Results: 2, Days: 2}
	changed := func(change func(*Clause)) Clause { c := base; change(&c); return c }
	two := []Evidence{run("a", 3, Beaded, "bounce"), run("b", 1, Cord, "alternate")}
	tests := []struct {
		name     string
		clause   Clause
		athlete  Athlete
		evidence []Evidence
		state    State
		results  string
	}{
		{"any rope", changed(func(c *Clause) { c.Rope = Any }), Athlete{}, two, Met, "a b"},
		{"one rope is the rule if none is given", base, Athlete{}, two, NotYet, "b"},
		{"any rope, one step", changed(func(c *Clause) { c.Rope, c.Step = Any, One }), Athlete{}, two, NotYet, "b"},
		{"the rope in use", changed(func(c *Clause) { c.Rope = Own }), Athlete{Rope: Beaded}, append(two, run("c", 0, Beaded, "bounce")), Met, "a c"},
		{"not the rope in use", changed(func(c *Clause) { c.Rope = Own }), Athlete{Rope: Cloth}, two, NotYet, ""},
		{"rope in use unknown", changed(func(c *Clause) { c.Rope = Own }), Athlete{}, append(two, run("c", 0, Beaded, "bounce")), Met, "a c"},
		{"cord only", changed(func(c *Clause) { c.Rope = "cord" }), Athlete{}, append(two, run("c", 0, Beaded, "bounce")), NotYet, "b"},
		{"seen by a coach", changed(func(c *Clause) { c.Rope, c.SeenByCoach = Any, true }), Athlete{}, two, NotYet, "a b"},
		{"one of them seen", changed(func(c *Clause) { c.Rope, c.SeenByCoach = Any, true }), Athlete{}, []Evidence{seen(two[0]), two[1]}, Met, "a b"},
		{"three results on two days", changed(func(c *Clause) { c.Rope, c.Results = Any, 3 }), Athlete{},
			append(two, run("c", 1, Beaded, "bounce")), Met, "a b c"},
		{"an unknown measure", changed(func(c *Clause) { c.Measure = "height" }), Athlete{}, two, NotYet, ""},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got := Gate{Clauses: []Clause{test.clause}}.Evaluate(test.athlete, test.evidence, today).Clauses[0]
			if got.State != test.state || ids(got.Results) != test.results {
				t.Errorf("%s by %q, want %s by %q", got.State, ids(got.Results), test.state, test.results)
			}
		})
	}
}

func TestMissingSentences(t *testing.T) {
	c := Clause{Key: "run", Measure: "clean_run", Comparison: AtLeast, Threshold: Threshold{Value: 10}, Results: 4, Days: 3}
	tests := []struct {
		name     string
		clause   Clause
		evidence []Evidence
		want     string
	}{
		{"nothing", c, nil, "Four clean runs of 10 or more, on three different days."},
		{"one", c, []Evidence{run("a", 3, 10)}, "Three more clean runs of 10 or more, on at least two other days."},
		{"two days", c, []Evidence{run("a", 3, 10), run("b", 2, 10)}, "Two more clean runs of 10 or more, at least one on another day."},
		{"three on one day", c, []Evidence{run("a", 3, 10), run("b", 3, 10), run("c", 3, 10)}, "Two more clean runs of 10 or more, on two other days."},
		{"three days", c, []Evidence{run("a", 3, 10), run("b", 2, 10), run("c", 1, 10)}, "One more clean run of 10 or more."},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			v := Gate{Clauses: []Clause{test.clause}}.Evaluate(Athlete{}, test.evidence, today)
			if got := words(t).Missing(test.clause, v.Clauses[0]); got != test.want {
				t.Errorf("got  %q\nwant %q", got, test.want)
			}
		})
	}
}

func TestMissingValues(t *testing.T) {
	gate := gateOf(t, "ten-then-thirty")
	v := gate.Evaluate(Athlete{}, []Evidence{run("a", 0, 12), run("b", 0, 17), run("c", 4, 8)}, today)
	ten, ok := v.Clause("ten")
	if !ok {
		t.Fatal("no clause ten")
	}
	want := Missing{Code: MissingResults, Results: 1, Days: 1, Have: 2, Target: 10, NotToday: true, Rope: Beaded, Tried: 3, Best: 17}
	if ten.Missing != want {
		t.Errorf("ten lacks %+v\nwant %+v", ten.Missing, want)
	}
	thirty, _ := v.Clause("thirty")
	if thirty.Missing.Best != 17 || thirty.Missing.NotToday {
		t.Errorf("thirty lacks %+v", thirty.Missing)
	}
	if _, ok := v.Clause("forty"); ok {
		t.Error("there is a clause forty")
	}
	three := Clause{Key: "run", Measure: "clean_run", Comparison: AtLeast, Threshold: Threshold{Value: 10}, Results: 3, Days: 2}
	if lacks := (Gate{Clauses: []Clause{three}}).Evaluate(Athlete{}, []Evidence{run("a", 0, 12)}, today).Clauses[0].Missing; lacks.NotToday || lacks.Results != 2 || lacks.Days != 1 {
		t.Errorf("three on two days, one of them today: lacks %+v", lacks)
	}
	few := gateOf(t, "steady-minute").Evaluate(Athlete{}, []Evidence{minute("a", 1, 100, 5, 1), minute("b", 1, 100, 3, 1)}, today)
	if best := few.Clauses[0].Missing.Best; best != 3 {
		t.Errorf("the best of 5 and 3 catches is %v", best)
	}
}
