package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
)

// Tokens reads the programs that may or might read the gym's figures, the newest
// first.
func Tokens(into *[]gym.Token) Reading {
	return many("tokens", into, `
		SELECT api_token_id AS token_id, name, made_at, made_by, last_used_on, ended_at
		FROM api_token
		ORDER BY made_at DESC, api_token_id DESC`, pgx.StrictNamedArgs{})
}

// AddToken keeps a program's token by its hash; added is false if one with the
// same id is there.
func (tx *Tx) AddToken(ctx context.Context, t gym.Token, hash []byte) (added bool, err error) {
	n, err := tx.exec(ctx, "adding a token", `
		INSERT INTO api_token (gym_id, api_token_id, name, token_hash, made_at, made_by)
		VALUES (@gym, @id, @name, @hash, @at, @by)
		ON CONFLICT (gym_id, api_token_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": t.TokenID, "name": t.Name, "hash": hash, "at": t.MadeAt, "by": t.MadeBy})
	return n == 1, err
}

// EndToken lets a token open nothing any more; ok is false if it did already.
func (tx *Tx) EndToken(ctx context.Context, id uuid.UUID, at time.Time) (ok bool, err error) {
	n, err := tx.exec(ctx, "ending a token", `
		UPDATE api_token SET ended_at = @at WHERE gym_id = @gym AND api_token_id = @id AND ended_at IS NULL`,
		pgx.StrictNamedArgs{"id": id, "at": at})
	return n == 1, err
}

// UseToken returns the token of a gym with the given hash that has not ended,
// and notes the day of its use; found is false if there is none.
func (s *Store) UseToken(ctx context.Context, gymID uuid.UUID, hash []byte, day time.Time) (t gym.Token, found bool, err error) {
	err = s.Read(ctx, gymID, func(batch *pgx.Batch) {
		batch.Queue(`
			SELECT api_token_id, name, made_at, made_by, last_used_on FROM api_token
			WHERE token_hash = $1 AND ended_at IS NULL`, hash).QueryRow(func(row pgx.Row) error {
			err := row.Scan(&t.TokenID, &t.Name, &t.MadeAt, &t.MadeBy, &t.LastUsedOn)
			if errors.Is(err, pgx.ErrNoRows) {
				return nil
			}
			if err != nil {
				return fmt.Errorf("finding a token: %w", err)
			}
			found = true
			return nil
		})
	})
	if err != nil || !found || t.LastUsedOn != nil && !t.LastUsedOn.Before(day) {
		return t, found, err
	}
	return t, true, s.Write(ctx, gymID, func(tx *Tx) error {
		_, err := tx.exec(ctx, "noting the use of a token", `
			UPDATE api_token SET last_used_on = @day WHERE gym_id = @gym AND api_token_id = @id`,
			pgx.StrictNamedArgs{"id": t.TokenID, "day": day})
		return err
	})
}
