package store

import (
	"context"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
)

// EveryGym returns the ids of all gyms, for work that each gym's own clock asks
// for. It reads nothing else across gyms.
func (s *Store) EveryGym(ctx context.Context) ([]uuid.UUID, error) {
	var found []uuid.UUID
	err := pgx.BeginFunc(ctx, s.pool, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, takeOn); err != nil {
			return err
		}
		rows, _ := tx.Query(ctx, `SELECT gym_id FROM gym ORDER BY gym_id`) // the collector reports Query's error
		var err error
		found, err = pgx.CollectRows(rows, pgx.RowTo[uuid.UUID])
		return err
	})
	if err != nil {
		return nil, classify(fmt.Errorf("listing gyms: %w", err))
	}
	return found, nil
}

// TheKeeping reads how long the gym keeps what.
func TheKeeping(into *gym.Keeping) Reading {
	return one("how long the gym keeps what", "There is no such gym here.", into, `
		SELECT keep_athlete_months AS athlete, keep_health_months AS health, keep_incident_months AS incident, keep_audit_months AS audit
		FROM gym`, pgx.StrictNamedArgs{})
}

// SetKeeping sets how long the gym keeps what.
func (tx *Tx) SetKeeping(ctx context.Context, k gym.Keeping) error {
	_, err := tx.exec(ctx, "setting how long things are kept", `
		UPDATE gym SET keep_athlete_months = @athlete, keep_health_months = @health, keep_incident_months = @incident, keep_audit_months = @audit
		WHERE gym_id = @gym`,
		pgx.StrictNamedArgs{"athlete": k.Athlete, "health": k.Health, "incident": k.Incident, "audit": k.Audit})
	return err
}

// An Idle is an athlete with the last time that anything was heard of.
type Idle struct {
	AthleteID uuid.UUID
	Name      string
	Last      time.Time
}

// IdleSince reads the athletes of whom nothing was heard since a moment: no
// result, no session, no word on one, and nobody undid an erasure. Those who are to be forgotten already are
// not among them.
func IdleSince(since time.Time, into *[]Idle) Reading {
	return many("athletes of whom nothing was heard", into, `
		SELECT a.athlete_id, a.name, last.at AS last
		FROM athlete a
		CROSS JOIN LATERAL (SELECT greatest(a.created_at,
			(SELECT max(r.recorded_at) FROM result r WHERE r.athlete_id = a.athlete_id),
			(SELECT max(t.noted_at) FROM attendance t WHERE t.athlete_id = a.athlete_id AND t.here),
			(SELECT max(d.recorded_at) FROM debrief d WHERE d.athlete_id = a.athlete_id),
			(SELECT max(e.undone_at) FROM erasure e WHERE e.about_id = a.athlete_id)) AS at) AS last
		WHERE last.at < @since
		  AND NOT EXISTS (SELECT FROM erasure e WHERE e.about_id = a.athlete_id AND e.undone_at IS NULL AND e.done_at IS NULL)
		ORDER BY last.at, a.athlete_id`, pgx.StrictNamedArgs{"since": since})
}

// Purges reads what the gym's own rules removed, newest first.
func Purges(into *[]gym.Purge) Reading {
	return many("purges", into, `SELECT at, what, rows FROM purge ORDER BY at DESC, purge_id DESC LIMIT 100`, pgx.StrictNamedArgs{})
}

// AddPurge keeps that rows were removed, without saying whose.
func (tx *Tx) AddPurge(ctx context.Context, id uuid.UUID, p gym.Purge) error {
	_, err := tx.exec(ctx, "keeping the report of a purge", `INSERT INTO purge (gym_id, purge_id, at, what, rows) VALUES (@gym, @id, @at, @what, @rows)`,
		pgx.StrictNamedArgs{"id": id, "at": p.At, "what": p.What, "rows": p.Rows})
	return err
}

// A forgetting is how old things of one kind go.
type forgetting struct {
	what  string
	first string   // what has to happen before, and counts for nothing
	sql   []string // about $1, the gym, and $2, the moment before which things are old
}

// forgettings are the rules by which old things go. Numbers of effort and pain
// stay while the athlete does; where and how it hurt does not.
func forgettings() []forgetting {
	return []forgetting{
		{what: "health", sql: []string{
			`UPDATE debrief SET pain_place = '', pain_signs = '{}', note = ''
			 WHERE gym_id = $1 AND recorded_at < $2 AND (pain_place <> '' OR pain_signs <> '{}' OR note <> '')`,
			`UPDATE hold SET reason = '' WHERE gym_id = $1 AND at < $2 AND reason <> ''`,
			`DELETE FROM health_talk WHERE gym_id = $1 AND at < $2`,
			`DELETE FROM health_answer WHERE gym_id = $1 AND answered_at < $2`,
		}},
		{what: "incidents", first: `
			UPDATE incident SET corrects = NULL
			WHERE gym_id = $1 AND corrects IN (SELECT incident_id FROM incident WHERE gym_id = $1 AND happened_at < $2)`, sql: []string{
			`DELETE FROM incident WHERE gym_id = $1 AND happened_at < $2`,
		}},
		{what: "audit", sql: []string{`DELETE FROM audit WHERE gym_id = $1 AND at < $2`}},
	}
}

// Forget removes what of one kind is older than before, and returns how many
// rows that was.
func (s *Store) Forget(ctx context.Context, gymID uuid.UUID, what string, before time.Time) (int, error) {
	rows := 0
	err := s.Write(Unhurried(ctx), gymID, func(tx *Tx) error {
		rows = 0
		if _, err := tx.tx.Exec(ctx, takeOn); err != nil {
			return fmt.Errorf("taking on the erasure role: %w", err)
		}
		for _, f := range forgettings() {
			if f.what != what {
				continue
			}
			if f.first != "" {
				if _, err := tx.tx.Exec(ctx, f.first, gymID, before); err != nil {
					return fmt.Errorf("before forgetting old %s: %w", what, err)
				}
			}
			for _, sql := range f.sql {
				tag, err := tx.tx.Exec(ctx, sql, gymID, before)
				if err != nil {
					return fmt.Errorf("forgetting old %s: %w", what, err)
				}
				rows += int(tag.RowsAffected())
			}
		}
		return nil
	})
	return rows, err
}
