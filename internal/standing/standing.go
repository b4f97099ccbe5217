// Package standing reads what a gym keeps into the terms of package ladder: the
// ladder out of its stages, evidence out of results and judgements, and where
// somebody stands out of decisions. It is pure, but for a Shelf that remembers
// what was read, and imports the nouns of package gym, package level and the pure
// packages.
package standing

import (
	"encoding/json"
	"fmt"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/rate"
)

// Ladder returns the ladder that stages hold, first stage first.
func Ladder(l gym.Ladder, stages []gym.Stage) (ladder.Ladder, error) {
	read := ladder.Ladder{Key: l.Key, Name: l.Name, Version: l.Version, Lang: l.Lang, Stages: make([]ladder.Stage, len(stages))}
	for i, s := range stages {
		if err := json.Unmarshal(s.Body, &read.Stages[i]); err != nil {
			return ladder.Ladder{}, fmt.Errorf("stage %s of ladder %s: %w", s.Key, l.Key, err)
		}
	}
	return read.Numbered(), nil
}

// Stages returns the stages of l as they are kept under id.
func Stages(id uuid.UUID, l ladder.Ladder) ([]gym.Stage, error) {
	stages := make([]gym.Stage, len(l.Stages))
	for i, s := range l.Stages {
		body, err := json.Marshal(s)
		if err != nil {
			return nil, fmt.Errorf("stage %s: %w", s.Key, err)
		}
		stages[i] = gym.Stage{LadderID: id, Version: l.Version, Number: i + 1, Key: s.Key, Title: s.Title, Body: body}
	}
	return stages, nil
}

// OfResult returns a result as gates see it.
func OfResult(r gym.Result) ladder.Evidence {
	e := ladder.Evidence{ID: r.ResultID.String(), Protocol: ladder.Protocol(r.Protocol), Task: r.Task, Day: ladder.DayOf(r.Day), At: r.TakenAt,
		Catches: r.Catches, Step: r.Step, Rope: ladder.RopeKind(r.RopeKind), CountedBy: r.CountedBy, SeenByCoach: r.SeenByCoach, Unattended: r.Unattended}
	if r.Seconds != nil {
		e.Seconds = *r.Seconds
	}
	if r.LongestRestartSeconds != nil {
		e.RestartWithinSeconds = *r.LongestRestartSeconds
	}
	if r.Successes != nil && r.Attempts != nil {
		e.Successes, e.Tries = *r.Successes, *r.Attempts
	}
	if r.Rotations == nil {
		return e
	}
	switch r.Protocol {
	case rate.Base, rate.Burst, rate.AllOut:
		if known, err := level.RateOf(r); err == nil { // beyond any rope: no rate
			e.RPM = known.RPM
		}
	default:
		e.Reps = *r.Rotations
	}
	return e
}

// OfJudgement returns what a coach saw as gates see it; one that only takes
// another back has no protocol.
func OfJudgement(j gym.Judgement) ladder.Evidence {
	e := ladder.Evidence{ID: j.JudgementID.String(), Stage: j.Stage, Task: j.Task, Day: ladder.DayOf(j.Day), At: j.JudgedAt, Good: j.Good, SeenByCoach: true}
	if j.TakesBack != uuid.Nil {
		e.Replaces = j.TakesBack.String()
		return e
	}
	e.Protocol = ladder.Judged
	return e
}

// OfCatch returns a note of the catch diary.
func OfCatch(c gym.CatchNote) ladder.Catch {
	return ladder.Catch{Day: ladder.DayOf(c.Day), Spot: ladder.Spot(c.Spot), Timing: ladder.Timing(c.Timing),
		Hands: ladder.HandPlace(c.Hands), Height: ladder.Height(c.Height)}
}

// Athlete returns what gates and rules need to know of a on day. The age is the
// lower one of the two that a birth year allows: the bar for the young is the
// easier one. rope is the kind used now, "" where nobody knows.
func Athlete(a gym.Athlete, adultAge int, day time.Time, rope string) ladder.Athlete {
	known := ladder.Athlete{Minor: a.Under(adultAge, day.Year()), Rope: ladder.RopeKind(rope)}
	if a.BirthYear > 0 {
		known.Age = max(0, day.Year()-a.BirthYear-1)
	}
	return known
}

// Shipped returns the ladder that comes with the program as a gym keeps it under
// id, in use from at on.
func Shipped(id uuid.UUID, at time.Time) (gym.Ladder, gym.LadderVersion, []gym.Stage, error) {
	l, err := ladder.Shipped("en")
	if err != nil {
		return gym.Ladder{}, gym.LadderVersion{}, nil, err
	}
	l.Version = 1
	stages, err := Stages(id, l)
	kept := gym.Ladder{LadderID: id, Key: l.Key, Name: l.Name, Lang: l.Lang, InUse: true, Version: 1, CreatedAt: at}
	return kept, gym.LadderVersion{LadderID: id, Version: 1, PublishedAt: at}, stages, err
}
