// Package reporting is the verbs around a term's report: review an athlete, a
// class or the gym, write the comment that stands in it, ask for files and take
// them up in the background, let programs read, and take all data out and in. It
// loads with few queries and lets package review answer. It uses the store,
// packages account and coaching, and the pure packages; it knows no HTTP.
package reporting

import (
	"context"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/store"
)

// Reporting holds what its verbs need. Store and Now are required; Queue is for
// the verbs that ask for files.
type Reporting struct {
	Store *store.Store
	Now   func() time.Time
	// Queue puts work on a file into the queue, within a transaction. Urgency is
	// from 1, the most urgent, to 4.
	Queue func(ctx context.Context, tx *store.Tx, report uuid.UUID, urgency int) error
}

func newID() uuid.UUID { return uuid.Must(uuid.NewV7()) }
