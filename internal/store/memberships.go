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

// Staff is a person with a role in the gym.
type Staff struct {
	PersonID uuid.UUID
	Name     string
	Lang     string
	Role     gym.Role
}

// StaffOf reads the people who work in the gym.
func StaffOf(into *[]Staff) Reading {
	return many("staff", into, `
		SELECT p.person_id, p.name, p.lang, m.role
		FROM membership m JOIN person p USING (person_id)
		WHERE m.until IS NULL AND m.role <> 'guardian'
		  AND m.gym_id = current_setting('ropewalk.gym')::uuid
		ORDER BY m.since, p.name`, pgx.StrictNamedArgs{})
}

// StaffList reads the people who work in the gym, as its owner sees them.
func StaffList(into *[]gym.Staff) Reading {
	return many("people of the gym", into, `
		SELECT p.person_id, p.sign_in_name, p.name, p.lang, m.role, m.since,
		       EXISTS (SELECT FROM second_factor f WHERE f.person_id = p.person_id AND f.confirmed_at IS NOT NULL) AS factor,
		       (SELECT max(s.seen_at) FROM sign_in s WHERE s.gym_id = m.gym_id AND s.person_id = p.person_id) AS seen_at
		FROM membership m JOIN person p USING (person_id)
		WHERE m.until IS NULL AND m.role <> 'guardian' AND m.gym_id = current_setting('ropewalk.gym')::uuid
		ORDER BY array_position(ARRAY['owner', 'coach', 'assistant'], m.role), p.name, p.person_id`, pgx.StrictNamedArgs{})
}

// MembershipsOf returns where a person works, highest role first.
func (s *Store) MembershipsOf(ctx context.Context, person uuid.UUID) ([]gym.Membership, error) {
	var found []gym.Membership
	batch := &pgx.Batch{}
	batch.Queue(`SELECT set_config('ropewalk.person', $1, true)`, person.String())
	many("memberships", &found, `
		SELECT gym_id, person_id, role, since
		FROM membership
		WHERE person_id = @person AND until IS NULL
		ORDER BY array_position(ARRAY['owner', 'coach', 'assistant', 'guardian'], role), since`,
		pgx.StrictNamedArgs{"person": person})(batch)
	err := s.pool.SendBatch(ctx, batch).Close()
	return found, classify(err)
}

// AddMembership joins a person to the gym.
func (tx *Tx) AddMembership(ctx context.Context, m gym.Membership) error {
	_, err := tx.exec(ctx, "adding a membership", `
		INSERT INTO membership (gym_id, person_id, role, since)
		VALUES (@gym, @person, @role, @since)
		ON CONFLICT (gym_id, person_id, role) DO UPDATE SET until = NULL`,
		pgx.StrictNamedArgs{"person": m.PersonID, "role": m.Role, "since": m.Since})
	return err
}

// LockStaff reads the people who work in the gym, so that two who change roles
// at once take turns.
func (tx *Tx) LockStaff(ctx context.Context) ([]gym.Membership, error) {
	rows, _ := tx.tx.Query(ctx, `
		SELECT gym_id, person_id, role, since
		FROM membership
		WHERE gym_id = $1 AND until IS NULL AND role <> 'guardian'
		ORDER BY since, person_id
		FOR UPDATE`, tx.gym) // the collector reports Query's error
	found, err := pgx.CollectRows(rows, pgx.RowToStructByName[gym.Membership])
	if err != nil {
		return nil, fmt.Errorf("memberships of the gym: %w", err)
	}
	return found, nil
}

// EndMembership ends a person's role in the gym.
func (tx *Tx) EndMembership(ctx context.Context, m gym.Membership, at time.Time) error {
	_, err := tx.exec(ctx, "ending a membership", `
		UPDATE membership SET until = @at
		WHERE gym_id = @gym AND person_id = @person AND role = @role AND until IS NULL`,
		pgx.StrictNamedArgs{"person": m.PersonID, "role": m.Role, "at": at})
	return err
}

// ChildOf is a guardianship with the athlete's name.
type ChildOf struct {
	gym.Guardianship
	Child string
}

// ChildrenOf reads the athletes of the gym of whom a person with an account is
// a guardian.
func ChildrenOf(person uuid.UUID, into *[]ChildOf) Reading {
	return many("children of a guardian", into, `
		SELECT g.guardian_id, g.athlete_id, g.name, g.added_at, a.name AS child
		FROM guardian g JOIN athlete a USING (gym_id, athlete_id)
		WHERE g.person_id = @person AND g.removed_at IS NULL AND a.archived_at IS NULL
		ORDER BY a.name, g.guardian_id`, pgx.StrictNamedArgs{"person": person})
}

// JoinGuardian says which account is a guardian's.
func (tx *Tx) JoinGuardian(ctx context.Context, guardian, person uuid.UUID) error {
	n, err := tx.exec(ctx, "joining a guardian to an account", `
		UPDATE guardian SET person_id = @person
		WHERE gym_id = @gym AND guardian_id = @guardian AND removed_at IS NULL`,
		pgx.StrictNamedArgs{"guardian": guardian, "person": person})
	if err != nil {
		return err
	}
	if n == 0 {
		return problem.New(problem.NotFound, "There is no such guardian in this gym.")
	}
	return nil
}
