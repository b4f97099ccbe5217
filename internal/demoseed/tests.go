package demoseed

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/capacity"
	"ropewalk.example/internal/demo"
	"ropewalk.example/internal/finding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/store"
)

// Stages of the ladder from which the demo's athletes do the further tests.
const (
	runStage    = 3
	paceStage   = 6
	doubleStage = 9
	triesStage  = 10
)

// further keeps the tests of a session beside the timed ones: clean runs, all-out
// and repeat-burst tests, and what doubles ask. Counts are drawn from a stream of
// their own per athlete and week, about the athlete's timed tests so far. It
// returns the jumps that they took of each athlete's session.
func (f *filling) further(ctx context.Context, session demo.Session, present map[uuid.UUID]bool) (map[uuid.UUID]int, error) {
	jumps := map[uuid.UUID]int{}
	return jumps, f.write(ctx, func(tx *store.Tx) error {
		for _, a := range f.g.Athletes {
			if a.Class != session.Class || !present[idOf("athlete", a.ID)] {
				continue
			}
			results := f.furtherOf(a, session)
			jumps[idOf("athlete", a.ID)] = finding.JumpsByDay(finding.Record{Results: results})[dateOf(session.StartsAt)].Contacts()
			for _, r := range results {
				if _, err := tx.AddResult(ctx, r); err != nil {
					return err
				}
			}
		}
		return nil
	})
}

// testing draws one athlete's further tests of one session.
type testing struct {
	*rand.Rand
	f        *filling
	athlete  demo.Athlete
	session  demo.Session
	turning  float64 // rpm, at base
	hazard   float64 // of a catch at each rep
	results  []gym.Result
	position int
}

func (f *filling) furtherOf(a demo.Athlete, session demo.Session) []gym.Result {
	const layer = 21
	t := testing{Rand: rand.New(rand.NewPCG(20260907+layer, uint64(a.ID*100+session.Week))), f: f, athlete: a, session: session}
	if !t.read() {
		return nil
	}
	if a.StartStage >= runStage && (session.Week%2 == 0 || session.Week == 9) {
		t.cleanRuns()
	}
	if a.StartStage >= paceStage {
		t.efforts()
	}
	if a.StartStage >= doubleStage {
		t.doubles()
	}
	return t.results
}

// read learns turning rate and hazard from the athlete's base tests up to the
// session; without any there are no further tests.
func (t *testing) read() bool {
	rotations, catches := 0, 0
	for _, test := range t.f.g.Tests {
		if test.Athlete != t.athlete.ID || test.Kind != demo.Base || test.Step != demo.Bounce || test.Week > t.session.Week || test.Rotations > 300 {
			continue
		}
		rotations, catches = rotations+test.Rotations, catches+test.Catches
		t.turning = 60 * float64(test.Rotations) / (test.Seconds - test.LostSeconds)
	}
	t.hazard = (float64(catches) + 0.5) / (float64(rotations) + 1)
	return rotations > 0
}

// add starts a result; seen by the coach, on the athlete's own rope.
func (t *testing) add(protocol, step string) *gym.Result {
	t.position++
	at := t.session.StartsAt.Add(time.Duration(14+t.position) * time.Minute)
	t.results = append(t.results, gym.Result{
		ResultID: idOf("further", fmt.Sprint(t.athlete.ID, " ", t.session.Week, " ", protocol, " ", t.position)), AthleteID: idOf("athlete", t.athlete.ID),
		SessionID: t.f.sessionOf(t.session).SessionID, Protocol: protocol, Day: dateOf(at), TakenAt: at, Step: step,
		RopeKind: t.f.ropeKind(t.athlete.Rope), RopeID: idOf("rope", t.athlete.Rope), Surface: t.f.g.Surface, CountedBy: demo.ByCoach, SeenByCoach: true,
		Timing: "hand", RecordedAt: at.Add(time.Minute), RecordedBy: idOf("person", t.f.g.Coaches[0].Email)})
	return &t.results[len(t.results)-1]
}

// row draws clean reps before a catch at the hazard, at most so many.
func (t *testing) row(hazard float64, most int) (reps int, caught bool) {
	for reps < most && t.Float64() >= hazard {
		reps++
	}
	return reps, reps < most
}

// cleanRuns are three runs that the coach stops at a length.
func (t *testing) cleanRuns() {
	stopAt := 40
	if t.athlete.StartStage >= paceStage {
		stopAt = 150
	}
	for range 3 {
		reps, caught := t.row(t.hazard, stopAt)
		r := t.add(rate.CleanRun, "bounce")
		r.Rotations, r.StoppedClean = &reps, !caught
	}
}

// efforts are the all-out tests of weeks 6 and 7 and the repeat burst of week 7.
// One athlete's long test is faster than the short one: they disagree.
func (t *testing) efforts() {
	const disagrees = 17
	truth := rand.New(rand.NewPCG(20260907+22, uint64(t.athlete.ID))) // lasting traits
	model := capacity.Model{SustainableRPM: 1.01 * t.turning, Reserve: 9 + 9*truth.Float64(), TauSeconds: 55 + 80*truth.Float64()}
	allOut := func(seconds float64) {
		rpm := model.BestRPM(seconds)
		if t.athlete.ID == disagrees && seconds > 60 {
			rpm = 1.12 * model.BestRPM(30)
		}
		rotations := int(rpm*seconds/60 + 0.7*t.NormFloat64())
		r := t.add(rate.AllOut, "bounce")
		r.Rotations, r.Seconds = &rotations, &seconds
	}
	switch t.session.Week {
	case 6:
		allOut(30)
		allOut(180)
	case 7:
		allOut(60)
		t.repeatBurst(model)
	}
}

// repeatBurst is eight bouts of 10 s with 25 s of rest; each takes the same share
// of the balance.
func (t *testing) repeatBurst(m capacity.Model) {
	const bouts, share = 8, 0.6
	seconds, rest := 10.0, 25.0
	r := t.add(rate.RepeatBurst, "bounce")
	r.Seconds, r.RestSeconds = &seconds, &rest
	balance := m.Reserve
	for range bouts {
		r.Bouts = append(r.Bouts, int32(math.Round(m.SustainableRPM*seconds/60+share*balance)))
		balance = m.After((1-share)*balance, 0, rest)
	}
}

// doubles are the rate inside a double, a flight time, rows and tries.
func (t *testing) doubles() {
	if t.session.Week == 5 || t.session.Week == 9 {
		seconds := 10.0
		rotations := int((200 + 3*float64(t.session.Week) + 8*t.NormFloat64()) * seconds / 60)
		r := t.add(rate.InDouble, "double")
		r.Rotations, r.Seconds = &rotations, &seconds
		flight := math.Round(100*(0.35+0.02*t.NormFloat64())) / 100
		t.add(rate.Flight, "double").FlightSeconds = &flight
	}
	for _, run := range t.f.g.Doubles {
		if run.Athlete == t.athlete.ID && run.Week == t.session.Week {
			t.add(rate.DoublesRun, "double").Rotations = &run.Doubles
		}
	}
	if t.athlete.StartStage >= triesStage && t.session.Week%3 == 0 {
		good, tries := 0, 5
		for range tries {
			if t.Float64() < 0.35+0.05*float64(t.session.Week) {
				good++
			}
		}
		r := t.add(rate.Tries, "double")
		r.Task, r.Successes, r.Attempts = "one-double-stop", &good, &tries
	}
}
