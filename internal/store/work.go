package store

import (
	"time"

	"github.com/jackc/pgx/v5"
)

// Work is what the queue of background work holds. It is of the whole server
// and names nobody.
type Work struct {
	Waiting int        // due and not begun
	GivenUp int        // went wrong for good, in the days that the queue remembers
	Due     *time.Time // since when the one that waits longest has been due
}

// TheWork reads what the queue holds.
func TheWork(into *Work) Reading {
	return one("the queue", "There is no queue.", into, `
		SELECT count(*) FILTER (WHERE state <> 'discarded') AS waiting, count(*) FILTER (WHERE state = 'discarded') AS given_up,
		       min(scheduled_at) FILTER (WHERE state <> 'discarded') AS due
		FROM river.river_job
		WHERE state = 'discarded' OR state IN ('available', 'retryable', 'scheduled') AND scheduled_at <= now()`, pgx.StrictNamedArgs{})
}

// DatabaseSize reads how many bytes the whole database takes.
func DatabaseSize(into *int64) Reading {
	return func(batch *pgx.Batch) {
		batch.Queue(`SELECT pg_database_size(current_database())`).QueryRow(func(row pgx.Row) error { return row.Scan(into) })
	}
}
