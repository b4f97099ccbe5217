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

// Person reads a person of the gym, whatever the role, by id.
func (s *Store) Person(ctx context.Context, person uuid.UUID) (gym.Person, error) {
	rows, _ := s.pool.Query(ctx, `
		SELECT person_id, sign_in_name, name, lang, password_hash, created_at
		FROM person
		WHERE person_id = $1`, person) // the collector reports Query's error
	p, err := pgx.CollectExactlyOneRow(rows, pgx.RowToStructByName[gym.Person])
	if errors.Is(err, pgx.ErrNoRows) {
		return gym.Person{}, problem.New(problem.NotFound, "There is no such person in this gym.")
	}
	if err != nil {
		return gym.Person{}, classify(fmt.Errorf("person by id: %w", err))
	}
	return p, nil
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
