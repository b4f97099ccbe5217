package store

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

const selectErasure = `
	SELECT erasure_id, about, about_id, asked_for, asked_at, asked_by, keep_incidents, due_at, undone_at, done_at, report
	FROM erasure`

// PendingErasures reads who is to be forgotten, newest first.
func PendingErasures(into *[]gym.Erasure) Reading {
	return many("pending erasures", into, selectErasure+`
		WHERE undone_at IS NULL AND done_at IS NULL
		ORDER BY asked_at DESC, erasure_id DESC`, pgx.StrictNamedArgs{})
}

// DoneErasures reads what was done of them, the hundred newest.
func DoneErasures(into *[]gym.Erasure) Reading {
	return many("erasures that were done", into, selectErasure+`
		WHERE done_at IS NOT NULL
		ORDER BY asked_at DESC, erasure_id DESC
		LIMIT 100`, pgx.StrictNamedArgs{})
}

// Erasure reads one.
func Erasure(id uuid.UUID, into *gym.Erasure) Reading {
	return one("erasure", "There is nothing like that to undo in this gym.", into, selectErasure+`
		WHERE erasure_id = @erasure`, pgx.StrictNamedArgs{"erasure": id})
}

// AddErasure keeps that somebody is to be forgotten, and takes an athlete out of
// every list at once; asked twice is asked once.
func (tx *Tx) AddErasure(ctx context.Context, x gym.Erasure) error {
	_, err := tx.exec(ctx, "asking for an erasure", `
		INSERT INTO erasure (gym_id, erasure_id, about, about_id, asked_for, asked_at, asked_by, keep_incidents, due_at)
		VALUES (@gym, @id, @about, @about_id, @for, @at, @by, @keep, @due)
		ON CONFLICT DO NOTHING`,
		pgx.StrictNamedArgs{"id": x.ErasureID, "about": x.About, "about_id": x.AboutID, "for": x.AskedFor, "at": x.AskedAt, "by": x.AskedBy,
			"keep": x.KeepIncidents, "due": x.DueAt})
	if err != nil || x.About != "athlete" {
		return err
	}
	n, err := tx.exec(ctx, "taking an athlete out of the lists", `
		UPDATE athlete SET archived_at = coalesce(archived_at, @at) WHERE gym_id = @gym AND athlete_id = @athlete`,
		pgx.StrictNamedArgs{"athlete": x.AboutID, "at": x.AskedAt})
	if err != nil {
		return err
	}
	if n == 0 {
		return problem.New(problem.NotFound, "There is no such athlete in this gym.")
	}
	_, err = tx.exec(ctx, "ending an athlete's sign-ins", endSignIns+`gym_id = @gym AND athlete_id = @athlete`, pgx.StrictNamedArgs{"athlete": x.AboutID})
	return err
}

// UndoErasure brings somebody back who is to be forgotten, while there is time.
func (tx *Tx) UndoErasure(ctx context.Context, x gym.Erasure, at time.Time, by uuid.UUID) error {
	n, err := tx.exec(ctx, "undoing an erasure", `
		UPDATE erasure SET undone_at = @at, undone_by = @by
		WHERE gym_id = @gym AND erasure_id = @id AND undone_at IS NULL AND done_at IS NULL`,
		pgx.StrictNamedArgs{"id": x.ErasureID, "at": at, "by": by})
	if err != nil {
		return err
	}
	if n == 0 {
		return problem.New(problem.Conflict, "That was undone already, or it is done and cannot be undone.")
	}
	if x.About != "athlete" {
		return nil
	}
	_, err = tx.exec(ctx, "bringing an athlete back", `UPDATE athlete SET archived_at = NULL WHERE gym_id = @gym AND athlete_id = @athlete`,
		pgx.StrictNamedArgs{"athlete": x.AboutID})
	return err
}

// FinishErasure keeps that it was done and what it came to.
func (tx *Tx) FinishErasure(ctx context.Context, id uuid.UUID, at time.Time, rows map[string]int) error {
	report, err := json.Marshal(rows)
	if err != nil {
		return fmt.Errorf("keeping the report of an erasure: %w", err)
	}
	_, err = tx.exec(ctx, "finishing an erasure", `
		UPDATE erasure SET done_at = @at, report = @report WHERE gym_id = @gym AND erasure_id = @id AND done_at IS NULL`,
		pgx.StrictNamedArgs{"id": id, "at": at, "report": string(report)})
	return err
}

// mostFormer is how many of those who left a list holds: those who left last.
const mostFormer = 500

// FormerStaff reads the people who worked in the gym and do so no more, who left
// last first; only one of them where that is not uuid.Nil. Those who are
// forgotten are not among them.
func FormerStaff(only uuid.UUID, into *[]gym.Former) Reading {
	// One pass: two policies stand before the table, and a look into it for each
	// row would go through all of it.
	return many("former staff", into, `
		SELECT m.person_id, p.name, max(m.until) AS until
		FROM membership m JOIN person p USING (person_id)
		WHERE m.role <> 'guardian' AND p.sign_in_name NOT LIKE 'erased-%' AND m.gym_id = current_setting('ropewalk.gym')::uuid
		  AND (@only::uuid IS NULL OR m.person_id = @only)
		GROUP BY m.person_id, p.name
		HAVING bool_and(m.until IS NOT NULL)
		ORDER BY max(m.until) DESC, m.person_id
		LIMIT @most`, pgx.StrictNamedArgs{"only": orNull(only), "most": mostFormer})
}

// ErasureNames reads the names of those who are to be forgotten, by id, with the
// moment when they are.
func ErasureNames(into *[]gym.Former) Reading {
	return many("names of those to be forgotten", into, `
		SELECT e.about_id AS person_id, coalesce(a.name, p.name, '') AS name, e.due_at AS until
		FROM erasure e
		LEFT JOIN athlete a ON a.gym_id = e.gym_id AND a.athlete_id = e.about_id
		LEFT JOIN person p ON p.person_id = e.about_id AND e.about = 'person'
		WHERE e.undone_at IS NULL AND e.done_at IS NULL
		ORDER BY e.due_at, e.about_id`, pgx.StrictNamedArgs{})
}
