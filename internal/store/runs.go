package store

import (
	"context"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

// RunEvents reads what was pressed on a session's clock, in order.
func RunEvents(session uuid.UUID, into *[]gym.RunEvent) Reading {
	return many("run events", into, `
		SELECT session_id, number, kind, at, elapsed, course, by
		FROM run_event
		WHERE session_id = @session
		ORDER BY number`, pgx.StrictNamedArgs{"session": session})
}

// AddRunEvent keeps a press on the clock. Somebody else's press with the same
// number makes it a Conflict.
func (tx *Tx) AddRunEvent(ctx context.Context, e gym.RunEvent) error {
	var course *string
	if e.Course != nil {
		text := string(e.Course)
		course = &text
	}
	_, err := tx.exec(ctx, "pressing the clock", `
		INSERT INTO run_event (gym_id, session_id, number, kind, at, elapsed, course, by)
		VALUES (@gym, @session, @number, @kind, @at, @elapsed, @course::json, @by)`,
		pgx.StrictNamedArgs{"session": e.SessionID, "number": e.Number, "kind": e.Kind, "at": e.At, "elapsed": e.Elapsed,
			"course": course, "by": e.By})
	if broke(err, "run_event_pkey") {
		return problem.Wrap(err, problem.Conflict, "Somebody pressed the clock at the same moment. Look where it stands, then press again if you need to.")
	}
	tx.announce(e.SessionID)
	return err
}

// Hands reads the calls for the coach in a session, the newest of each athlete.
func Hands(session uuid.UUID, into *[]gym.Hand) Reading {
	return many("hands", into, `
		SELECT DISTINCT ON (athlete_id) hand_id, session_id, athlete_id, up, at, by
		FROM hand
		WHERE session_id = @session
		ORDER BY athlete_id, at DESC, hand_id DESC`, pgx.StrictNamedArgs{"session": session})
}

// AddHand keeps a call for the coach; the same id again changes nothing.
func (tx *Tx) AddHand(ctx context.Context, h gym.Hand) error {
	_, err := tx.exec(ctx, "keeping a hand up", `
		INSERT INTO hand (gym_id, hand_id, session_id, athlete_id, up, at, by)
		VALUES (@gym, @id, @session, @athlete, @up, @at, @by)
		ON CONFLICT (gym_id, hand_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": h.HandID, "session": h.SessionID, "athlete": h.AthleteID, "up": h.Up, "at": h.At, "by": h.By})
	if broke(err, "hand_gym_id_athlete_id_fkey") {
		return problem.Wrap(err, problem.NotFound, "There is no such athlete in this gym.")
	}
	tx.announce(h.SessionID)
	return err
}
