package store

import (
	"context"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
)

// ClassTests reads the tests that a class did together on a day, oldest first.
func ClassTests(class uuid.UUID, day time.Time, into *[]gym.ClassTest) Reading {
	return many("class tests", into, `
		SELECT class_test_id, class_id, coalesce(session_id, '00000000-0000-0000-0000-000000000000') AS session_id, day,
		       protocol, seconds, step, rope_kind, surface, counted_by, one_foot, opened_at, opened_by,
		       lead(opened_at) OVER (PARTITION BY protocol, seconds, step ORDER BY opened_at, class_test_id) AS until
		FROM class_test
		WHERE class_id = @class AND day = @day
		ORDER BY opened_at, class_test_id`, pgx.StrictNamedArgs{"class": class, "day": day})
}

// AddClassTest keeps a class's test; the same id again changes nothing.
func (tx *Tx) AddClassTest(ctx context.Context, t gym.ClassTest) error {
	_, err := tx.exec(ctx, "adding a class test", `
		INSERT INTO class_test (gym_id, class_test_id, class_id, session_id, day, protocol, seconds, step, rope_kind, surface,
			counted_by, one_foot, opened_at, opened_by)
		VALUES (@gym, @id, @class, @session, @day, @protocol, @seconds, @step, @rope, @surface, @counted_by, @one_foot, @at, @by)
		ON CONFLICT (gym_id, class_test_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": t.ClassTestID, "class": t.ClassID, "session": orNull(t.SessionID), "day": t.Day, "protocol": t.Protocol,
			"seconds": t.Seconds, "step": t.Step, "rope": t.RopeKind, "surface": t.Surface, "counted_by": t.CountedBy, "one_foot": t.OneFoot,
			"at": t.OpenedAt, "by": t.OpenedBy})
	return err
}

// LockCount makes whoever wants to count the same athlete's go at the same test
// wait until this transaction ends.
func (tx *Tx) LockCount(ctx context.Context, test, athlete uuid.UUID) error {
	_, err := tx.tx.Exec(ctx, `SELECT pg_advisory_xact_lock(hashtextextended($1, 0))`, test.String()+athlete.String())
	return err
}
