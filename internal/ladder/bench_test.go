package ladder

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

// aTermOf returns made-up athletes with the results of a term of twelve weeks,
// two meetings a week and two results a meeting, 48 each.
func aTermOf(athletes int) []Case {
	protocols := []Protocol{Base, Burst, CleanRun, CleanRun, DoublesRow, Tries, Split, Judged}
	cases := make([]Case, athletes)
	for i := range cases {
		r := rand.New(rand.NewPCG(7, uint64(i)))
		c := Case{ID: fmt.Sprintf("athlete %d", i), Athlete: Athlete{Age: 11 + r.IntN(20), Rope: Beaded}}
		for meeting := range 24 {
			for part := range 2 {
				c.Evidence = append(c.Evidence, Evidence{
					ID: fmt.Sprintf("%d-%d-%d", i, meeting, part), Protocol: protocols[r.IntN(len(protocols))],
					Task: []string{"one-double-stop", "split-10-10", "even-turns"}[r.IntN(3)], Day: today - Day(84-meeting*7/2),
					Seconds: []float64{10, 30, 60}[r.IntN(3)], RPM: 100 + 50*r.Float64(), Reps: r.IntN(150), Successes: r.IntN(6), Tries: 5,
					Catches: r.IntN(4), RestartWithinSeconds: 2, Step: "bounce", Rope: Beaded, SeenByCoach: r.IntN(3) == 0, Good: true,
				})
			}
		}
		cases[i] = c
	}
	return cases
}

// BenchmarkThousandAthletes evaluates all 16 gates of 1,000 athletes with a term
// of results.
func BenchmarkThousandAthletes(b *testing.B) {
	l, err := Shipped("en")
	if err != nil {
		b.Fatal(err)
	}
	cases := aTermOf(1000)
	b.ReportAllocs()
	for b.Loop() {
		l.EvaluateAll(cases, today)
	}
}

func BenchmarkParse(b *testing.B) {
	data, err := shippedFiles.ReadFile("shipped/en.json")
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Parse(data); err != nil {
			b.Fatal(err)
		}
	}
}

// Evaluating a class takes few allocations: the verdicts themselves and room
// that is used again.
func TestEvaluationAllocatesLittle(t *testing.T) {
	l, cases := english(t), aTermOf(50)
	perAthlete := testing.AllocsPerRun(5, func() { l.EvaluateAll(cases, today) }) / 50
	if perAthlete > 20 {
		t.Errorf("%.0f allocations an athlete", perAthlete)
	}
}
