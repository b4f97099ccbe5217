package store

import (
	"context"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

const selectSession = `
	SELECT session_id, class_id, day, starts_at, minutes, note, opened_at, closed_at
	FROM session`

// Sessions reads the meetings of a class between two days, both included.
func Sessions(class uuid.UUID, from, to time.Time, into *[]gym.Session) Reading {
	return many("sessions of a class", into, selectSession+`
		WHERE class_id = @class AND day BETWEEN @from AND @to
		ORDER BY starts_at`, pgx.StrictNamedArgs{"class": class, "from": from, "to": to})
}

// SessionsOn reads the meetings of every class between two days.
func SessionsOn(from, to time.Time, into *[]gym.Session) Reading {
	return many("sessions", into, selectSession+`
		WHERE day BETWEEN @from AND @to
		ORDER BY starts_at, session_id`, pgx.StrictNamedArgs{"from": from, "to": to})
}

// Session reads one meeting.
func Session(id uuid.UUID, into *gym.Session) Reading {
	return one("session", "There is no such session in this gym.", into, selectSession+`
		WHERE session_id = @session`, pgx.StrictNamedArgs{"session": id})
}

// EnsureSession adds a meeting unless the class has one at that moment, and
// returns the id of the one that is there.
func (tx *Tx) EnsureSession(ctx context.Context, s gym.Session) (uuid.UUID, error) {
	var id uuid.UUID
	err := tx.tx.QueryRow(ctx, `
		INSERT INTO session (gym_id, session_id, class_id, day, starts_at, minutes, note, opened_at, closed_at)
		VALUES (@gym, @id, @class, @day, @starts, @minutes, @note, @opened, @closed)
		ON CONFLICT (gym_id, class_id, starts_at) DO UPDATE SET note = session.note
		RETURNING session_id`,
		pgx.StrictNamedArgs{"gym": tx.gym, "id": s.SessionID, "class": s.ClassID, "day": s.Day, "starts": s.StartsAt,
			"minutes": s.Minutes, "note": s.Note, "opened": s.OpenedAt, "closed": s.ClosedAt}).Scan(&id)
	if err != nil {
		return uuid.Nil, fmt.Errorf("adding a session: %w", err)
	}
	return id, nil
}

// SessionStarting reads the meeting that a class has at a moment; none leaves
// *into empty.
func SessionStarting(class uuid.UUID, at time.Time, into *[]gym.Session) Reading {
	return many("session that starts", into, selectSession+`
		WHERE class_id = @class AND starts_at = @at`, pgx.StrictNamedArgs{"class": class, "at": at})
}

// OpenSessions reads the meetings that were checked in and are not logged yet,
// newest first, opened since a moment.
func OpenSessions(since time.Time, into *[]gym.Session) Reading {
	return many("open sessions", into, selectSession+`
		WHERE opened_at >= @since AND closed_at IS NULL
		ORDER BY opened_at DESC, session_id`, pgx.StrictNamedArgs{"since": since})
}

// LastSessionOf reads the newest meeting of a class that was checked in before
// a moment; none leaves *into empty.
func LastSessionOf(class uuid.UUID, before time.Time, into *[]gym.Session) Reading {
	return many("last session", into, selectSession+`
		WHERE class_id = @class AND opened_at IS NOT NULL AND starts_at < @before
		ORDER BY starts_at DESC
		LIMIT 1`, pgx.StrictNamedArgs{"class": class, "before": before})
}

// OpenSession notes that check-in began; the first time counts.
func (tx *Tx) OpenSession(ctx context.Context, session uuid.UUID, at time.Time) error {
	_, err := tx.exec(ctx, "opening a session", `
		UPDATE session SET opened_at = @at
		WHERE gym_id = @gym AND session_id = @session AND opened_at IS NULL`,
		pgx.StrictNamedArgs{"session": session, "at": at})
	tx.announce(session)
	return err
}

// UnopenSession takes back that check-in began, where nothing came of it yet.
// Who was noted as here counts no more; a later check-in notes it anew.
func (tx *Tx) UnopenSession(ctx context.Context, session uuid.UUID) error {
	n, err := tx.exec(ctx, "taking back a check-in", `
		UPDATE session s SET opened_at = NULL
		WHERE s.gym_id = @gym AND s.session_id = @session AND s.closed_at IS NULL
			AND NOT EXISTS (SELECT FROM result r WHERE r.gym_id = s.gym_id AND r.session_id = s.session_id)
			AND NOT EXISTS (SELECT FROM debrief d WHERE d.gym_id = s.gym_id AND d.session_id = s.session_id)
			AND NOT EXISTS (SELECT FROM run_event e WHERE e.gym_id = s.gym_id AND e.session_id = s.session_id)
			AND NOT EXISTS (SELECT FROM hand h WHERE h.gym_id = s.gym_id AND h.session_id = s.session_id)
			AND NOT EXISTS (SELECT FROM incident i WHERE i.gym_id = s.gym_id AND i.session_id = s.session_id)`,
		pgx.StrictNamedArgs{"session": session})
	if err == nil && n == 0 {
		return problem.New(problem.Conflict, "Something was recorded in this hour already, so it stays started. Set people to Away instead.")
	}
	tx.announce(session)
	return err
}

// CloseSession notes that the class was logged, with the coach's note; closed
// again, the newer note stays.
func (tx *Tx) CloseSession(ctx context.Context, session uuid.UUID, note string, at time.Time) error {
	_, err := tx.exec(ctx, "closing a session", `
		UPDATE session SET closed_at = coalesce(closed_at, @at), note = @note
		WHERE gym_id = @gym AND session_id = @session`,
		pgx.StrictNamedArgs{"session": session, "note": note, "at": at})
	tx.announce(session)
	return err
}
