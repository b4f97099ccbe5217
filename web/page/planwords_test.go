package page

import (
	"strings"
	"testing"

	"ropewalk.example/internal/planner"
)

func TestEveryRuleHasWords(t *testing.T) {
	for _, row := range planner.RuleValues() {
		reason := planner.Reason{Rule: row.Rule}
		for i, name := range row.Values {
			reason.Values = append(reason.Values, planner.Value{Name: name, Number: 1000 + float64(i)})
		}
		words := ReasonWords(reason)
		if words == string(row.Rule) || !strings.HasSuffix(words, ".") {
			t.Errorf("rule %q has no sentence: %q", row.Rule, words)
		}
		if strings.Contains(words, " 0 ") || strings.Contains(words, "%!") {
			t.Errorf("rule %q words a value that it does not have: %q", row.Rule, words)
		}
	}
}
