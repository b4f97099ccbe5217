package config

import (
	"os"
	"strings"
	"testing"
)

// Whoever runs a server finds every setting in one table, and none that is not.
func TestEverySettingIsInTheOperatorsTable(t *testing.T) {
	text, err := os.ReadFile("../../docs/operator.md")
	if err != nil {
		t.Fatal(err)
	}
	_, rest, found := strings.Cut(string(text), "| setting | means | default |\n| --- | --- | --- |\n")
	table, _, ends := strings.Cut(rest, "\n\n")
	if !found || !ends {
		t.Fatal("docs/operator.md has no table of settings")
	}
	in := map[string]bool{}
	for line := range strings.Lines(table + "\n") {
		cells := strings.Split(line, " | ")
		name := strings.Trim(cells[0], "| `")
		if len(cells) != 3 || strings.TrimSpace(cells[1]) == "" || strings.Trim(cells[2], " |\n") == "" {
			t.Errorf("the line of %s needs what it means and its default: %s", name, line)
		}
		in[name] = true
	}
	for _, name := range variables() {
		if !in[name] {
			t.Errorf("%s is not in the table of docs/operator.md", name)
		}
		delete(in, name)
	}
	for name := range in {
		t.Errorf("docs/operator.md has %s, which is no setting", name)
	}
}
