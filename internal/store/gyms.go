package store

import (
	"context"
	"errors"
	"fmt"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

// TheGym reads the gym itself.
func TheGym(into *gym.Gym) Reading {
	return one("the gym", "There is no such gym here.", into, `
		SELECT gym_id, name, time_zone, invented, adult_age, consent_age, created_at
		FROM gym`, pgx.StrictNamedArgs{})
}

// Gyms counts gyms, past row-level security only in so far as it tells whether
// there is any person at all: an empty install has none.
func (s *Store) Empty(ctx context.Context) (bool, error) {
	var empty bool
	err := s.pool.QueryRow(ctx, `SELECT NOT EXISTS (SELECT FROM person)`).Scan(&empty)
	if err != nil {
		return false, classify(fmt.Errorf("looking for a first person: %w", err))
	}
	return empty, nil
}

// AddGym makes the gym that the transaction is in.
func (tx *Tx) AddGym(ctx context.Context, g gym.Gym) error {
	_, err := tx.exec(ctx, "adding the gym", `
		INSERT INTO gym (gym_id, name, time_zone, invented, adult_age, created_at)
		VALUES (@gym, @name, @zone, @invented, @adult, @at)`,
		pgx.StrictNamedArgs{"name": g.Name, "zone": g.TimeZone, "invented": g.Invented, "adult": g.AdultAge, "at": g.CreatedAt})
	return err
}

// AddPerson adds a person with an account.
func (tx *Tx) AddPerson(ctx context.Context, p gym.Person) error {
	_, err := tx.tx.Exec(ctx, `
		INSERT INTO person (person_id, sign_in_name, name, lang, password_hash, created_at)
		VALUES (@id, @sign_in, @name, @lang, @hash, @at)`,
		pgx.StrictNamedArgs{"id": p.PersonID, "sign_in": p.SignInName, "name": p.Name, "lang": p.Lang, "hash": p.PasswordHash, "at": p.CreatedAt})
	if broke(err, "person_sign_in_name_key") {
		return problem.Wrap(err, problem.Conflict, "Somebody signs in with that name already. Choose another.")
	}
	if err != nil {
		return fmt.Errorf("adding a person: %w", err)
	}
	return nil
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

// PersonBySignIn returns the person who signs in with the folded name; found
// is false if there is none, which must look the same from outside.
func (s *Store) PersonBySignIn(ctx context.Context, name string) (p gym.Person, found bool, err error) {
	rows, _ := s.pool.Query(ctx, `
		SELECT person_id, sign_in_name, name, lang, password_hash, created_at
		FROM person
		WHERE sign_in_name = $1`, name) // the collector reports Query's error
	p, err = pgx.CollectExactlyOneRow(rows, pgx.RowToStructByName[gym.Person])
	if errors.Is(err, pgx.ErrNoRows) {
		return gym.Person{}, false, nil
	}
	if err != nil {
		return gym.Person{}, false, classify(fmt.Errorf("person by sign-in name: %w", err))
	}
	return p, true, nil
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

// SetPassword replaces the password hash of a person who works in the gym.
func (tx *Tx) SetPassword(ctx context.Context, person uuid.UUID, hash string) error {
	_, err := tx.tx.Exec(ctx, `
		UPDATE person SET password_hash = $2
		WHERE person_id = $1 AND EXISTS (SELECT FROM membership m WHERE m.person_id = $1 AND m.gym_id = $3)`, person, hash, tx.gym)
	if err != nil {
		return fmt.Errorf("setting a password: %w", err)
	}
	return nil
}

// SetPassword replaces a person's password hash.
func (s *Store) SetPassword(ctx context.Context, person uuid.UUID, hash string) error {
	_, err := s.pool.Exec(ctx, `UPDATE person SET password_hash = $2 WHERE person_id = $1`, person, hash)
	if err != nil {
		return classify(fmt.Errorf("setting a password: %w", err))
	}
	return nil
}
