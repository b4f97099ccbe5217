package store

import (
	"context"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

const selectGuardian = `
	SELECT guardian_id, athlete_id, name, added_at
	FROM guardian`

// GuardiansOf reads an athlete's guardians, in the order they were added.
func GuardiansOf(athlete uuid.UUID, into *[]gym.Guardianship) Reading {
	return many("guardians of an athlete", into, selectGuardian+`
		WHERE athlete_id = @athlete AND removed_at IS NULL
		ORDER BY added_at, guardian_id`, pgx.StrictNamedArgs{"athlete": athlete})
}

// Guardian reads one guardian.
func Guardian(id uuid.UUID, into *gym.Guardianship) Reading {
	return one("guardian", "There is no such guardian in this gym.", into, selectGuardian+`
		WHERE guardian_id = @guardian AND removed_at IS NULL`, pgx.StrictNamedArgs{"guardian": id})
}

// AddGuardian adds a guardian of an athlete.
func (tx *Tx) AddGuardian(ctx context.Context, g gym.Guardianship, by uuid.UUID) error {
	_, err := tx.exec(ctx, "adding a guardian", `
		INSERT INTO guardian (gym_id, guardian_id, athlete_id, name, added_at, added_by)
		VALUES (@gym, @id, @athlete, @name, @at, @by)`,
		pgx.StrictNamedArgs{"id": g.GuardianID, "athlete": g.AthleteID, "name": g.Name, "at": g.AddedAt, "by": by})
	if broke(err, "guardian_gym_id_athlete_id_fkey") {
		return problem.Wrap(err, problem.NotFound, "There is no such athlete in this gym.")
	}
	return err
}

// RemoveGuardian ends what a guardian may see, on every phone at once.
func (tx *Tx) RemoveGuardian(ctx context.Context, guardian uuid.UUID, at time.Time) error {
	n, err := tx.exec(ctx, "removing a guardian", `
		UPDATE guardian SET removed_at = @at
		WHERE gym_id = @gym AND guardian_id = @guardian AND removed_at IS NULL`,
		pgx.StrictNamedArgs{"guardian": guardian, "at": at})
	if err != nil {
		return err
	}
	if n == 0 {
		return problem.New(problem.NotFound, "There is no such guardian in this gym.")
	}
	if _, err := tx.exec(ctx, "voiding a guardian's links", `
		UPDATE card SET voided_at = @at
		WHERE gym_id = @gym AND guardian_id = @guardian AND used_at IS NULL AND voided_at IS NULL`,
		pgx.StrictNamedArgs{"guardian": guardian, "at": at}); err != nil {
		return err
	}
	_, err = tx.exec(ctx, "ending a guardian's sign-ins", endSignIns+`gym_id = @gym AND person_id = @guardian`,
		pgx.StrictNamedArgs{"guardian": guardian})
	return err
}
