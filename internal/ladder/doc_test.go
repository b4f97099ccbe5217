package ladder

import (
	"encoding/json"
	"os"
	"regexp"
	"strings"
	"testing"
)

// wrappings put a part of a ladder, known by a key that only it has, into the
// smallest whole one.
var wrappings = []struct{ has, before, after string }{
	{"stages", "", ""},
	{"purpose", `{"key": "x", "name": "x", "version": 1, "lang": "en", "stages": [`, `]}`},
	{"clauses", `{"key": "x", "title": "x", "purpose": "x", "gate": `, `}`},
	{"measure", `{"clauses": [`, `]}`},
	{"blocks", `{"key": "x", "title": "x", "purpose": "x", "gate": {"clauses": [{"key": "x", "measure": "coach_judges", "task": "x", "task_text": "x"}]}, "drill": `, `}`},
}

// whole wraps a part until it is a whole ladder.
func whole(t *testing.T, part string) string {
	t.Helper()
	for range wrappings {
		var keys map[string]any
		if err := json.Unmarshal([]byte(part), &keys); err != nil {
			t.Fatalf("%v in\n%s", err, part)
		}
		for _, w := range wrappings {
			if keys[w.has] != nil && w.before == "" {
				return part
			}
			if keys[w.has] != nil {
				part = w.before + part + w.after
				break
			}
		}
	}
	t.Fatalf("this is no part of a ladder: %s", part)
	return ""
}

// Every example of the page on ladders can be brought in, and the published schema
// accepts it.
func TestExamplesOfThePageOnLadders(t *testing.T) {
	page, err := os.ReadFile("../../docs/ladder.md")
	if err != nil {
		t.Fatal(err)
	}
	published := schema(t)
	examples := regexp.MustCompile("(?s)```json\n(.*?)```").FindAllStringSubmatch(string(page), -1)
	if len(examples) < 4 {
		t.Fatalf("%d examples", len(examples))
	}
	for _, example := range examples {
		data := []byte(whole(t, example[1]))
		if _, err := Parse(data); err != nil {
			t.Errorf("%v in\n%s", err, example[1])
		}
		if !accepts(published, data) {
			t.Errorf("the schema does not accept\n%s", example[1])
		}
	}
	// What the page says of the first one with more days than results.
	_, err = Parse([]byte(strings.Replace(examples[0][1], `"days": 2`, `"days": 3`, 1)))
	if err == nil || !strings.Contains(string(page), "\n    "+err.Error()+"\n") {
		t.Errorf("the page does not quote %v", err)
	}
}

// The page says of every part of a clause what it means, and of every measure.
func TestThePageOnLaddersNamesEveryPart(t *testing.T) {
	page, err := os.ReadFile("../../docs/ladder.md")
	if err != nil {
		t.Fatal(err)
	}
	file, err := os.ReadFile("../../docs/ladder.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	var schema struct {
		Defs map[string]struct{ Properties map[string]any } `json:"$defs"`
	}
	if err := json.Unmarshal(file, &schema); err != nil {
		t.Fatal(err)
	}
	parts := schema.Defs["clause"].Properties
	if len(parts) < 10 {
		t.Fatalf("the schema of a clause has %d parts", len(parts))
	}
	for part := range parts {
		if part != "key" && !strings.Contains(string(page), "`"+part+"`") {
			t.Errorf("the page does not say what %s is", part)
		}
	}
	for _, m := range Measures() {
		if !strings.Contains(string(page), "`"+m.Key+"`") {
			t.Errorf("the page does not name the measure %s", m.Key)
		}
	}
}
