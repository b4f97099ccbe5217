package planner

import "testing"

// roster returns inputs of invented athletes: rates, hazards, history and
// limits differ from one to the next.
func roster(n int) []Input {
	past := []Outcome{{20, firstSplit(), 40, 36, false}, {20, firstSplit(), 40, 38, false}}
	list := make([]Input, n)
	for i := range list {
		base := 90 + float64(i*37%90)
		list[i] = Input{
			BaseRPM:      base,
			BurstRPM:     new(base * (1.15 + float64(i*13%35)/100)),
			Hazard:       &Hazard{float64(i*7%20) / 2000, float64(i*11%30) / 1000},
			History:      past[:i%3],
			Minutes:      new(20 + float64(i%4)*5),
			ContactsLeft: new(800 + i%3*200),
			Stage:        new(StageAt(6 + i%4)),
		}
		if i%5 == 0 {
			list[i].Phase = Established
			list[i].AllOut = []AllOut{{30, base * 0.62}, {180, base * 3.2}}
		}
	}
	return list
}

func BenchmarkTenThousandPlans(b *testing.B) {
	inputs := roster(10_000)
	segments := 0
	b.ReportAllocs()
	for b.Loop() {
		segments = 0
		for _, in := range inputs {
			p, err := Solve(in)
			if err != nil {
				b.Fatal(err)
			}
			segments += len(p.Segments)
		}
	}
	b.ReportMetric(float64(segments)/float64(len(inputs)), "segments/plan")
}

func TestAllocationsPerSegment(t *testing.T) {
	inputs := roster(200)
	segments := 0
	allocations := testing.AllocsPerRun(10, func() {
		segments = 0
		for _, in := range inputs {
			p, err := Solve(in)
			if err != nil {
				t.Fatal(err)
			}
			segments += len(p.Segments)
		}
	})
	if allocations > 2*float64(segments) {
		t.Errorf("%v allocations for %d segments, at most two each are meant", allocations, segments)
	}
}
