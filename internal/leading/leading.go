// Package leading is the verbs of a class hour: check in, test together, run the
// class by one clock, see who needs the coach, log the session; and of what
// stands around it: the floor, the term's calendar, links for screens and
// calendars, incidents. It uses the store, packages measuring and coaching and
// the pure packages; it knows no HTTP.
package leading

import (
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/measuring"
	"ropewalk.example/internal/store"
)

// Leading holds what its verbs need. All fields are required.
type Leading struct {
	Store     *store.Store
	Measuring *measuring.Measuring
	Coaching  *coaching.Coaching
	Now       func() time.Time
}

func newID() uuid.UUID { return uuid.Must(uuid.NewV7()) }
