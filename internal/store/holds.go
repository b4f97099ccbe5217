package store

import (
	"context"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
)

const holdColumns = `
	h.hold_id, h.athlete_id, h.opened, h.code, h.reason,
	coalesce(h.debrief_id, '00000000-0000-0000-0000-000000000000') AS debrief_id, h.at, h.day, h.by`

// HoldsOfClass reads the newest hold or release of everybody in a class.
func HoldsOfClass(class uuid.UUID, into *[]gym.Hold) Reading {
	return many("holds of a class", into, `
		SELECT DISTINCT ON (h.athlete_id) `+holdColumns+`
		FROM hold h JOIN enrolment e USING (gym_id, athlete_id)
		WHERE e.class_id = @class AND e.until IS NULL
		ORDER BY h.athlete_id, h.at DESC, h.hold_id DESC`, pgx.StrictNamedArgs{"class": class})
}

// HoldsOf reads an athlete's holds and releases, newest first.
func HoldsOf(athlete uuid.UUID, into *[]gym.Hold) Reading {
	return many("holds of an athlete", into, `
		SELECT `+holdColumns+`
		FROM hold h
		WHERE h.athlete_id = @athlete
		ORDER BY h.at DESC, h.hold_id DESC`, pgx.StrictNamedArgs{"athlete": athlete})
}

// AddHold opens or releases a hold; the same id again changes nothing.
func (tx *Tx) AddHold(ctx context.Context, h gym.Hold) error {
	_, err := tx.exec(ctx, "adding a hold", `
		INSERT INTO hold (gym_id, hold_id, athlete_id, opened, code, reason, debrief_id, at, day, by)
		VALUES (@gym, @id, @athlete, @opened, @code, @reason, @debrief, @at, @day, @by)
		ON CONFLICT (gym_id, hold_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": h.HoldID, "athlete": h.AthleteID, "opened": h.Opened, "code": h.Code, "reason": h.Reason,
			"debrief": orNull(h.DebriefID), "at": h.At, "day": h.Day, "by": h.By})
	tx.announce(h.AthleteID)
	return err
}

// AllHoldsOfClass reads every hold and release of everybody in a class, by
// athlete, newest first.
func AllHoldsOfClass(class uuid.UUID, into *[]gym.Hold) Reading {
	return many("all holds of a class", into, `
		SELECT `+holdColumns+`
		FROM hold h JOIN enrolment e USING (gym_id, athlete_id)
		WHERE e.class_id = @class AND e.until IS NULL
		ORDER BY h.athlete_id, h.at DESC, h.hold_id DESC`, pgx.StrictNamedArgs{"class": class})
}
