// Package measuring records what was counted: it checks a result, asks about
// what is odd, keeps it and corrects it. It uses the store and the pure
// packages; it knows no HTTP.
package measuring

import (
	"context"
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

// An Answer says what became of one result.
type Answer struct {
	Added   bool
	Odd     []rate.Question // asked, never blocked
	Problem error           // this result was not kept
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
	err := m.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		for i, r := range results {
			var err error
			if answers[i], err = m.RecordIn(ctx, tx, who, r, byAthlete[r.AthleteID]); err != nil {
				return err
			}
		}
		return nil
	})
	return answers, err
}

// RecordIn keeps one result inside a transaction. history is what was known of
// the athlete before. The error is the database's; what is wrong with the
// result is in the answer.
func (m *Measuring) RecordIn(ctx context.Context, tx *store.Tx, who gym.Who, r gym.Result, history []gym.Result) (Answer, error) {
	answer := Answer{Problem: check(r)}
	if answer.Problem != nil {
		return answer, nil
	}
	answer.Odd = questions(r, history)
	r.KeptOdd = len(answer.Odd) > 0
	r.RecordedAt, r.RecordedBy = m.Now(), who.ID()
	var err error
	answer.Added, err = tx.AddResult(ctx, r)
	if problem.KindOf(err) == problem.Forbidden { // a consent is missing
		answer.Problem = err
		return answer, nil
	}
	if err != nil || !answer.Added {
		return answer, err
	}
	return answer, tx.Note(ctx, uuid.Must(uuid.NewV7()), r.RecordedAt, who.ID(), "recorded a result", "result", r.ResultID)
}

// Record keeps one result, with what is odd about it.
func (m *Measuring) Record(ctx context.Context, who gym.Who, r gym.Result) (Answer, error) {
	return m.record(ctx, who, Counting{r.AthleteID, r.Protocol, r.Day}, nil, func() (gym.Result, error) { return r, nil })
}

// A Counting says what is being counted: whose result of which protocol is to
// be kept, and the first day on which it may have been counted.
type Counting struct {
	Athlete  uuid.UUID
	Protocol string
	Since    time.Time
}

// Count keeps the one result that read makes of what somebody typed, once the
// gym and the athlete are known: all that is asked of the database before is
// asked as the transaction begins. An error of read's is returned, and nothing
// is kept.
func (m *Measuring) Count(ctx context.Context, who gym.Who, c Counting, read func(gym.Gym, gym.Athlete) (gym.Result, error)) (Answer, error) {
	var g gym.Gym
	var athlete gym.Athlete
	return m.record(ctx, who, c, []store.Reading{store.TheGym(&g), store.Athlete(c.Athlete, &athlete)},
		func() (gym.Result, error) { return read(g, athlete) })
}

func (m *Measuring) record(ctx context.Context, who gym.Who, c Counting, readings []store.Reading, read func() (gym.Result, error)) (Answer, error) {
	var history []gym.Result
	var answer Answer
	opening := func(tx *store.Tx) []store.Reading {
		return append(readings[:len(readings):len(readings)], tx.Bases(c.Athlete),
			store.ResultsLike(c.Athlete, c.Protocol, c.Since.Add(-level.Reach), &history))
	}
	err := m.Store.WriteOn(ctx, who.GymID, opening, func(tx *store.Tx) error {
		r, err := read()
		if err != nil {
			return err
		}
		answer, err = m.RecordIn(ctx, tx, who, r, history)
		return err
	})
	if err != nil {
		return Answer{}, err
	}
	return answer, answer.Problem
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
