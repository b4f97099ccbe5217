package level_test

import (
	"math"
	"testing"
	"time"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/rate"
)

var today = time.Date(2026, 11, 4, 0, 0, 0, 0, time.UTC)

func timed(protocol string, ago, rotations int, seconds float64) gym.Result {
	day := today.AddDate(0, 0, -ago)
	return gym.Result{Protocol: protocol, Day: day, TakenAt: day.Add(17 * time.Hour), Rotations: &rotations, Seconds: &seconds, Step: "bounce", RopeKind: "beaded", Timing: "hand"}
}

func TestCountOfSeveralCounters(t *testing.T) {
	tests := []struct {
		name    string
		counts  []int32
		oneFoot bool
		kept    int
		want    float64 // rotations
	}{
		{"one", nil, false, 113, 113},
		{"two are averaged, half a rotation too", []int32{112, 113}, false, 113, 112.5},
		{"three: the two closest", []int32{112, 114, 118}, false, 113, 113},
		{"one foot", nil, true, 114, 114},
		{"two counted one foot", []int32{56, 57}, true, 113, 113},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			r := timed(rate.Base, 0, test.kept, 60)
			r.Counts, r.OneFoot = test.counts, test.oneFoot
			count, ok := level.CountOf(r)
			if !ok || count.Rotations() != test.want {
				t.Errorf("%.1f rotations, want %.1f", count.Rotations(), test.want)
			}
		})
	}
}

// A count of one foot is known to ±1 step, hence to ±2 rotations.
func TestOneFootIsLessSure(t *testing.T) {
	both, one := timed(rate.Burst, 0, 30, 10), timed(rate.Burst, 0, 30, 10)
	one.OneFoot = true
	sure, err := level.RateOf(both)
	if err != nil {
		t.Fatal(err)
	}
	unsure, err := level.RateOf(one)
	if err != nil {
		t.Fatal(err)
	}
	if sure.RPM != unsure.RPM || unsure.U <= sure.U {
		t.Errorf("both feet %.2f ± %.2f, one foot %.2f ± %.2f", sure.RPM, sure.U, unsure.RPM, unsure.U)
	}
}

func TestCounts(t *testing.T) {
	impossible, improved := timed(rate.Base, 0, 480, 60), timed(rate.Base, 0, 130, 60)
	impossible.KeptOdd, improved.KeptOdd = true, true
	run := gym.Result{Protocol: rate.CleanRun, Rotations: new(int), KeptOdd: true}
	if level.Counts(impossible) || !level.Counts(improved) || !level.Counts(run) {
		t.Errorf("480 in a minute counts: %v, a leap to 130: %v, a run: %v", level.Counts(impossible), level.Counts(improved), level.Counts(run))
	}
	impossible.KeptOdd = false // somebody looked and said that it is right
	if !level.Counts(impossible) {
		t.Error("a result that was looked at does not count")
	}
}

func TestLevelsLeaveOutWhatNobodyCanTurn(t *testing.T) {
	odd := timed(rate.Base, 0, 480, 60)
	odd.KeptOdd = true
	levels := level.Of([]gym.Result{odd, timed(rate.Base, 3, 120, 60)}, today)
	if len(levels.Odd) != 1 || levels.Base.Tests != 1 || math.Abs(levels.Base.RPM-120) > 1e-9 {
		t.Errorf("%d odd, base %.0f from %d", len(levels.Odd), levels.Base.RPM, levels.Base.Tests)
	}
}
