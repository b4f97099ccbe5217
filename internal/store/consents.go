package store

import (
	"context"
	"fmt"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

// selectBasis reads what keeping data of athletes rests on; the newest word on
// each purpose counts.
const selectBasis = `
	SELECT a.athlete_id, a.name, a.lang, coalesce(a.birth_year, 0) AS birth_year, g.consent_age,
	       coalesce((SELECT c.given FROM consent c
	                 WHERE c.gym_id = a.gym_id AND c.athlete_id = a.athlete_id AND c.purpose = 'records'
	                 ORDER BY c.noted_at DESC, c.consent_id DESC LIMIT 1), false) AS records,
	       coalesce((SELECT c.given FROM consent c
	                 WHERE c.gym_id = a.gym_id AND c.athlete_id = a.athlete_id AND c.purpose = 'phone'
	                 ORDER BY c.noted_at DESC, c.consent_id DESC LIMIT 1), false) AS phone
	FROM athlete a JOIN gym g USING (gym_id)`

// BasesOf reads what keeping data of athletes rests on, in w's order.
func BasesOf(w Whom, into *[]gym.Basis) Reading {
	return many("what may be kept of athletes", into, selectBasis+` `+w.from, w.with(pgx.StrictNamedArgs{}))
}

// mayKeep refuses to keep anything more of athletes whose guardian has not
// agreed, in year. What stands in a register for everybody's safety, such as
// who is in the hall, asks no consent.
func (tx *Tx) mayKeep(ctx context.Context, year int, athletes ...uuid.UUID) error {
	var ask []uuid.UUID
	for _, athlete := range athletes {
		if !tx.kept[athlete] {
			ask = append(ask, athlete)
		}
	}
	if len(ask) == 0 {
		return nil
	}
	rows, _ := tx.tx.Query(ctx, selectBasis+` WHERE a.athlete_id = ANY ($1)`, ask) // the collector reports Query's error
	bases, err := pgx.CollectRows(rows, pgx.RowToStructByName[gym.Basis])
	if err != nil {
		return fmt.Errorf("what may be kept of athletes: %w", err)
	}
	if tx.kept == nil {
		tx.kept = map[uuid.UUID]bool{}
	}
	for _, basis := range bases {
		if !basis.Allows(gym.ToRecord, year) {
			return NotAgreed(basis.Name)
		}
		tx.kept[basis.AthleteID] = true
	}
	return nil
}

// NotAgreed is what to tell whoever wants to keep something of a minor whose
// guardian has not agreed.
func NotAgreed(name string) error {
	return problem.New(problem.Forbidden, "Nothing more is kept of %s: a parent or guardian has not agreed, or took it back. Note the consent first.", name)
}
