package account

import (
	"context"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/standing"
	"ropewalk.example/internal/store"
)

// useShippedLadder gives a new gym the ladder that comes with the program, so
// that its first athletes have somewhere to stand.
func useShippedLadder(ctx context.Context, tx *store.Tx, at time.Time) error {
	kept, version, stages, err := standing.Shipped(uuid.Must(uuid.NewV7()), at)
	if err != nil {
		return err
	}
	if err := tx.AddLadder(ctx, kept); err != nil {
		return err
	}
	return tx.AddLadderVersion(ctx, version, stages)
}
