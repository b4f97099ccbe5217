package planner

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"testing"
)

var update = flag.Bool("update", false, "write the solved plans anew")

// Any past plan is explained by solving its stored input again. Numbers are
// compared to nine digits, as processors differ in the last ones.
func TestStoredInputGivesTheStoredPlan(t *testing.T) {
	folder := filepath.Join("..", "..", "testdata", "plan")
	files, err := filepath.Glob(filepath.Join(folder, "*.json"))
	if err != nil || len(files) < 7 {
		t.Fatalf("%d input files: %v", len(files), err)
	}
	for _, file := range files {
		name := filepath.Base(file)
		t.Run(name, func(t *testing.T) {
			var in Input
			read(t, file, &in)
			got, err := json.MarshalIndent(solved(t, in), "", "  ")
			if err != nil {
				t.Fatal(err)
			}
			solvedFile := filepath.Join(folder, "solved", name)
			if *update {
				if err := os.WriteFile(solvedFile, append(got, '\n'), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			var again, want any
			read(t, solvedFile, &want)
			if err := json.Unmarshal(got, &again); err != nil {
				t.Fatal(err)
			}
			if !sameValues(again, want) {
				t.Errorf("another plan than stored:\n%s", got)
			}
		})
	}
}

func read(t *testing.T, file string, v any) {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(v); err != nil {
		t.Fatalf("%s: %v", file, err)
	}
}

// sameValues reports whether two decoded JSON values are the same, numbers to
// nine digits.
func sameValues(a, b any) bool {
	switch a := a.(type) {
	case float64:
		b, ok := b.(float64)
		return ok && near(a, b)
	case []any:
		b, ok := b.([]any)
		return ok && slices.EqualFunc(a, b, sameValues)
	case map[string]any:
		b, ok := b.(map[string]any)
		if !ok || len(a) != len(b) {
			return false
		}
		for key, value := range a {
			if other, ok := b[key]; !ok || !sameValues(value, other) {
				return false
			}
		}
		return true
	}
	return reflect.DeepEqual(a, b)
}
