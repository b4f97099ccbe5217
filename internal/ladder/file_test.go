package ladder

import (
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"pgregory.net/rapid"
)

// anyLadder draws a ladder that a file may hold.
func anyLadder(t *rapid.T) Ladder {
	l := Ladder{Key: "made-up", Name: "Made up", Version: rapid.IntRange(1, 9).Draw(t, "version"),
		Lang: rapid.SampledFrom([]string{"en", "pt-BR", "zh-Hant-TW"}).Draw(t, "lang")}
	for i := range rapid.IntRange(1, 4).Draw(t, "stages") {
		l.Stages = append(l.Stages, anyStage(t, "stage-"+string(rune('a'+i))))
	}
	return l.Numbered()
}

func anyText(most int) *rapid.Generator[string] {
	return rapid.StringOfN(rapid.RuneFrom([]rune("abcß 李نور’<&>\"\\\u2028")), 1, most, -1).
		Filter(func(s string) bool { return strings.TrimSpace(s) != "" })
}

func anyStage(t *rapid.T, key string) Stage {
	s := Stage{Key: key, Title: anyText(80).Draw(t, "title"), Purpose: anyText(400).Draw(t, "purpose"),
		Allows: Allows{Doubles: rapid.Bool().Draw(t, "doubles")},
		Gate:   Gate{SeenByCoach: rapid.Bool().Draw(t, "seen")}}
	if rapid.Bool().Draw(t, "with texts") {
		text := anyText(30)
		s.LookFor = rapid.SliceOfN(text, 1, 4).Draw(t, "look for")
		s.Faults = []Fault{{text.Draw(t, "fault"), text.Draw(t, "cue")}}
		s.Checks = []Check{{rapid.SampledFrom(Points()).Draw(t, "point"), text.Draw(t, "check")}}
		s.AlsoMeasure = []Protocol{rapid.SampledFrom(Protocols()).Draw(t, "also")}
		s.Drill = Drill{Text: text.Draw(t, "drill"), Cycles: rapid.IntRange(0, 5).Draw(t, "cycles"), Sets: 3, RestSeconds: 30}
		s.Drill.Blocks = []Block{{Reps: 5, At: rapid.SampledFrom([]Pace{Free, BasePace, TargetPace, DoublePace}).Draw(t, "pace")}, {Seconds: 9, At: BurstPace, Percent: 95}}
	}
	for i := range rapid.IntRange(1, 3).Draw(t, "clauses") {
		s.Gate.Clauses = append(s.Gate.Clauses, anyClause(t, "clause-"+string(rune('a'+i))))
	}
	return s
}

func anyClause(t *rapid.T, key string) Clause {
	m := rapid.SampledFrom(Measures()).Draw(t, "measure")
	c := Clause{Key: key, Measure: m.Key, Results: rapid.IntRange(1, 4).Draw(t, "results"),
		WithinWeeks: rapid.IntRange(0, 12).Draw(t, "weeks"), SeenByCoach: rapid.Bool().Draw(t, "clause seen")}
	c.Days = rapid.IntRange(1, c.Results).Draw(t, "days")
	if m.Task {
		c.Task, c.TaskText = "task-"+key, "a task"
	}
	if m.quantity == byJudgement {
		return c
	}
	c.Comparison = rapid.SampledFrom(m.Comparisons).Draw(t, "comparison")
	c.Step = rapid.SampledFrom(append([]string{"", Any, One}, Steps()...)).Draw(t, "step rule")
	c.Rope = rapid.SampledFrom(append([]string{"", Any, One, Own}, keys(RopeKinds())...)).Draw(t, "rope rule")
	c.Seconds = rapid.SampledFrom([]int{0, 10, 60}).Draw(t, "window")
	most := int(m.Most)
	switch m.quantity {
	case bySuccesses:
		c.Of = rapid.IntRange(1, 5).Draw(t, "of")
		most = c.Of
	case byCatches:
		c.RestartWithinSeconds = float64(rapid.SampledFrom([]int{0, 3}).Draw(t, "restart limit"))
	case byReps:
		c.Each = Portion{Steady: rapid.IntRange(0, 10).Draw(t, "steady")}
	}
	if m.Protocol == Burst && rapid.Bool().Draw(t, "above base") {
		c.Threshold.AboveBase = AboveBase{RPM: 12, Percent: 12, WithinWeeks: rapid.IntRange(1, 6).Draw(t, "base weeks")}
		return c
	}
	value := rapid.IntRange(int(m.Least), min(most, 220))
	c.Threshold.Value = float64(value.Draw(t, "threshold"))
	if rapid.Bool().Draw(t, "for the young") {
		c.Threshold.Under = []Variant{{12, float64(value.Draw(t, "under 12"))}, {16, float64(value.Draw(t, "under 16"))}}
	}
	return c
}

