package reporting

import (
	"encoding/json"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestCells(t *testing.T) {
	for value, want := range map[string]string{
		``: "", `null`: "", `12`: "12", `-12.5`: "-12.5", `true`: "true", `"Amara"`: "Amara", `"-2 steps"`: "'-2 steps", `"=1+1"`: "'=1+1",
		`"＝1+1"`: "'＝1+1", `"\t=1"`: "'\t=1", `{"a": 1}`: `{"a": 1}`, `["=1"]`: `["=1"]`,
	} {
		if got, err := cellOf(json.RawMessage(value)); err != nil || got != want {
			t.Errorf("%s became %q (%v), want %q", value, got, err, want)
		}
	}
}

// Whatever people write, no cell begins like a formula, and nothing but the
// apostrophe is added.
func TestNoCellIsAFormula(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.String().Draw(t, "text")
		value, err := json.Marshal(text)
		if err != nil {
			t.Fatal(err)
		}
		cell, err := cellOf(value)
		if err != nil {
			t.Fatal(err)
		}
		if cell != "" && strings.ContainsRune("=+-@\t\r\n＝＋－＠", []rune(cell)[0]) {
			t.Fatalf("%q is taken for a formula", cell)
		}
		if cell != text && cell != "'"+text {
			t.Fatalf("%q became %q", text, cell)
		}
	})
}

func TestFileNames(t *testing.T) {
	for name, want := range map[string]string{
		"Hall - Autumn":       "Hall - Autumn",
		`a/b\c:d*e?f"g<h>i|j`: "abcdefghij",
		"../../etc/passwd":    "etcpasswd",
		"نور\u202e.exe":       "نور.exe",
		"a\r\nb\x00":          "ab",
	} {
		if got := safeName(name); got != want {
			t.Errorf("%q is saved as %q, want %q", name, got, want)
		}
	}
	if n := len([]rune(safeName(strings.Repeat("長", 500)))); n > 120 {
		t.Errorf("a name of %d letters", n)
	}
}
