package store

import (
	"context"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// Attendance says whether an athlete was at a session.
type Attendance struct {
	SessionID uuid.UUID
	AthleteID uuid.UUID
	Here      bool
}

// AttendanceAt reads who was noted at one session.
func AttendanceAt(session uuid.UUID, into *[]Attendance) Reading {
	return many("attendance of a session", into, `
		SELECT session_id, athlete_id, here
		FROM attendance
		WHERE session_id = @session
		ORDER BY athlete_id`, pgx.StrictNamedArgs{"session": session})
}

// LastAttendanceOf reads who was noted at the newest meeting of a class that was
// checked in before a moment.
func LastAttendanceOf(class uuid.UUID, before time.Time, into *[]Attendance) Reading {
	return many("attendance of the last session", into, `
		SELECT a.session_id, a.athlete_id, a.here
		FROM attendance a
		WHERE a.session_id = (
			SELECT session_id FROM session
			WHERE class_id = @class AND opened_at IS NOT NULL AND starts_at < @before
			ORDER BY starts_at DESC
			LIMIT 1)
		ORDER BY a.athlete_id`, pgx.StrictNamedArgs{"class": class, "before": before})
}

// AttendanceOf reads who was noted at the sessions of a class since a day.
func AttendanceOf(class uuid.UUID, since time.Time, into *[]Attendance) Reading {
	return many("attendance", into, `
		SELECT t.session_id, t.athlete_id, t.here
		FROM attendance t JOIN session s USING (gym_id, session_id)
		WHERE s.class_id = @class AND s.day >= @since
		ORDER BY s.starts_at, t.athlete_id`, pgx.StrictNamedArgs{"class": class, "since": since})
}

// SetAttendance notes who is here and who is away; the last word counts.
func (tx *Tx) SetAttendance(ctx context.Context, session uuid.UUID, athletes []uuid.UUID, here []bool, at time.Time, by uuid.UUID) error {
	_, err := tx.exec(ctx, "noting attendance", `
		INSERT INTO attendance (gym_id, session_id, athlete_id, here, noted_at, noted_by)
		SELECT @gym, @session, u.id, u.here, @at, @by
		FROM unnest(@ids::uuid[], @here::boolean[]) AS u (id, here)
		ON CONFLICT (gym_id, session_id, athlete_id) DO UPDATE SET here = EXCLUDED.here, noted_at = @at, noted_by = @by`,
		pgx.StrictNamedArgs{"session": session, "ids": athletes, "here": here, "at": at, "by": by})
	tx.announce(session)
	return err
}
