// Package measuring records what was counted: it checks a result, asks about
// what is odd, keeps it and corrects it. It uses the store and the pure
// packages; it knows no HTTP.
package measuring

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/store"
)

// Measuring records results. All fields are required.
type Measuring struct {
	Store *store.Store
	Now   func() time.Time
}

// Lookback is how far back a page reads results: a year, so that the last
// level is known after a long absence too.
const Lookback = 366 * 24 * time.Hour

// MostRotations is the highest count that a form takes.
const MostRotations = 999

// An Answer says what became of one result.
type Answer struct {
	Added   bool
	Odd     []rate.Question // asked, never blocked
	Problem error           // this result was not kept
}

// check lets a withdrawal pass, and looks at everything else.
func check(r gym.Result) error {
	if r.Void {
		return nil
	}
	return Check(r)
}

// Check says what is wrong with a result, as a form problem, or nil. It fills
// in nothing and asks nobody.
func Check(r gym.Result) error {
	protocol, ok := rate.ProtocolOf(r.Protocol)
	if !ok {
		return problem.Form(map[string]string{"protocol": "Choose a test from the list."})
	}
	wrong := map[string]string{}
	if protocol.Measured == rate.Rotations {
		checkTimed(r, protocol, wrong)
	}
	if r.Catches < 0 || r.Catches > 99 {
		wrong["catches"] = "Catches must be a whole number from 0 to 99."
	}
	if r.LostSeconds != nil && (r.Seconds == nil || *r.LostSeconds < 0 || *r.LostSeconds >= *r.Seconds) {
		wrong["lost"] = "The seconds lost to catches must be less than the test's."
	}
	if !slices.Contains(gym.Steps(), r.Step) {
		wrong["step"] = "Choose a step from the list."
	}
	if r.RopeKind != "" && !slices.Contains(gym.RopeKinds(), r.RopeKind) {
		wrong["rope"] = "Choose a rope from the list."
	}
	if !slices.Contains(gym.Surfaces(), r.Surface) {
		wrong["surface"] = "Choose a floor from the list."
	}
	if !slices.Contains([]string{"self", "partner", "coach"}, r.CountedBy) {
		wrong["counted_by"] = "Choose who counted."
	}
	return problem.Form(wrong)
}

func checkTimed(r gym.Result, protocol rate.Protocol, wrong map[string]string) {
	if r.Rotations == nil || *r.Rotations < 0 || *r.Rotations > MostRotations {
		wrong["rotations"] = fmt.Sprintf("Rotations must be a whole number from 0 to %d, like 87.", MostRotations)
	}
	if r.Seconds == nil || math.IsNaN(*r.Seconds) || !protocol.Allows(*r.Seconds) {
		wrong["seconds"] = "Choose one of the times that this test has."
	}
	if len(wrong) > 0 {
		return
	}
	if count, ok := level.CountOf(r); ok {
		if _, err := count.WholeTest(); errors.Is(err, rate.ErrTooFast) {
			wrong["rotations"] = fmt.Sprintf("%d rotations in %g s is %.0f rpm, more than any rope turns. Count again, or check the seconds.",
				*r.Rotations, *r.Seconds, 60*float64(*r.Rotations) / *r.Seconds)
		}
	}
}

// RecordAll keeps results of athletes of the gym, each by itself: one that
// cannot be kept does not stop the others. history is what was known of the
// athletes before. The answers stand in the order of the results.
func (m *Measuring) RecordAll(ctx context.Context, who gym.Who, results []gym.Result, history []gym.Result) ([]Answer, error) {
	answers := make([]Answer, len(results))
	byAthlete := map[uuid.UUID][]gym.Result{}
	for _, r := range history {
		byAthlete[r.AthleteID] = append(byAthlete[r.AthleteID], r)
	}
	now := m.Now()
	err := m.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		for i, r := range results {
			if answers[i].Problem = check(r); answers[i].Problem != nil {
				continue
			}
			answers[i].Odd = questions(r, byAthlete[r.AthleteID])
			r.KeptOdd = len(answers[i].Odd) > 0
			r.RecordedAt, r.RecordedBy = now, who.ID()
			added, err := tx.AddResult(ctx, r)
			if err != nil {
				return err
			}
			answers[i].Added = added
			if !added {
				continue
			}
			if err := tx.Note(ctx, uuid.Must(uuid.NewV7()), now, who.ID(), "recorded a result", "result", r.ResultID); err != nil {
				return err
			}
		}
		return nil
	})
	return answers, err
}

// Record keeps one result, with what is odd about it.
func (m *Measuring) Record(ctx context.Context, who gym.Who, r gym.Result) (Answer, error) {
	var history []gym.Result
	if err := m.Store.Read(ctx, who.GymID, store.ResultsOf(r.AthleteID, r.Day.Add(-Lookback), &history)); err != nil {
		return Answer{}, err
	}
	answers, err := m.RecordAll(ctx, who, []gym.Result{r}, history)
	if err != nil {
		return Answer{}, err
	}
	return answers[0], answers[0].Problem
}

// Correct keeps r in the place of the result that it corrects; with r.Void the
// old result is withdrawn.
func (m *Measuring) Correct(ctx context.Context, who gym.Who, r gym.Result) (Answer, error) {
	var old gym.Result
	if err := m.Store.Read(ctx, who.GymID, store.Result(r.Corrects, &old)); err != nil {
		return Answer{}, err
	}
	if old.AthleteID != r.AthleteID {
		return Answer{}, problem.New(problem.NotFound, "There is no such result of this athlete.")
	}
	return m.Record(ctx, who, r)
}

// questions asks what is odd about a timed result, against the athlete's
// results of the same kind.
func questions(r gym.Result, history []gym.Result) []rate.Question {
	count, ok := level.CountOf(r)
	if !ok {
		return nil
	}
	overall, err := count.WholeTest()
	if err != nil {
		return nil // refused or kept elsewhere
	}
	var alike []rate.Result
	for _, h := range history {
		if h.ResultID == r.Corrects {
			continue
		}
		if known, err := level.RateOf(h); err == nil {
			alike = append(alike, rate.Result{Rate: known, Kind: kindOf(h), On: h.Day})
		}
	}
	recent, err := rate.Recent(alike, kindOf(r), r.Day)
	if err != nil {
		recent = rate.Combined{} // nothing to compare with
	}
	return rate.Questions(overall, *r.Seconds, recent)
}

func kindOf(r gym.Result) rate.Kind {
	family := r.Protocol
	if protocol, ok := rate.ProtocolOf(r.Protocol); ok && r.Seconds != nil {
		family = protocol.Family(*r.Seconds)
	}
	return rate.Kind{Family: family, Step: r.Step, Rope: r.RopeKind}
}

// Keep says that an odd result is right: r is the same result once more,
// looked at, in the place of the one it corrects.
func (m *Measuring) Keep(ctx context.Context, who gym.Who, r gym.Result) error {
	r.KeptOdd = false
	r.RecordedAt, r.RecordedBy = m.Now(), who.ID()
	return m.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if _, err := tx.AddResult(ctx, r); err != nil {
			return err
		}
		return tx.Note(ctx, uuid.Must(uuid.NewV7()), r.RecordedAt, who.ID(), "kept an odd result", "result", r.Corrects)
	})
}
