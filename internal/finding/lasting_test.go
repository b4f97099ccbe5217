package finding_test

import (
	"math"
	"testing"

	"ropewalk.example/internal/capacity"
	"ropewalk.example/internal/finding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/rate"
)

func lastingOf(results ...gym.Result) finding.Lasting {
	return finding.LastingOf(results, level.Of(results, today), today)
}

func TestLasting(t *testing.T) {
	base := timed(rate.Base, 3, 120, 60, 0)
	tests := []struct {
		name    string
		results []gym.Result
		known   bool
		bounded bool
		refused string
		rpm     float64 // what plans take as sustainable
		assumed bool
	}{
		{"no all-out test: the base rate stands in", []gym.Result{base}, false, false, "", 120, true},
		// By hand: N = R + S·t through (30, 80) and (180, 380): S = 2/s = 120 rpm, R = 20.
		{"two lengths", []gym.Result{base, timed(rate.AllOut, 2, 80, 30, 0), timed(rate.AllOut, 2, 380, 180, 0)}, true, false, "", 120, false},
		// By hand: slope 25170/12600 a second.
		{"three lengths carry an interval", []gym.Result{base, timed(rate.AllOut, 2, 80, 30, 0), timed(rate.AllOut, 2, 141, 60, 0), timed(rate.AllOut, 2, 380, 180, 0)}, true, true, "", 119.86, false},
		{"one length", []gym.Result{base, timed(rate.AllOut, 2, 80, 30, 0)}, false, false, capacity.TooFew, 120, true},
		{"too alike", []gym.Result{base, timed(rate.AllOut, 2, 80, 30, 0), timed(rate.AllOut, 2, 150, 60, 0)}, false, false, capacity.TooNarrow, 120, true},
		{"the longer one is faster", []gym.Result{base, timed(rate.AllOut, 2, 70, 30, 0), timed(rate.AllOut, 2, 480, 180, 0)}, false, false, capacity.Disagree, 120, true},
		{"too old", []gym.Result{base, timed(rate.AllOut, 90, 80, 30, 0), timed(rate.AllOut, 90, 380, 180, 0)}, false, false, "", 120, true},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got := lastingOf(test.results...)
			if got.Known != test.known || got.Bounded != test.bounded {
				t.Errorf("known %v, bounded %v; want %v, %v", got.Known, got.Bounded, test.known, test.bounded)
			}
			refused := ""
			if got.Refused != nil {
				refused = got.Refused.Reason
			}
			if refused != test.refused {
				t.Errorf("refused %q, want %q", refused, test.refused)
			}
			if math.Abs(got.Model.SustainableRPM-test.rpm) > 0.1 {
				t.Errorf("plans rest on %.2f rpm, want %.1f", got.Model.SustainableRPM, test.rpm)
			}
			if assumed := len(got.Model.Assumed) > 1; assumed != test.assumed {
				t.Errorf("assumed %v, want assumed %v", got.Model.Assumed, test.assumed)
			}
		})
	}
}

// Only like with like: a long test on another rope is not set against a short one.
func TestLastingLeavesOtherRopesOut(t *testing.T) {
	short, long := timed(rate.AllOut, 2, 80, 30, 0), timed(rate.AllOut, 4, 380, 180, 0)
	long.RopeKind = "cord"
	got := lastingOf(timed(rate.Base, 3, 120, 60, 0), short, long)
	if got.Known || len(got.Tests) != 1 {
		t.Errorf("%d tests, known %v; want the beaded one alone", len(got.Tests), got.Known)
	}
}

func TestRecovery(t *testing.T) {
	pair := []gym.Result{timed(rate.Base, 3, 120, 60, 0), timed(rate.AllOut, 9, 80, 30, 0), timed(rate.AllOut, 9, 380, 180, 0)}
	model := capacity.Model{SustainableRPM: 120, Reserve: 20, TauSeconds: 60}
	var bouts []int32
	balance := model.Reserve
	for range 10 { // each bout takes six tenths of what is there
		bouts = append(bouts, int32(math.Round(20+0.6*balance)))
		balance = model.After(0.4*balance, 0, 30)
	}
	t.Run("measured", func(t *testing.T) {
		got := lastingOf(append(pair, repeatBurst(2, 30, bouts...))...)
		if !got.Recovery.Known {
			t.Fatalf("refused %q", got.Recovery.Refused)
		}
		if tau := got.Recovery.Fitted.TauSeconds; tau < 35 || tau > 100 {
			t.Errorf("τ %.0f s, made with 60", tau)
		}
		settled := got.Recovery.Fitted.Settled()
		if replaced := got.Model.TauSeconds != capacity.DefaultTauSeconds; replaced != settled {
			t.Errorf("replaced %v although settled %v", replaced, settled)
		}
	})
	t.Run("without all-out tests", func(t *testing.T) {
		got := lastingOf(pair[0], repeatBurst(2, 30, bouts...))
		if got.Recovery.Known || got.Recovery.Refused != finding.NeedsAllOut {
			t.Errorf("known %v, refused %q", got.Recovery.Known, got.Recovery.Refused)
		}
	})
	t.Run("no fall", func(t *testing.T) {
		got := lastingOf(append(pair, repeatBurst(2, 300, 32, 32, 32, 32, 32))...)
		if got.Recovery.Refused != capacity.NoFall {
			t.Errorf("refused %q, want %q", got.Recovery.Refused, capacity.NoFall)
		}
	})
}
