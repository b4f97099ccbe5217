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

// WorkHere is the background work of one gym.
type WorkHere struct {
	Waiting int
	GivenUp int
	Kept    *time.Time // when the rules of all gyms on what is kept were last carried out, nil where the queue does not remember
}

// TheWorkHere reads the background work of the gym.
func TheWorkHere(into *WorkHere) Reading {
	return one("the gym's work", "There is no queue.", into, `
		WITH own AS (
			SELECT state, scheduled_at FROM river.river_job
			WHERE args->>'gym' = current_setting('ropewalk.gym') AND state IN ('available', 'retryable', 'scheduled', 'discarded'))
		SELECT (SELECT count(*) FROM own WHERE state <> 'discarded' AND scheduled_at <= now()) AS waiting,
		       (SELECT count(*) FROM own WHERE state = 'discarded') AS given_up,
		       (SELECT max(finalized_at) FROM river.river_job WHERE kind = 'keep_promises' AND state = 'completed') AS kept`, pgx.StrictNamedArgs{})
}

// DatabaseSize reads how many bytes the whole database takes.
func DatabaseSize(into *int64) Reading {
	return func(batch *pgx.Batch) {
		batch.Queue(`SELECT pg_database_size(current_database())`).QueryRow(func(row pgx.Row) error { return row.Scan(into) })
	}
}
