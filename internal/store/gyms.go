package store

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
)

// TheGym reads the gym itself.
func TheGym(into *gym.Gym) Reading {
	return one("the gym", "There is no such gym here.", into, `
		SELECT gym_id, name, time_zone, invented, adult_age, consent_age, created_at
		FROM gym`, pgx.StrictNamedArgs{})
}

// Empty tells whether there is no person at all, in any gym: an install that
// nobody has set up.
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
