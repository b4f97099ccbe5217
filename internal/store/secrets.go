package store

import (
	"context"
	"errors"
	"fmt"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// behind returns the gym and the thing in it that a secret, or its hash, leads
// to. It asks before any gym is named, in tables that hold no more than that.
// what says in an error what was looked for.
func (s *Store) behind(ctx context.Context, what, query string, secret any) (gymID, id uuid.UUID, found bool, err error) {
	err = s.pool.QueryRow(ctx, query, secret).Scan(&gymID, &id)
	if errors.Is(err, pgx.ErrNoRows) {
		return uuid.Nil, uuid.Nil, false, nil
	}
	if err != nil {
		return uuid.Nil, uuid.Nil, false, classify(fmt.Errorf("%s: %w", what, err))
	}
	return gymID, id, true, nil
}