// schema returns the published schema.
func schema(t testing.TB) *jsonschema.Schema {
	t.Helper()
	s, err := jsonschema.NewCompiler().Compile("../../docs/ladder.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// accepts reports whether the published schema accepts a file.
func accepts(s *jsonschema.Schema, data []byte) bool {
	value, err := jsonschema.UnmarshalJSON(strings.NewReader(string(data)))
	return err == nil && s.Validate(value) == nil
}

func TestLaddersSurviveTheirFile(t *testing.T) {
	published := schema(t)
	rapid.Check(t, func(t *rapid.T) {
		l := anyLadder(t)
		data, err := l.Encode()
		if err != nil {
			t.Fatal(err)
		}
		again, err := Parse(data)
		if err != nil {
			t.Fatalf("%v\n%s", err, data)
		}
		if !reflect.DeepEqual(l, again) {
			t.Fatalf("%+v\n%+v", l, again)
		}
		if !accepts(published, data) {
			t.Fatalf("the schema does not accept\n%s", data)
		}
	})
}

func TestShippedLaddersFollowTheSchema(t *testing.T) {
	files, err := filepath.Glob("shipped/*.json")
	if err != nil || len(files) != len(Languages()) {
		t.Fatalf("%d files, %d languages, %v", len(files), len(Languages()), err)
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if !accepts(schema(t), data) {
			t.Errorf("the schema does not accept %s", file)
		}
	}
}

// small is a ladder file with one of everything that problems are about.
const small = `{
  "key": "small",
  "name": "Small",
  "version": 1,
  "lang": "en",
  "stages": [
    {
      "key": "one",
      "title": "One",
      "purpose": "To begin.",
      "faults": [{"fault": "Slow.", "cue": "Quick."}],
      "drill": {"text": "Jump.", "blocks": [{"reps": 5, "at": "base"}], "sets": 3, "rest_seconds": 30},
      "checks": [{"point": "eyes", "text": "Ahead."}],
      "allows": {"doubles": true},
      "also_measure": ["flight"],
      "gate": {
        "clauses": [
          {"key": "run", "measure": "clean_run", "comparison": "at_least", "threshold": {"value": 20}, "results": 2, "days": 2},
          {"key": "calm", "measure": "base_catches", "comparison": "at_most", "threshold": {"value": 2}, "restart_within_seconds": 3},
          {"key": "fast", "measure": "burst_rate", "comparison": "at_least", "threshold": {"above_base": {"rpm": 12, "percent": 12, "within_weeks": 3}}},
          {"key": "good", "measure": "good_tries", "task": "hop", "task_text": "a hop", "comparison": "at_least", "threshold": {"value": 3}, "of": 5},
          {"key": "look", "measure": "coach_judges", "task": "form", "task_text": "good form"}
        ]
      }
    }
  ]
}
`

// A broken file names the line and the problem. broken says whether the published
// schema finds the problem too; some rules it cannot put.
func TestProblemsOfFiles(t *testing.T) {
	tests := []struct {
		name     string
		old, new string // replaced in small; old "" replaces all
		line     int
		text     string
		broken   bool
	}{
		{"empty", "", "", 1, "The file is empty. Choose a ladder file.", true},
		{"no JSON", "", "Dear coach,", 1, `The file cannot be read on from 'D' here. Look for a missing comma, quote or bracket.`, true},
		{"cut off", "\n    }\n  ]\n}\n", "\n", 24, "The file ends too early. A bracket or a quote is still open.", true},
		{"no comma", `"name": "Small",`, `"name": "Small"`, 4, `The file cannot be read on from '"' here. Look for a missing comma, quote or bracket.`, true},
		{"another thing", "", "[1, 2]", 1, "Here must be a ladder, in curly brackets.", true},
		{"Latin letters", "Small", "Sm\xe5ll", 3, "These letters are not UTF-8. Save the file as UTF-8 text.", false},
		{"very deep", `"version": 1`, `"version": ` + strings.Repeat("[", 20) + strings.Repeat("]", 20), 4, "Brackets are nested too deep here. A ladder file needs far fewer.", true},
		{"very large", "", `"` + strings.Repeat("a", maxFileBytes) + `"`, 1, "The file is larger than 1 MB. A ladder file is much smaller.", true},
		{"no name", `  "name": "Small",` + "\n", "", 1, `A ladder needs "name". Add it.`, true},
		{"a part unknown", `"title": "One"`, `"titel": "One", "title": "One"`, 9, `A stage has no part called "titel". Check the spelling or take it out.`, true},
		{"given twice", `"title": "One"`, `"title": "One", "title": "Two"`, 9, `"title" is given twice. Keep one of them.`, false},
		{"a number for a text", `"name": "Small"`, `"name": 7`, 3, `"name" must be text in quotes.`, true},
		{"an empty text", `"name": "Small"`, `"name": " "`, 3, `"name" is empty. Write it, or take it out.`, true},
		{"a long text", `"name": "Small"`, `"name": "` + strings.Repeat("å", 81) + `"`, 3, `"name" is too long. Use at most 80 letters.`, true},
		{"two lines", `"name": "Small"`, `"name": "Small\nlines"`, 3, `"name" must be one line, without tabs or line breaks.`, true},
		{"a key with a space", `"key": "one"`, `"key": "stage one"`, 8, `"key" must be small letters a to z, digits and single hyphens, like "steady-minute".`, true},
		{"an odd language", `"lang": "en"`, `"lang": "English!"`, 5, `"lang" must be the short name of a language, like "en" or "pt-BR".`, true},
		{"version 0", `"version": 1`, `"version": 0`, 4, `"version" must be a whole number from 1 to 1000000.`, true},
		{"no stages", small[strings.Index(small, "\n    {\n"):strings.LastIndex(small, "\n  ]")], "", 6, `"stages" is empty. Add at least one.`, true},
		{"a fault without a cue", `, "cue": "Quick."`, ``, 11, `A fault needs "cue". Add it.`, true},
		{"faults in no list", `[{"fault": "Slow.", "cue": "Quick."}]`, `{"fault": "Slow."}`, 11, `"faults" must be a list in square brackets.`, true},
		{"reps and seconds", `"reps": 5`, `"reps": 5, "seconds": 5`, 12, `A block needs either "reps" or "seconds", not both.`, true},
		{"neither", `"reps": 5, `, ``, 12, `A block needs either "reps" or "seconds", not both.`, true},
		{"flat out", `"at": "base"`, `"at": "burst"`, 12, `A block at burst rate must have a "percent" of 95 or less.`, true},
		{"half a rep", `"reps": 5`, `"reps": 5.5`, 12, `"reps" must be a whole number from 1 to 500.`, true},
		{"an unknown pace", `"at": "base"`, `"at": "warp"`, 12, `"at" must be one of: free, base, target, burst, double.`, true},
		{"an unknown point", `"point": "eyes"`, `"point": "nose"`, 13, `"point" must be one of: posture, landing, hands, breathing, eyes.`, true},
		{"yes for true", `"doubles": true`, `"doubles": "yes"`, 14, `"doubles" must be true or false, without quotes.`, true},
		{"an unknown protocol", `"flight"`, `"flights"`, 15, `This is no way of measuring that is known. Check the spelling.`, true},
		{"more days than results", `"days": 2`, `"days": 3`, 18, `3 days need at least 3 results. Raise "results" or lower "days".`, false},
		{"no results asked", `"results": 2`, `"results": 0`, 18, `"results" must be a whole number from 1 to 20.`, true},
		{"above the common bar", `{"value": 20}`, `{"value": 501}`, 18, `"value" must be a whole number from 1 to 500.`, true},
		{"half a rep to reach", `{"value": 20}`, `{"value": 20.5}`, 18, `"value" must be a whole number from 1 to 500.`, true},
		{"no threshold", ` "threshold": {"value": 20},`, ``, 18, `A clause needs "threshold". Add it.`, true},
		{"an empty threshold", `{"value": 20}`, `{}`, 18, `A threshold needs "value". Add it.`, true},
		{"at most for a run", `"at_least", "threshold": {"value": 20}`, `"at_most", "threshold": {"value": 20}`, 18, `"comparison" must be one of: at_least.`, true},
		{"restarts in a run", `"results": 2`, `"results": 2, "restart_within_seconds": 3`, 18, `"restart_within_seconds" has no meaning where no catches are counted. Take it out.`, true},
		{"ages out of order", `{"value": 20}`, `{"value": 20, "under": [{"age": 16, "value": 5}, {"age": 12, "value": 5}]}`, 18, "Put the ages in order, the youngest first, each once.", false},
		{"a run above base", `{"value": 20}`, `{"above_base": {"rpm": 12, "within_weeks": 3}}`, 18, "Only a burst rate can be held against the base rate.", true},
		{"21 catches", `{"value": 2}`, `{"value": 21}`, 19, `"value" must be a whole number from 0 to 20.`, true},
		{"both thresholds", `{"above_base":`, `{"value": 150, "above_base":`, 20, `"value" has no meaning beside a threshold above base. Take it out.`, true},
		{"nothing above base", `"rpm": 12, "percent": 12`, `"rpm": 0`, 20, `A threshold above base needs "rpm", "percent" or both above 0.`, true},
		{"base tests of any age", `, "within_weeks": 3}`, `}`, 20, `A threshold above base needs "within_weeks". Add it.`, true},
		{"an unknown measure", `"burst_rate"`, `"burst_rates"`, 20, `"measure" must be one of: base_catches, base_rate, burst_rate, all_out_rate, clean_run, doubles_in_a_row, split_cycles, pattern_rounds, good_tries, coach_judges.`, true},
		{"six of five", `{"value": 3}`, `{"value": 6}`, 21, `"value" must be a whole number from 1 to 5.`, false},
		{"good tries of how many", `, "of": 5`, ``, 21, `"of" belongs to good tries, and only there: how many tries one attempt has.`, true},
		{"tries at what", ` "task_text": "a hop",`, ``, 21, `This clause needs "task" and "task_text": at what?`, true},
		{"a number for a judge", `"task_text": "good form"`, `"task_text": "good form", "threshold": {"value": 3}`, 22, `"threshold" has no meaning where the coach judges. Take it out.`, true},
		{"a key taken", `"key": "look"`, `"key": "good"`, 22, `The key "good" is taken in this gate. Give this clause another.`, false},
		{"a key of our own", `"key": "look"`, `"key": "seen-by-coach"`, 22, `The key "seen-by-coach" is taken in this gate. Give this clause another.`, true},
	}
	published := schema(t)
	if _, err := Parse([]byte("\ufeff" + small)); err != nil {
		t.Fatalf("the sound file: %v", err)
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			data := []byte(strings.Replace(small, test.old, test.new, 1))
			if test.old == "" {
				data = []byte(test.new)
			} else if !strings.Contains(small, test.old) {
				t.Fatalf("%q is not in the file", test.old)
			}
			l, err := Parse(data)
			var problems *FileError
			if !errors.As(err, &problems) {
				t.Fatalf("error %v", err)
			}
			if !reflect.DeepEqual(l, Ladder{}) {
				t.Error("a broken file gave a ladder")
			}
			if first := problems.Problems[0]; first.Line != test.line || first.Text != test.text {
				t.Errorf("line %d: %s\nwant line %d: %s", first.Line, first.Text, test.line, test.text)
			}
			plainText(t, problems.Problems[0].Text, 20)
			if accepts(published, data) == test.broken {
				t.Errorf("the schema accepts it: %v", !test.broken)
			}
		})
	}
}

