package rate

import "testing"

func TestQuestions(t *testing.T) {
	level := Combined{Rate: Rate{150, 3}, Tests: 3}
	tests := []struct {
		name    string
		rate    Rate
		seconds float64
		recent  Combined
		want    []string
	}{
		{"plausible", Rate{152, 1}, 60, level, nil},
		{"nothing to compare with", Rate{152, 1}, 60, Combined{}, nil},
		{"just the best in 30 s", Rate{460, 1}, 30, Combined{}, nil},
		{"above the best in 30 s", Rate{462, 1}, 30, Combined{}, []string{AboveBest}},
		{"above the best in a minute", Rate{409, 1}, 60, Combined{}, []string{AboveBest}},
		{"above the best in three minutes", Rate{381, 1}, 180, Combined{}, []string{AboveBest}},
		{"above anything, 5 s", Rate{468, 1}, 5, Combined{}, []string{AboveBest}},
		{"four uncertainties up", Rate{170, 4}, 60, level, nil}, // 4·√(4² + 3²) = 20
		{"more than four up", Rate{170.1, 4}, 60, level, []string{FarFromRecent}},
		{"more than four down", Rate{129.9, 4}, 60, level, []string{FarFromRecent}},
		{"both", Rate{420, 4}, 60, level, []string{AboveBest, FarFromRecent}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got := Questions(test.rate, test.seconds, test.recent)
			if len(got) != len(test.want) {
				t.Fatalf("asked %+v, want %v", got, test.want)
			}
			for i, q := range got {
				if q.Code != test.want[i] || q.RPM != test.rate.RPM || q.Against == 0 {
					t.Errorf("asked %+v, want %s", q, test.want[i])
				}
			}
		})
	}
}

// Source: federation result sheets of competitors, medians (ERSO 2022):
// right-foot counts in 30 s and 180 s are plausible and raise no question.
func TestCompetitorsCountsRaiseNoQuestion(t *testing.T) {
	medians := map[float64][]float64{30: {81.5, 77, 85, 88.5}, 180: {391, 389.5, 408.5, 419}}
	for seconds, counts := range medians {
		for _, c := range counts {
			r, err := Count{Counted: c, OneFoot: true, Seconds: seconds, Timing: ByHand}.WholeTest()
			if err != nil {
				t.Fatal(err)
			}
			if ask := Questions(r, seconds, Combined{}); ask != nil {
				t.Errorf("%g right-foot steps in %g s: asked %+v", c, seconds, ask)
			}
		}
	}
}
