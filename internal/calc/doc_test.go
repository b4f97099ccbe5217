package calc

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"ropewalk.example/internal/planner"
)

// Every calculation has its section in docs/calc.md with an example that prints
// what the page says it prints.
func TestExamplesOfThePage(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "docs", "calc.md"))
	if err != nil {
		t.Fatal(err)
	}
	page := string(text)
	for _, row := range rows() {
		t.Run(row.name, func(t *testing.T) {
			if !strings.Contains(page, "| ["+row.name+"](#"+row.name+") | "+row.answers+" |") {
				t.Errorf("the table of names does not say: %s", row.answers)
			}
			_, section, found := strings.Cut(page, "\n## "+row.name+"\n")
			if !found {
				t.Fatal("it has no section")
			}
			section, _, _ = strings.Cut(section, "\n## ")
			blocks := jsonBlocks(section)
			if len(blocks) != 2 {
				t.Fatalf("%d JSON blocks, want the input and the output", len(blocks))
			}
			var out bytes.Buffer
			if err := Run(row.name, strings.NewReader(blocks[0]), &out); err != nil {
				t.Fatal(err)
			}
			var got, want any
			if err := json.Unmarshal(out.Bytes(), &got); err != nil {
				t.Fatal(err)
			}
			if err := json.Unmarshal([]byte(blocks[1]), &want); err != nil {
				t.Fatal(err)
			}
			if !reflect.DeepEqual(got, want) {
				t.Errorf("prints %s", out.String())
			}
		})
	}
}

// jsonBlocks returns the fenced blocks of JSON in a section.
func jsonBlocks(section string) []string {
	var blocks []string
	for {
		_, rest, found := strings.Cut(section, "```json\n")
		if !found {
			return blocks
		}
		block, after, _ := strings.Cut(rest, "```")
		blocks, section = append(blocks, block), after
	}
}

// The page lists every rule that a plan can give, with its values.
func TestPageListsEveryRule(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "docs", "calc.md"))
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range planner.RuleValues() {
		line := "| `" + string(row.Rule) + "` | "
		if len(row.Values) > 0 {
			line += "`" + strings.Join(row.Values, "`, `") + "` "
		}
		if !strings.Contains(string(text), "\n"+line+"| ") {
			t.Errorf("no row begins %s", line)
		}
	}
	limits := []planner.Limit{planner.LimitReserve, planner.LimitCatches, planner.LimitTime, planner.LimitContacts,
		planner.LimitMinutes, planner.LimitCoach}
	for _, limit := range limits {
		if !strings.Contains(string(text), "\n| `"+string(limit)+"` | ") {
			t.Errorf("limit %s has no row", limit)
		}
	}
}