func TestEveryProblemIsTold(t *testing.T) {
	data := strings.NewReplacer(`"version": 1`, `"version": "one"`, `"fault": "Slow."`, `"fault": ""`, `"days": 2`, `"days": 9`).Replace(small)
	_, err := Parse([]byte(data))
	var problems *FileError
	if !errors.As(err, &problems) || len(problems.Problems) != 3 {
		t.Fatalf("error %#v", err)
	}
	for i, path := range []string{"/version", "/stages/0/faults/0/fault", "/stages/0/gate/clauses/0"} {
		if got := problems.Problems[i].Path; got != path {
			t.Errorf("problem %d is at %s, want %s", i+1, got, path)
		}
	}
	if want := `line 4: "version" must be a whole number from 1 to 1000000.`; err.Error() != want {
		t.Errorf("error %q, want %q", err, want)
	}
}

func TestCheckFindsTheProblemOfAnEditedLadder(t *testing.T) {
	l, err := Parse([]byte(small))
	if err != nil {
		t.Fatal(err)
	}
	l.Stages[0].Gate.Clauses[0].Days = 5
	var problems *FileError
	if err := l.Check(); !errors.As(err, &problems) || problems.Problems[0].Path != "/stages/0/gate/clauses/0" {
		t.Errorf("error %v", err)
	}
}

