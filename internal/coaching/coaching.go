// Package coaching is the coach's verbs: plan a class, hear how a session
// went, hold and release for pain, decide a stage. It loads with few queries,
// lets the pure packages compute, and keeps what they answer. It uses the
// store, package measuring and the pure packages; it knows no HTTP.
package coaching

import (
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// Coaching holds what its verbs need. All fields are required.
type Coaching struct {
	Store *store.Store
	Now   func() time.Time
}

// lookback is how far back plans and debriefs are read: enough for two
// sessions running, a month's contacts and a long absence.
const lookback = 120 * 24 * time.Hour

func newID() uuid.UUID { return uuid.Must(uuid.NewV7()) }

// days returns whole days from a to b, both midnight UTC.
func days(a, b time.Time) int { return int(b.Sub(a).Hours() / 24) }

// Facts are what is known of one athlete when a plan is made.
type Facts struct {
	Athlete  gym.Athlete
	Place    *gym.StageDecision // newest, nil where nobody has decided
	Results  []gym.Result       // standing, newest first
	Plans    []gym.Plan         // newest first, one a day
	Debriefs []gym.Debrief      // standing, newest first
	Holds    []gym.Hold         // newest first
}
