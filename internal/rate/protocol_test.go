package rate

import "testing"

func TestProtocols(t *testing.T) {
	// Common practice, no source: the windows.
	tests := []struct {
		key     string
		allowed []float64
		refused []float64
		allOut  bool
	}{
		{Base, []float64{60, 30, 15}, []float64{0, 10, 180}, false},
		{Burst, []float64{10, 5}, []float64{0, 15, 60}, false},
		{AllOut, []float64{30, 60, 180}, []float64{0, 10, 15}, true},
		{RepeatBurst, []float64{10}, []float64{0, 60}, true},
		{CleanRun, []float64{0}, []float64{60}, false},
		{DoublesRun, []float64{0}, []float64{60}, false},
		{Flight, []float64{0}, []float64{60}, false},
		{InDouble, []float64{10, 5}, []float64{0, 60}, false},
		{Tries, []float64{0}, []float64{60}, false},
		{Cycles, []float64{0}, []float64{60}, false},
		{Rounds, []float64{0}, []float64{60}, false},
	}
	if len(tests) != len(Protocols()) {
		t.Errorf("%d protocols, %d checked", len(Protocols()), len(tests))
	}
	for _, test := range tests {
		p, found := ProtocolOf(test.key)
		if !found || p.Name == "" || p.Measured == "" {
			t.Errorf("%s: %+v, found %v", test.key, p, found)
		}
		if p.AllOut != test.allOut {
			t.Errorf("%s: all out %v, want %v", test.key, p.AllOut, test.allOut)
		}
		for _, s := range test.allowed {
			if !p.Allows(s) {
				t.Errorf("%s does not allow %g s", test.key, s)
			}
		}
		for _, s := range test.refused {
			if p.Allows(s) {
				t.Errorf("%s allows %g s", test.key, s)
			}
		}
	}
	if _, found := ProtocolOf("Base"); found {
		t.Error(`"Base" was found; keys are case-sensitive`)
	}
}

func TestFamilies(t *testing.T) {
	base, _ := ProtocolOf(Base)
	allOut, _ := ProtocolOf(AllOut)
	if base.Family(60) != base.Family(15) {
		t.Error("base counts over 60 and 15 s are alike")
	}
	if allOut.Family(30) == allOut.Family(180) {
		t.Error("all-out counts over 30 and 180 s are not alike")
	}
	if got := allOut.Family(30); got != "all_out 30 s" {
		t.Errorf("family %q", got)
	}
}