func FuzzParse(f *testing.F) {
	f.Add([]byte(small))
	f.Add([]byte(`{"key": "a", "name": "b", "version": 1, "lang": "en", "stages": []}`))
	f.Add([]byte(`{"stages": [{"gate": {"clauses": [{"threshold": {"under": [{}]}, "each": 1}]}}]}`))
	f.Add([]byte("[[[[[[[[[[[[[[[[\n"))
	f.Add([]byte("{\"a\": \"\\ud800\"}\n\xff"))
	published := schema(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		l, err := Parse(data)
		if err == nil {
			again, err := l.Encode()
			if err != nil {
				t.Fatal(err)
			}
			second, err := Parse(again)
			if err != nil || !reflect.DeepEqual(l, second) {
				t.Fatalf("read back: %v", err)
			}
			if !accepts(published, again) {
				t.Fatal("the schema does not accept it")
			}
			return
		}
		var problems *FileError
		if !errors.As(err, &problems) || len(problems.Problems) == 0 || len(problems.Problems) > maxProblems {
			t.Fatalf("error %#v", err)
		}
		for _, p := range problems.Problems {
			if p.Line < 1 || p.Line > 1+strings.Count(string(data), "\n") || p.Text == "" {
				t.Fatalf("problem %+v", p)
			}
		}
	})
}
