package calc

import (
	"bytes"
	"encoding/json"
	"errors"
	"strings"
	"testing"
)

func FuzzRate(f *testing.F)     { fuzz(f, "rate") }
func FuzzTaps(f *testing.F)     { fuzz(f, "taps") }
func FuzzJudges(f *testing.F)   { fuzz(f, "judges") }
func FuzzCapacity(f *testing.F) { fuzz(f, "capacity") }
func FuzzBalance(f *testing.F)  { fuzz(f, "balance") }
func FuzzRuns(f *testing.F)     { fuzz(f, "runs") }
func FuzzAttempts(f *testing.F) { fuzz(f, "attempts") }
func FuzzDouble(f *testing.F)   { fuzz(f, "double") }
func FuzzJump(f *testing.F)     { fuzz(f, "jump") }
func FuzzChange(f *testing.F)   { fuzz(f, "change") }
func FuzzTrend(f *testing.F)    { fuzz(f, "trend") }
func FuzzLoad(f *testing.F)     { fuzz(f, "load") }
func FuzzLine(f *testing.F)     { fuzz(f, "line") }
func FuzzGroups(f *testing.F)   { fuzz(f, "groups") }
func FuzzPlan(f *testing.F)     { fuzz(f, "plan") }
func FuzzSummary(f *testing.F)  { fuzz(f, "summary") }

// fuzz checks that anything at all gives an answer or a refusal by the
// contract, and the same one twice.
func fuzz(f *testing.F, name string) {
	f.Helper()
	for _, c := range casesOf(f, name) {
		f.Add(c.input())
	}
	f.Fuzz(func(t *testing.T, text string) {
		var out, again bytes.Buffer
		err := Run(name, strings.NewReader(text), &out)
		e, ok := errors.AsType[*Error](err)
		switch {
		case err == nil && !json.Valid(out.Bytes()):
			t.Fatalf("wrote %q", out.String())
		case err != nil && (!ok || e.Exit != ExitInput && e.Exit != ExitEvidence):
			t.Fatalf("neither answered nor refused: %v", err)
		case err != nil && (out.Len() > 0 || e.Field == "" || strings.Contains(e.Error(), "\n")):
			t.Fatalf("refused with %q, having written %q", e.Error(), out.String())
		}
		if second := Run(name, strings.NewReader(text), &again); (err == nil) != (second == nil) || out.String() != again.String() {
			t.Fatalf("%q, then %q", out.String(), again.String())
		}
	})
}
